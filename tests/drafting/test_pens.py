"""Pens: what is written down, and strokes moved on their way."""

from __future__ import annotations

from math import pi

import pytest

from drafting.drawing.pens import MovedPen, Pen, RecordingPen
from drafting.geometry.curves import bezier, joined, line, polyline
from drafting.geometry.points import Move, Point

ARCH = bezier(Point(0, 0), Point(0, 1), Point(2, 1), Point(2, 0))


def drawn(pen: Pen) -> None:
    pen.begin_piece("FRONT", "Front piece")
    pen.curve("SEW", ARCH)
    pen.outline("CUT", (line(Point(0, 0), Point(3, 0)), polyline([Point(3, 0), Point(3, 1)])))
    pen.dot("DRILL", Point(1.0, 0.5), 0.15)
    pen.text("TEXT", Point(1.0, 2.0), "it's", 0.5, 0.25)
    pen.end_piece()


def test_every_stroke_is_written_in_millimetres() -> None:
    pen = RecordingPen()
    drawn(pen)

    assert pen.lines == [
        "piece FRONT: Front piece",
        "  SEW line 0.000,0.000 C 0.000,10.000 20.000,10.000 20.000,0.000",
        "  CUT outline",
        "    0.000,0.000 L 30.000,0.000",
        "    30.000,0.000 L 30.000,10.000",
        "  DRILL dot 10.000,5.000 r1.500",
        '  TEXT text 10.000,20.000 5.000 0.2500 "it\'s"',
        "end",
    ]


def test_a_minus_nought_is_never_written() -> None:
    pen = RecordingPen()
    pen.dot("X", Point(-1e-9, -0.0), 0.1)

    assert pen.lines == ["  X dot 0.000,0.000 r1.000"]


def test_a_curve_of_several_pieces_is_one_line() -> None:
    pen = RecordingPen()
    pen.curve("X", joined([line(Point(0, 0), Point(3, 0)), line(Point(3, 0), Point(3, 3))]))
    pen.curve("X", joined([line(Point(-2, 0), Point(0, 0)), ARCH]))

    assert pen.lines == [
        "  X line 0.000,0.000 L 30.000,0.000 L 30.000,30.000",
        "  X line -20.000,0.000 C -13.333,0.000 -6.667,0.000 0.000,0.000 "
        "C 0.000,10.000 20.000,10.000 20.000,0.000",
    ]


def test_a_moved_pen_draws_everything_moved() -> None:
    pen = RecordingPen()
    drawn(MovedPen(pen, Move(pi / 2, Point(10, 0))))

    assert pen.lines == [
        "piece FRONT: Front piece",
        "  SEW line 100.000,0.000 C 90.000,0.000 90.000,20.000 100.000,20.000",
        "  CUT outline",
        "    100.000,0.000 L 100.000,30.000",
        "    100.000,30.000 L 90.000,30.000",
        "  DRILL dot 95.000,10.000 r1.500",
        f'  TEXT text 80.000,10.000 5.000 {0.25 + pi / 2:.4f} "it\'s"',
        "end",
    ]


def test_a_pen_cannot_be_mirrored() -> None:
    with pytest.raises(ValueError, match="mirrored"):
        MovedPen(RecordingPen(), Move(mirrored=True))
