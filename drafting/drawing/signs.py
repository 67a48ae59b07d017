"""The signs on a pattern piece: the bracket of a fold and the arrow of the grain, and the inks.

The signs are common practice in the trade. Centimetres, y up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from enum import StrEnum
from typing import Any

import numpy as np
import shapely

from drafting.drawing.lettering import SMALLEST, Written, beside, one_line, text_width
from drafting.geometry.curves import Curve, line
from drafting.geometry.points import Point
from drafting.memo import memo_by_identity
from drafting.pieces.piece import Edge, Piece, outline_of

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


@memo_by_identity(64)
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


# ---- Words beside the lines of a piece: ``fold``, ``grain``, names of marks, lengths of edges.
# Each stands where it crosses nothing; where there is no such place it is left out.
# Centimetres, y up

#: Words to write along an edge, from the fullest to the shortest; the first that fits is taken.
EdgeWords = Callable[[Edge], tuple[str, ...]]

#: Letter heights, the largest that fits; the first only on pieces wider than ``_NARROW``.
_SIZES = (0.45, 0.32, 0.25, SMALLEST)
_NARROW = 8.0
#: Where along a line words may stand, the likeliest first.
_PLACES = (0.5, 0.36, 0.64, 0.22, 0.78)
#: Words keep this far from the line they belong to, and at least ``_HAIR`` from any other.
_GAP, _HAIR = 0.15, 0.06


def sign_words(piece: Piece, area: Any, edge_words: EdgeWords | None = None) -> tuple[Written, ...]:
    """All words beside lines; ``area`` is the inside of the sew line as a shapely area."""
    lines = shapely.union_all([shape.buffer(_HAIR) for shape in sign_shapes(piece)])
    room = area.buffer(-_HAIR).difference(lines)
    shapely.prepare(room)
    found: list[Written] = []
    for choices in _wishes(piece, edge_words):
        for words in choices:
            box = words.box
            if room.contains(box) and not any(box.intersects(other.box) for other in found):
                found.append(words)
                break
    return tuple(found)


def sign_shapes(piece: Piece) -> Iterator[Any]:
    """The lines inside a piece, as shapely shapes."""
    yield shapely.LineString([tuple(p) for p in piece.grain])
    for dart in piece.darts:
        yield shapely.LineString([tuple(p) for p in (dart.first, dart.tip, dart.second)])
    for mark in piece.marks:
        yield shapely.LineString(mark.curve.flatten(0.02))
    for edge in piece.edges:
        if edge.on_fold:
            yield shapely.LineString([tuple(p) for p in bracket_bar(edge, bracket_depth(piece))])
    for drill in piece.drills:
        yield shapely.Point(tuple(drill.at)).buffer(DRILL)


def _wishes(piece: Piece, edge_words: EdgeWords | None) -> Iterator[Iterator[Written]]:
    """For each line in turn, the words and places it would like, the best first."""
    sizes = _SIZES if thickness(piece) > _NARROW else _SIZES[1:]
    named = [
        (edge, tuple(map(one_line, edge_words(edge))) if edge_words else ()) for edge in piece.edges
    ]
    for edge, words in named:
        if edge.on_fold:
            bar = bracket_bar(edge, bracket_depth(piece))
            fold = (*(f"fold · {text}" for text in words), "fold")
            yield _along(line(*bar), fold, sizes, (1.0,), _GAP)
    yield _along(line(*piece.grain), ("grain",), sizes, (1.0, -1.0), _GAP)
    for mark in piece.marks:
        if mark.label:
            yield _along(mark.curve, (one_line(mark.label),), _SIZES[1:], (1.0, -1.0), _GAP)
    for edge, words in named:
        if words and not edge.on_fold and not edge.is_dart_mouth:
            yield _along(edge.curve, words, sizes, (1.0,), 2 * _GAP)


def _along(
    curve: Curve,
    words: Sequence[str],
    sizes: Sequence[float],
    sides: Sequence[float],
    gap: float,
) -> Iterator[Written]:
    """Words along a curve, to its left (1) or right (-1); farther off where it bends away."""
    length = curve.length
    for text in filter(None, words):
        for height in sizes:
            if text_width(text, height) > length:
                continue
            for place in _PLACES:
                t = curve.t_at_length(place * length)
                along = curve.heading(t)
                for side in sides:
                    bend = max(side * float(curve.curvature([t])[0]), 0.0)
                    away = gap + min(text_width(text, height) ** 2 * bend / 8, 2.0)
                    out = along.left * side
                    yield beside(curve.at(t), along, out, text, height, away)
