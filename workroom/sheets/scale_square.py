"""The square and the bar to measure before cutting."""

from __future__ import annotations

from drafting.curves import line
from drafting.pens import Pen
from drafting.points import Point
from drafting.signs import Ink
from drafting.units import LengthUnit, to_cm
from workroom.sheets.pdf_words import width_of

#: Sides of the square, and inches of the bar.
SIDE, INCHES = 10.0, 4
#: What square, bar and their words take.
SQUARE_WIDTH, SQUARE_HEIGHT = 10.8, 12.4
_LETTERS = 0.26


def draw_square(pen: Pen, corner: Point) -> None:
    """A square of 10 cm and below it a bar of 4 inches; ``corner`` is the lower left one of the
    paper they take."""
    low = corner + Point(0.2, SQUARE_HEIGHT - SIDE - 0.2)
    corners = [low + Point(x, y) for x, y in ((0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE))]
    sides = tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    pen.outline(Ink.DRILL, sides)
    for k in range(1, int(SIDE)):
        tick = 0.4 if k == SIDE / 2 else 0.25
        pen.curve(Ink.TEXT, line(low + Point(k, 0.0), low + Point(k, tick)))
        pen.curve(Ink.TEXT, line(low + Point(0.0, k), low + Point(tick, k)))
    rows = ("Test square", "each side 10 cm = 100 mm", "Measure it before cutting.")
    for k, words in enumerate(rows):
        height = 0.36 if k == 0 else _LETTERS
        at = Point((SIDE - width_of(words, height)) / 2, SIDE * 0.6 - 0.75 * k)
        pen.text(Ink.TEXT, low + at, words, height)
    _bar(pen, corner + Point(0.2, 1.2))


def _bar(pen: Pen, start: Point) -> None:
    inch = to_cm(1.0, LengthUnit.INCH)
    pen.curve(Ink.DRILL, line(start, start + Point(INCHES * inch, 0.0)))
    for quarter in range(INCHES * 4 + 1):
        at = start + Point(quarter * inch / 4, 0.0)
        tick = (0.45, 0.2, 0.3, 0.2)[quarter % 4]
        pen.curve(Ink.TEXT, line(at, at + Point(0.0, tick)))
        if quarter % 4 == 0:
            words = str(quarter // 4)
            across = Point(-width_of(words, _LETTERS) / 2, -_LETTERS - 0.15)
            pen.text(Ink.TEXT, at + across, words, _LETTERS)
    words = "inches: this bar is 4 in long"
    pen.text(Ink.TEXT, start + Point(0.0, -_LETTERS - 0.7), words, _LETTERS)
