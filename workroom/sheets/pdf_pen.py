"""A pen that draws on a PDF page: true Bezier curves, real text, each ink in its layer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import nullcontext
from functools import cache
from math import cos, pi, sin
from typing import Any

from drafting.curves import Curve, bezier
from drafting.lettering import one_line
from drafting.points import Point
from drafting.signs import Ink
from drafting.units import MM_PER_CM, POINTS_PER_CM
from workroom.sheets.layers import Layer
from workroom.sheets.layers import layer as layer_of
from workroom.sheets.pdf_file import PdfFile
from workroom.sheets.pdf_words import drawable, load_font, type_size

#: Handles of a quarter circle as a share of the radius: within 0.03 % of the true circle.
_ROUND = 4 / 3 * (2**0.5 - 1)


class PdfPen:
    """Draws on the open page of a file. ``inks`` and ``pieces`` give the layer of an ink or of a
    piece (by its code); what has none is always shown. ``look`` is how an ink looks."""

    def __init__(
        self,
        file: PdfFile,
        inks: Mapping[Ink, str] | None = None,
        pieces: Mapping[str, str] | None = None,
        look: Callable[[str], Layer] = layer_of,
    ) -> None:
        self._look = look
        self._file, self._inks, self._pieces = file, inks or {}, pieces or {}
        self._canvas: Any = file.canvas
        self._open: list[bool] = []

    def begin_piece(self, code: str, title: str) -> None:
        """Open the piece's layer."""
        key = self._pieces.get(code)
        self._open.append(key is not None)
        if key is not None:
            self._canvas.addLiteral(f"/OC /{key} BDC")

    def end_piece(self) -> None:
        """Close it."""
        if self._open.pop():
            self._canvas.addLiteral("EMC")

    def curve(self, layer: str, curve: Curve) -> None:
        """An open path."""
        self._draw(layer, (curve,), closed=False)

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed path."""
        self._draw(layer, curves, closed=True)

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A circle."""
        self._draw(layer, circle(at, radius), closed=True)

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text. What is drawn otherwise than it is read says so to readers of text."""
        drawn = drawable(words)
        if not drawn:
            return
        read = one_line(words)
        with self._within(layer):
            if drawn != read:
                said = ("\ufeff" + read).encode("utf-16-be").hex().upper()
                self._canvas.addLiteral(f"/Span <</ActualText <{said}>>> BDC")
            text = self._canvas.beginText()
            text.setFont(load_font(), type_size(height))
            text.setFillColor(_colour(self._look(layer).rgb))
            x, y = _points(at)
            text.setTextTransform(cos(angle), sin(angle), -sin(angle), cos(angle), x, y)
            text.textOut(drawn)
            self._canvas.drawText(text)
            if drawn != read:
                self._canvas.addLiteral("EMC")

    def _draw(self, layer: str, curves: tuple[Curve, ...], *, closed: bool) -> None:
        path = self._canvas.beginPath()
        path.moveTo(*_points(curves[0].start))
        for curve in curves:
            for piece in curve.beziers():
                steps = [value for point in piece[1:] for value in _points(point)]
                (path.curveTo if len(piece) == 4 else path.lineTo)(*steps)
        if closed:
            path.close()
        look = self._look(layer)
        per_mm = POINTS_PER_CM / MM_PER_CM
        with self._within(layer):
            self._canvas.setStrokeColor(_colour(look.rgb))
            self._canvas.setLineWidth(look.width_mm * per_mm)
            self._canvas.setDash([dash * per_mm for dash in look.dash_mm])
            self._canvas.drawPath(path, stroke=1, fill=0)

    def _within(self, layer: str) -> Any:
        key = self._inks.get(Ink(layer))
        return nullcontext() if key is None else self._file.within(key)


@cache
def _colour(rgb: str) -> Any:
    from reportlab.lib.colors import toColor

    return toColor(rgb)


def circle(at: Point, radius: float) -> tuple[Curve, ...]:
    """Four Bezier quarters."""
    quarters = []
    for k in range(4):
        a, b = (Point(cos(turn), sin(turn)) * radius for turn in (k * pi / 2, (k + 1) * pi / 2))
        quarters.append(bezier(at + a, at + a + b * _ROUND, at + b + a * _ROUND, at + b))
    return tuple(quarters)


def _points(p: Point) -> tuple[float, float]:
    return p.x * POINTS_PER_CM, p.y * POINTS_PER_CM
