"""Pens: a piece draws itself on to a pen; each output is a pen in a file of its own.

Pens take centimetres, y up. Scale, paper and y down are the business of the pen.
"""

from __future__ import annotations

from typing import Protocol

from drafting.geometry.curves import Curve
from drafting.geometry.points import Move, Point
from drafting.units import mm


class Pen(Protocol):
    """What an output must be able to do. ``layer`` is a name from the table of layers."""

    def begin_piece(self, code: str, title: str) -> None:
        """All that follows belongs to a piece."""

    def curve(self, layer: str, curve: Curve) -> None:
        """An open line."""

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed line: the curves meet end to end and round."""

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A small circle: a drill hole."""

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """One line of text, its base line starting at ``at``; letter height in centimetres."""

    def end_piece(self) -> None:
        """The piece is done."""


class RecordingPen:
    """Writes down every stroke as text, millimetres to three places: for golden drawings."""

    def __init__(self) -> None:
        self.lines: list[str] = []

    def begin_piece(self, code: str, title: str) -> None:
        """See :class:`Pen`."""
        self.lines.append(f"piece {code}: {title}")

    def curve(self, layer: str, curve: Curve) -> None:
        """See :class:`Pen`."""
        self.lines.append(f"  {layer} line {_written(curve)}")

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """See :class:`Pen`."""
        self.lines.append(f"  {layer} outline")
        self.lines.extend(f"    {_written(curve)}" for curve in curves)

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """See :class:`Pen`."""
        self.lines.append(f"  {layer} dot {_xy(at)} r{mm(radius):.3f}")

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """See :class:`Pen`."""
        self.lines.append(f"  {layer} text {_xy(at)} {mm(height):.3f} {angle:.4f} {words!r}")

    def end_piece(self) -> None:
        """See :class:`Pen`."""
        self.lines.append("end")


class MovedPen:
    """Moves all strokes rigidly, never mirrored, before another pen draws them."""

    def __init__(self, pen: Pen, move: Move) -> None:
        if move.mirrored:
            raise ValueError("letters cannot be mirrored, and outlines would run clockwise")
        self._pen, self._move = pen, move

    def begin_piece(self, code: str, title: str) -> None:
        """See :class:`Pen`."""
        self._pen.begin_piece(code, title)

    def curve(self, layer: str, curve: Curve) -> None:
        """See :class:`Pen`."""
        self._pen.curve(layer, curve.moved(self._move))

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """See :class:`Pen`."""
        self._pen.outline(layer, tuple(curve.moved(self._move) for curve in curves))

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """See :class:`Pen`."""
        self._pen.dot(layer, self._move(at), radius)

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """See :class:`Pen`."""
        self._pen.text(layer, self._move(at), words, height, angle + self._move.angle)

    def end_piece(self) -> None:
        """See :class:`Pen`."""
        self._pen.end_piece()


def _xy(p: Point) -> str:
    x, y = (round(mm(value), 3) + 0.0 for value in p)  # never a minus nought
    return f"{x:.3f},{y:.3f}"


def _written(curve: Curve) -> str:
    parts = [_xy(curve.start)]
    for piece in curve.beziers():
        parts.append(("C " if len(piece) == 4 else "L ") + " ".join(_xy(p) for p in piece[1:]))
    return " ".join(parts)
