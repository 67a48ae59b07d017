"""Flat shapes laid close together on a strip, none on top of another. Knows no cloth and no pieces.

Each shape is seen as upright columns, each from its lowest to its highest point there. Which steps
along the strip would lay one shape on another can then be told from two rows of numbers, so every
gap between shapes laid earlier, hollows and holes alike, is tried for every shape that follows.
Columns are taken a hair wide and never too narrow: what is laid does not overlap, and at worst a
column's width is given away beside a slanting edge.

A shape goes where its far end lies nearest the strip's beginning. Several orders are tried, always
the same ones, and the shortest result is kept: a good lay, not proven the best. Centimetres; x runs
across the strip from 0, y along it from 0.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, permutations
from math import ceil, factorial, floor, inf

import numpy as np
import shapely

from drafting.geometry.points import FloatArray
from drafting.tolerances import SAME_POINT

#: Width of a column.
COLUMN = 0.2
#: Places across the strip are tried this far apart, and wherever two shapes just touch.
_STEP = 0.4
#: At most so many orders are tried; so few shapes are tried in every order.
_ORDERS, _ALL = 40, 4


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A shape in one position: its ``outline`` (n, 2) with the lower left corner of its box, grown
    by half the gap, at the origin; lowest and highest point of each column."""

    outline: FloatArray
    low: FloatArray
    high: FloatArray
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Item:
    """What is to be laid once: any of ``shapes`` will do. ``at_edge`` lays its left side on the
    strip's left side (a fold)."""

    shapes: tuple[Shape, ...]
    at_edge: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an item lies: which of its shapes, and where that shape's own origin goes."""

    shape: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Nest:
    """A finished lay: one spot for each item in the order given, and the strip's length."""

    spots: tuple[Spot, ...]
    length: float


def shape(outline: FloatArray, gap: float) -> Shape:
    """A shape from its outline, (n, 2), its box's lower left corner at the origin.

    ``gap`` is what must stay free between two shapes; half of it is added round each.
    """
    grown = shapely.Polygon(outline)
    if gap > SAME_POINT:
        grown = grown.buffer(gap / 2, quad_segs=4)
    ring = shapely.get_coordinates(grown.exterior) + gap / 2
    width, height = (float(v) + gap for v in outline.max(axis=0))
    low, high = _columns(ring, max(1, ceil(width / COLUMN - SAME_POINT)))
    return Shape(outline, low, high, width, height)


class Nester:
    """Lays shapes made with one ``gap``, and remembers what it found out about pairs of them."""

    def __init__(self, gap: float) -> None:
        self._gap = gap
        self._pairs: dict[tuple[Shape, Shape], _Steps] = {}
        self._begun: dict[float, _Begun] = {}

    def nest(self, items: Sequence[Item], width: float, shorter_than: float = inf) -> Nest | None:
        """Items laid on a strip ``width`` wide, as short as several orders make it.

        ``None`` when an item is wider than the strip in all its shapes, or when nothing shorter
        than ``shorter_than`` was found.
        """
        wide = width + self._gap
        if any(all(one.width > wide + SAME_POINT for one in item.shapes) for item in items):
            return None
        best: Nest | None = None
        least = _least(items, width)
        for order in _orders(items):
            most = best.length if best else shorter_than
            if least > most - SAME_POINT:
                break  # no order can do better
            best = self._laid(items, order, wide, most) or best
        return best

    def _laid(
        self, items: Sequence[Item], order: Sequence[int], width: float, shorter_than: float
    ) -> Nest | None:
        """Items laid in an order; ``None`` as soon as that is too long."""
        begun = self._begun.setdefault(width, _Begun(()))
        spots: dict[int, Spot] = {}
        length = 0.0
        for k in order:
            spot, begun = self._next(begun, items[k], width)
            length = max(length, spot.y + items[k].shapes[spot.shape].height - self._gap)
            if length > shorter_than - SAME_POINT:
                return None
            spots[k] = spot
        return Nest(tuple(spots[k] for k in range(len(items))), length)

    def _next(self, begun: _Begun, item: Item, width: float) -> tuple[Spot, _Begun]:
        """Where an item goes after others, and all of them with it."""
        found = begun.after.get(item)
        if found is None:
            lying = begun.lying
            choices = [self._best(one, item.at_edge, lying, width) for one in item.shapes]
            fitting = [(round(s[0], 6), n, s) for n, s in enumerate(choices) if s is not None]
            _, n, (_, y, x) = min(fitting)
            laid = _Begun((*lying, _Lying(item.shapes[n], x, y)))
            found = begun.after[item] = Spot(n, x, y), laid
        return found

    def _best(
        self, one: Shape, at_edge: bool, lying: Sequence[_Lying], width: float
    ) -> tuple[float, float, float] | None:
        """Far end, y and x of the best place of a shape; ``None`` when it is too wide."""
        room = width - one.width
        if room < -SAME_POINT:
            return None
        room = max(room, 0.0)
        xs = np.zeros(1) if at_edge else _places(one, room, lying)
        ys = np.zeros(len(xs))
        if lying:
            lows, highs = np.empty((len(lying), len(xs))), np.empty((len(lying), len(xs)))
            for n, other in enumerate(lying):
                low, high = self._steps(other.shape, one).at(xs - other.x)
                apart = (xs >= other.x + other.shape.width - SAME_POINT) | (
                    xs <= other.x - one.width + SAME_POINT
                )
                lows[n] = np.where(apart, inf, low + other.y)
                highs[n] = np.where(apart, -inf, high + other.y)
            if len(lying) > 1:
                turn = np.argsort(lows, axis=0, kind="stable")
                every = np.arange(len(xs))
                lows, highs = lows[turn, every], highs[turn, every]
            for low, high in zip(lows, highs, strict=True):
                # by rising lower ends: what was passed before cannot be met again
                ys = np.where((low < ys - SAME_POINT) & (high > ys + SAME_POINT), high, ys)
        k = int(np.argmin(np.round(ys, 6)))  # the first of the lowest: places rise
        return float(ys[k]) + one.height, float(ys[k]), float(xs[k])

    def _steps(self, still: Shape, moving: Shape) -> _Steps:
        found = self._pairs.get((still, moving))
        if found is None:
            found = self._pairs[still, moving] = _Steps.between(still, moving)
        return found


def _least(items: Sequence[Item], width: float) -> float:
    """No lay of these items is shorter than this: as long as the longest of them and, were no
    cloth lost between them, as long as all their cloth on a strip so wide."""
    longest = max(
        (min(one.outline[:, 1].max() for one in item.shapes) for item in items), default=0
    )
    cloth = sum(shapely.Polygon(item.shapes[0].outline).area for item in items)
    return max(float(longest), float(cloth) / max(width, SAME_POINT))


# ---- columns ------------------------------------------------------------------------------------


def _columns(ring: FloatArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Lowest and highest point in each column; an upright edge between two columns bounds that
    one in which the shape lies, by the edges it meets there."""
    low, high = np.full(count, inf), np.full(count, -inf)
    for a, b in pairwise(ring):
        (x0, y0), (x1, y1) = sorted(((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))))
        first, last = x0 / COLUMN, x1 / COLUMN
        if last - first < SAME_POINT:
            k = floor(first)
            if min(first - k, k + 1 - first) > SAME_POINT:  # upright, inside a column
                k = min(max(k, 0), count - 1)
                low[k], high[k] = min(low[k], y0, y1), max(high[k], y0, y1)
            continue
        inner = np.arange(floor(first + SAME_POINT) + 1, ceil(last - SAME_POINT))
        xs = np.concatenate(([first], inner, [last]))
        ys = y0 + (y1 - y0) * (xs - first) / (last - first)
        start = min(max(floor((xs[0] + xs[1]) / 2), 0), count - 1)
        here = slice(start, min(start + len(xs) - 1, count))
        steps = here.stop - here.start
        low[here] = np.minimum(low[here], np.minimum(ys[:-1], ys[1:])[:steps])
        high[here] = np.maximum(high[here], np.maximum(ys[:-1], ys[1:])[:steps])
    return low, high


@dataclass(frozen=True, slots=True, eq=False)
class _Steps:
    """For two shapes, the first lying still: by whole columns of the second to the right of the
    first (``first`` the least), between which steps along the strip they would overlap."""

    first: int
    low: FloatArray
    high: FloatArray

    @staticmethod
    def between(still: Shape, moving: Shape) -> _Steps:
        count = len(moving.low)
        low = np.pad(still.low, count, constant_values=inf)
        high = np.pad(still.high, count, constant_values=-inf)
        lows = np.lib.stride_tricks.sliding_window_view(low, count) - moving.high
        highs = np.lib.stride_tricks.sliding_window_view(high, count) - moving.low
        return _Steps(-count, lows.min(axis=1), highs.max(axis=1))

    def at(self, right: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The forbidden steps for steps to the right; between columns, those of both."""
        columns = right / COLUMN - self.first
        last = len(self.low) - 1.0
        before = np.floor(columns + SAME_POINT)
        after = np.ceil(columns - SAME_POINT)
        before = np.minimum(np.maximum(before, 0.0), last).astype(np.intp)
        after = np.minimum(np.maximum(after, 0.0), last).astype(np.intp)
        return (
            np.minimum(self.low[before], self.low[after]),
            np.maximum(self.high[before], self.high[after]),
        )


# ---- laying -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Lying:
    shape: Shape
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class _Begun:
    """Shapes laid one after another, and what was found to come of each item ``after`` them:
    orders that begin alike are laid alike so far."""

    lying: tuple[_Lying, ...]
    after: dict[Item, tuple[Spot, _Begun]] = field(default_factory=dict)


def _places(one: Shape, room: float, lying: Sequence[_Lying]) -> FloatArray:
    touching = [x for o in lying for x in (o.x + o.shape.width, o.x - one.width)]
    near = [x for x in touching if 0.0 <= x <= room]
    return np.unique(np.concatenate((np.arange(0.0, room, _STEP), [room], near)))


def _orders(items: Sequence[Item]) -> Iterator[tuple[int, ...]]:
    """The orders to try: by length, size and width first, then shuffles of the best guess; with
    few items every order."""
    count = len(items)
    firsts = [item.shapes[0] for item in items]
    area = [float(np.sum(one.high - one.low)) for one in firsts]
    keys = (
        lambda k: (-firsts[k].height, -area[k], k),
        lambda k: (not items[k].at_edge, -firsts[k].height, k),
        lambda k: (-area[k], k),
        lambda k: (-firsts[k].width, -firsts[k].height, k),
        lambda k: (items[k].at_edge, -area[k], k),
    )
    tried: set[tuple[int, ...]] = set()
    for key in keys:
        order = tuple(sorted(range(count), key=key))
        if order not in tried:
            tried.add(order)
            yield order
    if count <= _ALL or factorial(count) <= _ORDERS:
        yield from (order for order in permutations(range(count)) if order not in tried)
        return
    chance = random.Random(count)  # the same shuffles every time
    base = sorted(range(count), key=keys[0])
    for _ in range(_ORDERS):
        weights = [place + chance.uniform(0.0, count / 2) for place in range(count)]
        order = tuple(k for _, k in sorted(zip(weights, base, strict=True)))
        if order not in tried:
            tried.add(order)
            yield order
