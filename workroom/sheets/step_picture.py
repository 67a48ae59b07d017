"""The small picture beside a step of the worksheet: what is drawn so far, and what is new."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from drafting.curves import Curve
from drafting.pieces import Piece
from drafting.points import Point
from workroom.sheets.booklet import FACE, letters, written
from workroom.worksheet.steps import Plotted

_PALE, _BLACK = 0.6, 0.0


def step_picture(
    pieces: Sequence[Piece],
    known: Sequence[Plotted],
    new: Sequence[Plotted],
    *,
    width: float,
    height: float,
    strong: bool = False,
    named: bool = True,
) -> Any:
    """A drawing that fits into ``width`` by ``height`` (points): the ``pieces`` pale (or strong),
    the points ``known`` so far as rings, the ``new`` ones as dots with their names."""
    from reportlab.graphics.shapes import Circle, Drawing, String

    letters()
    frame = _Frame(pieces, [*known, *new], width, height)
    drawing = Drawing(width, height)
    for piece in pieces:
        for edge in piece.edges:
            drawing.add(frame.path(edge.curve, _BLACK if strong else _PALE, 0.9 if strong else 0.5))
        for dart in piece.darts:
            for foot in (dart.first, dart.second):
                drawing.add(frame.stroke(dart.tip, foot, _BLACK if strong else _PALE))
        for mark in piece.marks:
            drawing.add(frame.path(mark.curve, _PALE, 0.4))
    for point in known:
        x, y = frame.at(point.at)
        drawing.add(Circle(x, y, 1.1, strokeWidth=0.5, fillColor=None))
    used: list[tuple[float, float]] = []
    for point in new:
        x, y = frame.at(point.at)
        drawing.add(Circle(x, y, 1.5, strokeWidth=0))
        if named and point.name:
            at = _free(x + 3.0, y + 2.0, used)
            used.append(at)
            drawing.add(String(*at, written(point.name), fontName=FACE, fontSize=6))
    return drawing


def _free(x: float, y: float, used: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """A place for a name that no other one has taken: moved down line by line."""
    while any(abs(y - b) < 6.5 and abs(x - a) < 70.0 for a, b in used):
        y -= 7.0
    return x, y


class _Frame:
    """Where a place on the table comes to lie in the picture."""

    def __init__(
        self, pieces: Sequence[Piece], points: Sequence[Plotted], width: float, height: float
    ) -> None:
        xs = [float(x) for piece in pieces for x in piece.outline(0.05)[:, 0]]
        ys = [float(y) for piece in pieces for y in piece.outline(0.05)[:, 1]]
        xs += [point.at.x for point in points]
        ys += [point.at.y for point in points]
        self._low = Point(min(xs), min(ys))
        room = 60.0 if points else 4.0  # names stand to the right of their points
        self._scale = min(
            (width - room) / max(max(xs) - min(xs), 1.0), (height - 10.0) / (max(ys) - min(ys))
        )

    def at(self, p: Point) -> tuple[float, float]:
        x, y = (p - self._low) * self._scale
        return x + 2.0, y + 4.0

    def stroke(self, a: Point, b: Point, shade: float) -> Any:
        from reportlab.graphics.shapes import Line
        from reportlab.lib.colors import Color

        colour = Color(shade, shade, shade)
        return Line(*self.at(a), *self.at(b), strokeWidth=0.5, strokeColor=colour)

    def path(self, curve: Curve, shade: float, width: float) -> Any:
        from reportlab.graphics.shapes import Path
        from reportlab.lib.colors import Color

        path = Path(strokeColor=Color(shade, shade, shade), strokeWidth=width, fillColor=None)
        path.moveTo(*self.at(curve.start))
        for piece in curve.beziers():
            if len(piece) == 4:
                path.curveTo(*(v for p in piece[1:] for v in self.at(p)))
            else:
                path.lineTo(*self.at(piece[1]))
        return path
