"""The signs on a pattern piece: the bracket of a fold and the arrow of the grain, and the inks.

The signs are common practice in the trade. Centimetres, y up.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

import numpy as np
import shapely

from drafting.curves import Curve, line
from drafting.kept import kept
from drafting.pieces import Edge, Piece, outline_of
from drafting.points import Point

#: Arrow heads on the grain are this long.
HEAD = 0.6
#: Radius of a drill hole.
DRILL = 0.2


class Ink(StrEnum):
    """What a stroke is for: the keys of the table of layers."""

    CUT = "cut"
    SEW = "sew"
    FOLD = "fold"
    GRAIN = "grain"
    NOTCH = "notch"
    DART = "dart"
    MARK = "mark"
    CONSTRUCTION = "construction"
    DRILL = "drill"
    TEXT = "text"
    STAMP = "stamp"


def thickness(piece: Piece) -> float:
    """The shorter side of the narrowest box round a piece, at any slant."""
    return _thickness(piece.edges)


@kept(64)
def _thickness(edges: tuple[Edge, ...]) -> float:
    outline = shapely.MultiPoint(outline_of(edges, 0.05))
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    return float(np.hypot(*np.diff(corners[:3], axis=0).T).min())


def bracket_depth(piece: Piece) -> float:
    """How far into a piece the bracket of a fold stands: less on narrow pieces."""
    return max(0.4, min(1.0, 0.2 * thickness(piece)))


def bracket_bar(edge: Edge, depth: float) -> tuple[Point, Point]:
    """Both ends of the line beside a fold."""
    start, end = edge.curve.start, edge.curve.end
    inside = (end - start).unit.left * depth
    return start.towards(end, 0.12) + inside, start.towards(end, 0.88) + inside


def bracket(edge: Edge, depth: float) -> Iterator[Curve]:
    """The sign of a fold: the fold itself, and a line beside it whose ends point at it."""
    yield edge.curve
    first, last = bracket_bar(edge, depth)
    yield line(first, last)
    out = (last - first).unit.right
    for end in (first, last):
        yield line(end, end + out * depth)
        yield from _barbs(end + out * depth, out, depth * 0.5)


def arrow(start: Point, end: Point) -> Iterator[Curve]:
    """A straight line with a head at both ends."""
    yield line(start, end)
    size = min(HEAD, 0.25 * start.to(end))
    yield from _barbs(end, end - start, size)
    yield from _barbs(start, start - end, size)


def _barbs(tip: Point, towards: Point, size: float) -> Iterator[Curve]:
    back = -towards.unit * size
    for side in (1.0, -1.0):
        yield line(tip, tip + back + towards.unit.left * (side * 0.35 * size))
