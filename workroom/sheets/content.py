"""What a drawing or picture of an order shows, and the sheet it makes on any pen."""

from __future__ import annotations

from dataclasses import dataclass, field

from drafting.curves import line
from drafting.drawing import EdgeWords, Ink, Labels, draw_piece
from drafting.lettering import shortened, text_width
from drafting.pens import Pen
from drafting.pieces import Piece
from drafting.points import Point
from drafting.table_layout import Placed, extent, lay_out

_TITLE, _FACTS, _SMALL = 1.2, 0.7, 0.5
_BAR = 10.0
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
        return lay_out(self.pieces)

    def heading(self) -> tuple[tuple[Ink, str, float], ...]:
        """Lines for the head of the sheet with their ink and letter height: the title; client,
        order, date and method; the stamp."""
        labels = self.labels
        facts = (labels.client, labels.order, labels.date, labels.method)
        second = " · ".join(word for word in (shortened(f, _LONGEST) for f in facts) if word)
        lines = (
            (Ink.TEXT, shortened(self.title, _LONGEST), _TITLE),
            (Ink.TEXT, second, _FACTS),
            (Ink.STAMP, shortened(self.stamp or "", 2 * _LONGEST), _FACTS),
        )
        return tuple(line for line in lines if line[1])


def draw_sheet(
    pen: Pen, content: SheetContent, *, edge_words: EdgeWords | None = None
) -> tuple[float, float]:
    """Draw all pieces laid side by side, a heading above them and a bar of 10 cm to check the
    scale by. Returns width and height (cm) of what was drawn; its lower left corner is the origin.
    """
    placed = content.placed()
    for one in placed:
        draw_piece(pen, one.piece, content.labels, edge_words=edge_words)
    width, top = extent(placed)
    bar = top + 1.6
    pen.curve(Ink.TEXT, line(Point(0.0, bar), Point(_BAR, bar)))
    for x, tick in ((0.0, 0.4), (_BAR / 2, 0.25), (_BAR, 0.4)):
        pen.curve(Ink.TEXT, line(Point(x, bar - tick), Point(x, bar + tick)))
    words = "10 cm = 100 mm: measure this bar before cutting"
    pen.text(Ink.TEXT, Point(_BAR + 0.6, bar - _SMALL / 2), words, _SMALL)
    width = max(width, _BAR + 0.6 + text_width(words, _SMALL))
    base = bar + 1.4
    for ink, text, height in reversed(content.heading()):
        letters = min(height, max(height * width / text_width(text, height), _SMALL))
        pen.text(ink, Point(0.0, base), text, letters)
        width = max(width, text_width(text, letters))
        base += 1.9 * letters
    return width, base
