"""The worksheet on paper: a maker draws every piece by hand from it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from blocks.bodice.making_up import make_up
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point
from drafting.pieces.piece import Piece
from garment.garment import Garment
from workroom.papers.booklets.booklet import (
    FACE,
    booklet,
    letters,
    page_width,
    said,
    table,
    written,
)
from workroom.worksheet.making import make_worksheet
from workroom.worksheet.steps import Plotted, Step

# ---- The small picture beside a step of the worksheet: what is drawn so far, and what is new

_TOGETHER = re.compile(r"(?<=\d) (?=\d+/\d|in\b|cm\b)|(?<=[÷×]) ")
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


_WIDE, _HIGH = 1.0, 190.0


def worksheet_bytes(order: Garment) -> bytes:
    """The worksheet of an order as a PDF."""
    from reportlab.platypus import KeepTogether, Spacer

    sheet = make_worksheet(order)
    story: list[Any] = [
        said(
            "All lengths are on the sew line, without seam allowances. Keep a hard pencil sharp, "
            "measure with the tape on edge, and check each length before you go on."
        )
    ]
    bodies = list(make_up(order.bodice)) if order.bodice else []
    seen: list[Plotted] = []
    for number, step in enumerate(sheet.steps, start=1):
        head = [said(f"{number}. {step.title}", "head"), said(step.said), Spacer(1, 4)]
        picture = _picture(step, bodies, seen)
        if picture is not None:
            head.append(picture)
        story.append(KeepTogether(head))
        story += _tables(step)
        if step.piece is None:
            seen += step.plotted
    return booklet(order, "Worksheet", story)


def _picture(step: Step, bodies: list[Any], seen: list[Plotted]) -> Any:
    if step.piece is not None:
        shown = [point for line in step.lines for point in line.points]
        return step_picture(
            [step.piece], [], shown, width=page_width(), height=_HIGH, strong=True, named=False
        )
    if step.plotted:
        return step_picture(bodies, seen, step.plotted, width=page_width(), height=_HIGH)
    return None


def _whole(text: str) -> str:
    """``text`` whose lines break at no fraction and no unit: ``2 7/16 in`` stays together."""
    return _TOGETHER.sub("\N{NO-BREAK SPACE}", text)


def _tables(step: Step) -> list[Any]:
    made: list[Any] = []
    rows: list[tuple[str, ...]]
    if step.worked:
        rows = [
            (
                one.name + (f": {one.meaning}" if one.meaning else ""),
                _whole("; ".join(part for part in (one.working, *one.asides) if part)),
                one.shown,
            )
            for one in step.worked
        ]
        made.append(table(rows, (34, 46, 12), bold_last=True))
    if step.plotted:
        rows = [(p.name, _whole(p.how), p.across, p.up) for p in step.plotted]
        made.append(table(rows, (24, 46, 11, 11), head=("Point", "", "across", "up")))
    for line in step.lines:
        way = "ruled" if line.straight else "a fair curve"
        said_line = f"{line.name[0].upper()}{line.name[1:]}: {way}, {line.shown} long"
        cells = [f"{p.across} / {p.up}" for p in line.points]
        rows = [tuple([*cells[k : k + 5], *[""] * 5][:5]) for k in range(0, len(cells), 5)]
        made += [said(said_line, "bold"), said("across / up", "small"), table(rows, (1,) * 5)]
    return made
