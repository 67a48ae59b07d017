"""What a drawing or picture of an order shows, and the sheet it makes on any pen."""

from __future__ import annotations

from dataclasses import dataclass, field

from drafting.drawing import EdgeWords, Labels, draw_piece
from drafting.kept import kept
from drafting.lettering import shortened, text_width
from drafting.pens import Pen
from drafting.pieces import Piece
from drafting.points import Point
from drafting.signs import Ink
from drafting.table_layout import Placed, extent, lay_out
from workroom.sheets.true_square import draw_true_square

_TITLE, _FACTS, _SMALL = 1.2, 0.7, 0.5
#: The heading stands this far to the right of the square, and has at least so much room.
_BESIDE, _LEAST_ROOM = 1.0, 12.0
#: Not every program shows widths and dashes.
_WHICH_LINE = "Where two lines run side by side, cut on the outer one and sew on the inner one."
#: Characters of one fact in the heading.
_LONGEST = 80


@dataclass(frozen=True, slots=True)
class SheetContent:
    """The pieces of an order as drafted, and what stands on them. ``title`` heads the sheet."""

    title: str
    pieces: tuple[Piece, ...]
    labels: Labels = field(default_factory=Labels)

    @property
    def stamp(self) -> str | None:
        """What stands across pieces that must not be cut, or ``None``."""
        return self.labels.stamp

    def placed(self) -> tuple[Placed, ...]:
        """The pieces laid side by side; see :func:`drafting.table_layout.lay_out`."""
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


@kept(4)
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
