"""Upper and under layer of a collar: the under one a little smaller at its free edges, so that the
seam rolls under once the collar is turned (the turn of the cloth). The neck seam stays the same.
Centimetres; outlines counter-clockwise, the inside to the left.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, through
from drafting.geometry.points import FloatArray, Move, Point
from drafting.sentences import length
from drafting.tolerances import SAME_POINT

#: Where one smooth edge starts at the neck seam, the layer grows smaller over this length.
TAPER = 4.0


def inset_under_layer(
    free: Sequence[Curve], turn: float, *, both_ends: bool = False
) -> tuple[Curve, ...]:
    """The free edges of the under layer, in the order of the outline.

    ``free`` are the smooth edges of the upper layer that follow each other with a corner between,
    from the neck seam's end to centre back on the fold, which the last one meets square. With
    ``both_ends`` the last one ends on the neck seam too and keeps that end. Each new edge lies
    ``turn`` inside; the first one starts where it did.

    Raises :class:`DraftError` when the layer is too small for that.
    """
    if turn <= SAME_POINT:
        return tuple(free)
    corners = [_corner(a, b, turn) for a, b in pairwise(free)]
    done: list[Curve] = []
    for k, curve in enumerate(free):
        keeps_start, keeps_end = k == 0, both_ends and k == len(free) - 1
        if keeps_start and not keeps_end and len(free) > 1:
            done.append(_stretched(curve, curve.start, corners[0][0]))
        elif keeps_end and not keeps_start and len(free) > 1:
            done.append(_stretched(curve, corners[-1][0], curve.end))
        else:
            first = corners[k - 1][2] if k else curve.span[0]
            last = corners[k][1] if k < len(free) - 1 else curve.span[1]
            ends = (corners[k - 1][0] if k else None, corners[k][0] if k < len(corners) else None)
            done.append(_inside(curve, first, last, turn, (keeps_start, keeps_end), ends))
    return tuple(done)


def _inside(
    curve: Curve,
    first: float,
    last: float,
    turn: float,
    kept: tuple[bool, bool],
    ends: tuple[Point | None, Point | None],
) -> Curve:
    """The parallel inside a stretch; at kept ends it runs out to nothing."""
    inner = curve.samples(8)
    inner = inner[(inner > first) & (inner < last)]
    t = np.concatenate(([first], inner, [last]))
    lengths = curve.lengths_to(np.clip(t, *curve.span))
    taper = min(TAPER, curve.length / 3.0)
    share = np.ones(len(t))
    if kept[0]:
        share = np.minimum(share, _step(lengths / taper))
    if kept[1]:
        share = np.minimum(share, _step((curve.length - lengths) / taper))
    points = _all_beside(curve, t, turn * share)
    for at, end in ((0, ends[0]), (-1, ends[1])):
        if end is not None:
            points[at] = end
    spaced = [points[0]]
    for point in points[1:-1]:
        if spaced[-1].to(point) > 0.02 and point.to(points[-1]) > 0.02:
            spaced.append(point)
    spaced.append(points[-1])
    return through(spaced, curve.heading(max(first, curve.span[0])), curve.heading(last))


def _step(share: FloatArray) -> FloatArray:
    at = np.clip(share, 0.0, 1.0)
    return np.asarray(at * at * (3.0 - 2.0 * at), dtype=np.float64)


def _beside(curve: Curve, t: float, turn: float) -> Point:
    """The point ``turn`` to the left at a parameter; straight on beyond both ends."""
    low, high = curve.span
    at = min(max(t, low), high)
    heading = curve.heading(at)
    return curve.at(at) + heading * (t - at) + heading.left * turn


def _all_beside(curve: Curve, t: FloatArray, turns: FloatArray) -> list[Point]:
    """:func:`_beside` at many parameters, each with a turn of its own."""
    at = np.clip(t, *curve.span)
    way = curve.headings(at)
    left = np.column_stack((-way[:, 1], way[:, 0]))
    xy = curve.xy(at) + way * (t - at)[:, None] + left * turns[:, None]
    return [Point(x, y) for x, y in xy.tolist()]


def _corner(before: Curve, after: Curve, turn: float) -> tuple[Point, float, float]:
    """Where both parallels cross, and the parameters of either there."""
    from scipy.optimize import root  # slow to load, and most collars do without

    def gap(at: FloatArray) -> list[float]:
        a = _beside(before, float(at[0]), turn)
        b = _beside(after, float(at[1]), turn)
        return [a.x - b.x, a.y - b.y]

    found = root(gap, np.array([before.span[1], after.span[0]]), tol=1e-12)
    t, u = float(found.x[0]), float(found.x[1])
    if max(map(abs, gap(found.x))) > SAME_POINT or t < before.span[0] or u > after.span[1]:
        raise DraftError(
            Problem(
                "the under collar would have no edge left",
                key="collar.turn_of_cloth",
                got=length(turn, places=2),
                advice="Take a larger collar or less turn of cloth.",
            )
        )
    return _beside(before, t, turn), min(t, before.span[1]), max(u, after.span[0])


def _stretched(curve: Curve, start: Point, end: Point) -> Curve:
    """A curve laid between new ends: turned and drawn out or in a little."""
    was, now = curve.end - curve.start, end - start
    turned = curve.moved(Move(now.angle - was.angle))
    factor = abs(now) / abs(was)
    controls = turned.controls * factor
    shift = np.array([start.x, start.y]) - controls[0]
    moved = controls + shift
    moved[0], moved[-1] = (start.x, start.y), (end.x, end.y)
    return Curve(curve.degree, curve.knots, moved)
