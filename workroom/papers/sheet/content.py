"""What a drawing or picture of an order shows, and the sheet it makes on any pen."""

from __future__ import annotations

from dataclasses import dataclass

from drafting.drawing.drawing import EdgeWords, Labels, draw_piece
from drafting.drawing.lettering import shortened, text_width
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.drawing.table_layout import Placed, extent, lay_out
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.memo import memo_by_identity
from drafting.pieces.piece import Piece
from drafting.units import CM_PER_INCH

# ---- The square of 10 cm and the bar of 4 inches that a print is measured by before cutting

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


_TITLE, _FACTS, _SMALL = 1.2, 0.7, 0.5
#: The heading stands this far to the right of the square, and has at least so much room.
_BESIDE, _LEAST_ROOM = 1.0, 12.0
#: Not every program shows widths and dashes.
_WHICH_LINE = "Where two lines run side by side, cut on the outer one and sew on the inner one."
#: Characters of one fact in the heading.
_LONGEST = 80


@dataclass(frozen=True, slots=True)
class SheetContent:
    """The pieces of a garment as drafted, and what stands on them; ``title`` heads the sheet. Made
    of a :class:`garment.garment.Garment` by :func:`workroom.papers.papers.sheet_content` and
    nowhere else, so that no way of writing loses the stamp: there are no labels to fall back on."""

    title: str
    pieces: tuple[Piece, ...]
    labels: Labels

    @property
    def stamp(self) -> str | None:
        """What stands across pieces that must not be cut, or ``None``."""
        return self.labels.stamp

    def placed(self) -> tuple[Placed, ...]:
        """The pieces laid side by side; see :func:`drafting.drawing.table_layout.lay_out`."""
        return _placed(self.pieces)

    def heading(self) -> tuple[tuple[Ink, str, float], ...]:
        """Lines for the head of the sheet with their ink and letter height: the title; client,
        order, date and method; the stamp, or which line to cut on."""
        labels = self.labels
        facts = (labels.client, labels.order, labels.date, labels.method)
        second = " · ".join(word for word in (shortened(f, _LONGEST) for f in facts) if word)
        lines = (
            (Ink.TEXT, shortened(self.title, _LONGEST), _TITLE),
            (Ink.TEXT, second, _FACTS),
            (Ink.STAMP, shortened(self.stamp or "", 2 * _LONGEST), _FACTS),
            (Ink.TEXT, "" if self.stamp else _WHICH_LINE, _SMALL),
        )
        return tuple(line for line in lines if line[1])


@memo_by_identity(4)
def _placed(pieces: tuple[Piece, ...]) -> tuple[Placed, ...]:
    return lay_out(pieces)


def draw_sheet(
    pen: Pen, content: SheetContent, *, edge_words: EdgeWords | None = None
) -> tuple[float, float]:
    """Draw all pieces laid side by side, a heading above them, and a square of 10 cm and a bar of
    4 inches to check the scale by. Returns width and height (cm) of what was drawn; its lower left
    corner is the origin.
    """
    placed = content.placed()
    for one in placed:
        draw_piece(pen, one.piece, content.labels, edge_words=edge_words)
    width, top = extent(placed)
    foot = top + 1.2
    left, tall = draw_true_square(pen, Point(0.0, foot))
    left += _BESIDE
    room, base, right = max(width - left, _LEAST_ROOM), foot + tall, left
    for ink, text, height in content.heading():
        letters = min(height, max(height * room / text_width(text, height), _SMALL))
        base -= letters
        pen.text(ink, Point(left, base), text, letters)
        right = max(right, left + text_width(text, letters))
        base -= 0.9 * letters
    return max(width, right), foot + tall
