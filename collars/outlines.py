"""Outlines of finished pieces: none may cross itself, and straight lines stay inside them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from shapely import get_parts
from shapely.geometry import LinearRing, LineString, Polygon

from drafting.errors import DraftError, Problem
from drafting.geometry.points import Point
from drafting.pieces.piece import Piece

#: Grain lines stay this far from the outline.
GRAIN_CLEAR = 1.0


def refuse_crossing(pieces: Iterable[Piece], key: str, advice: str = "") -> None:
    """Raise :class:`DraftError` when an outline crosses itself or runs clockwise; ``key`` is the
    parameter that most likely asked for too much."""
    problems = []
    for piece in pieces:
        ring = LinearRing(piece.outline())
        if not ring.is_simple or not ring.is_ccw:
            problems.append(
                Problem(
                    f"the outline of the {piece.title.lower()} would cross itself",
                    key=key,
                    advice=advice or "Stay nearer to the usual values of this collar.",
                )
            )
    if problems:
        raise DraftError(problems)


def inside(piece: Piece, a: Point, b: Point, clear: float = 0.0) -> tuple[Point, Point]:
    """The longest stretch of a straight line that lies inside a piece, ``clear`` (cm) of its
    outline; the line as it is when none does."""
    cloth = Polygon(piece.outline()).buffer(-clear)
    parts = get_parts(LineString([tuple(a), tuple(b)]).intersection(cloth))
    longest = max(parts, key=lambda part: float(part.length), default=None)
    if longest is None or longest.length == 0.0:
        return a, b
    first, last = (Point(float(x), float(y)) for x, y in (longest.coords[0], longest.coords[-1]))
    return (first, last) if (last - first).dot(b - a) > 0.0 else (last, first)


def grain_inside(piece: Piece) -> Piece:
    """The piece with its grain line cut off where it would leave it."""
    return replace(piece, grain=inside(piece, *piece.grain, GRAIN_CLEAR))
