"""In which order quantities can be worked out, and the rings that make it impossible."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Collection, Mapping


def in_order(needs: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """The names of ``needs``, each after all it needs, else as they stand.

    What is in a ring, or needs one, is left out.
    """
    place = {name: index for index, name in enumerate(needs)}
    waiting = {name: {need for need in found if need in needs} for name, found in needs.items()}
    needed_by: dict[str, list[str]] = {name: [] for name in needs}
    for name, found in waiting.items():
        for need in found:
            needed_by[need].append(name)
    ready = [(place[name], name) for name, found in waiting.items() if not found]
    heapq.heapify(ready)
    order: list[str] = []
    while ready:
        _, name = heapq.heappop(ready)
        order.append(name)
        for later in needed_by[name]:
            waiting[later].discard(name)
            if not waiting[later]:
                heapq.heappush(ready, (place[later], later))
    return tuple(order)


def rings(needs: Mapping[str, Collection[str]]) -> list[tuple[str, ...]]:
    """Rings of dependence, shortest from its first name: ``(a, b)`` for a needs b needs a.

    Every name that is in a ring is in one of those returned.
    """
    loose = set(in_order(needs))
    found: list[tuple[str, ...]] = []
    reported: set[str] = set()
    for name in needs:
        if name not in loose and name not in reported:
            ring = _ring_from(name, needs)
            if ring:
                found.append(ring)
                reported.update(ring)
    return found


def _ring_from(start: str, needs: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    came: dict[str, str] = {}
    queue = deque([start])
    while queue:
        name = queue.popleft()
        for need in sorted(needs[name]):
            if need == start:
                ring = [name]
                while ring[-1] != start:
                    ring.append(came[ring[-1]])
                return tuple(reversed(ring))
            if need in needs and need not in came:
                came[need] = name
                queue.append(need)
    return ()
