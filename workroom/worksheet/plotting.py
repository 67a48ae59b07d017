"""Every piece as a table of points: enough of them that the line drawn through them is the piece.

Across and up from the piece's own origin, centimetres.
"""

from __future__ import annotations

from blocks.edges import EdgeName
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point
from drafting.pieces.piece import Edge, Piece
from drafting.units import LengthUnit, format_length
from workroom.worksheet.steps import Line, Plotted, Step

#: Between two plotted points a curve strays at most this far from the chord (cm); a hand that
#: draws fair through them does ten times better.
STRAY = 0.15
#: Points no nearer than this, and no farther (cm).
NEAREST, FARTHEST = 0.8, 6.0


def piece_step(piece: Piece, unit: LengthUnit) -> Step:
    """The table of a piece's sew line, its darts and its marks."""
    lines = tuple(_line(piece, k, edge, unit) for k, edge in enumerate(piece.edges))
    points = [
        _at(f"{dart.name}: {word}", where, unit)
        for dart in piece.darts
        for word, where in (("point", dart.tip), ("leg", dart.first), ("other leg", dart.second))
    ]
    points += [
        _at(f"notch: {notch.name}", piece.notch_point(notch), unit)
        for notch in piece.notches
        if notch.name not in ("centre back", "centre front")
    ]
    points += [_at(drill.label or "drill hole", drill.at, unit) for drill in piece.drills]
    for mark in piece.marks:
        name = mark.label or mark.kind.value
        points += [
            _at(f"{name}, from", mark.curve.start, unit),
            _at(f"{name}, to", mark.curve.end, unit),
        ]
    return Step(
        piece.title,
        "Plot the points of each line in turn, across and up, and draw it: ruled where it is "
        "straight, else fair through all its points. Then lay the tape along it, on edge, and "
        "compare its length. No seam allowances yet.",
        plotted=tuple(points),
        lines=lines,
        piece=piece,
    )


def _line(piece: Piece, place: int, edge: Edge, unit: LengthUnit) -> Line:
    name: str = edge.name
    if edge.on_fold:
        name += ", on the fold"
    same = [k for k, other in enumerate(piece.edges) if other.name is edge.name]
    if len(same) > 1 and edge.name is not EdgeName.DART_MOUTH:
        name += f", {same.index(place) + 1} of {len(same)}"
    return Line(
        name,
        edge.curve.degree == 1,
        tuple(_at("", point, unit) for point in stations(edge.curve)),
        edge.length,
        format_length(edge.length, unit, places=2),
    )


def stations(curve: Curve) -> tuple[Point, ...]:
    """The points of a curve to plot: its corners when it is straight, else so near to each other
    that no chord strays from it by more than ``STRAY``; closer where it bends."""
    if curve.degree == 1:
        return tuple(Point(float(x), float(y)) for x, y in curve.controls)
    places = [0.0, *_between(curve, 0.0, curve.length), curve.length]
    inner = [curve.at_length(s) for s in places[1:-1]]
    return (curve.start, *inner, curve.end)


def _between(curve: Curve, low: float, high: float) -> list[float]:
    """Arc lengths to plot between two."""
    run = high - low
    if run < 2.0 * NEAREST:
        return []
    a, b = curve.at_length(low), curve.at_length(high)
    along = (b - a).unit
    strays = max(
        abs(along.cross(curve.at_length(low + run * share) - a)) for share in (0.25, 0.5, 0.75)
    )
    if strays <= STRAY and run <= FARTHEST:
        return []
    middle = low + run / 2.0
    return [*_between(curve, low, middle), middle, *_between(curve, middle, high)]


def _at(name: str, at: Point, unit: LengthUnit) -> Plotted:
    return Plotted(name, at, format_length(at.x, unit), format_length(at.y, unit))
