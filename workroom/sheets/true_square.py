"""The square of 10 cm and the bar of 4 inches that a print is measured by before cutting."""

from __future__ import annotations

from drafting.curves import line
from drafting.lettering import text_width
from drafting.pens import Pen
from drafting.points import Point
from drafting.signs import Ink
from drafting.units import CM_PER_INCH

#: Side of the square, cm.
SQUARE = 10.0
#: Length of the bar, inches.
BAR = 4
_LETTERS = 0.45
_INSIDE = 0.8
_WORDS = ("10 cm = 100 mm:", "measure this square", "before cutting")
_BAR_WORDS = "4 in"
_TICK, _SHORT_TICK = 0.35, 0.2
#: The bar stands this far above the square.
_ABOVE = 1.6


def draw_true_square(pen: Pen, corner: Point) -> tuple[float, float]:
    """Draw the square with its lower left corner at ``corner``, words in it and the bar above.

    Returns the width and height it takes.
    """
    x, y = corner
    corners = [Point(x, y), Point(x + SQUARE, y), Point(x + SQUARE, y + SQUARE)]
    corners.append(Point(x, y + SQUARE))
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    pen.outline(Ink.TEXT, tuple(line(a, b) for a, b in sides))
    base = y + SQUARE / 2 + _LETTERS
    for words in _WORDS:
        pen.text(Ink.TEXT, Point(x + _INSIDE, base), words, _LETTERS)
        base -= 2 * _LETTERS
    bar, length = y + SQUARE + _ABOVE, BAR * CM_PER_INCH
    pen.curve(Ink.TEXT, line(Point(x, bar), Point(x + length, bar)))
    for n in range(BAR + 1):
        tick = _TICK if n in (0, BAR) else _SHORT_TICK
        at = x + n * CM_PER_INCH
        pen.curve(Ink.TEXT, line(Point(at, bar - tick), Point(at, bar + tick)))
    pen.text(Ink.TEXT, Point(x + length + 0.4, bar - _LETTERS / 2), _BAR_WORDS, _LETTERS)
    wide = length + 0.4 + text_width(_BAR_WORDS, _LETTERS)
    return wide, SQUARE + _ABOVE + _TICK
