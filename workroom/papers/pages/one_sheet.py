"""All pieces on one large sheet at true size, for copy shops and projectors, in layers that a
viewer can switch. See ``workroom.papers.pdf.file`` for the libraries."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from drafting.drawing.drawing import draw_piece
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.piece import Piece
from drafting.units import CM_PER_INCH, LengthUnit, format_length
from workroom.papers.pages.laid_pieces import GAP, Item, items, laid, nest
from workroom.papers.pages.overview import SQUARE_HEIGHT, SQUARE_WIDTH, draw_square
from workroom.papers.pdf.file import Group, PdfFile
from workroom.papers.pdf.pen import PdfPen, fitted
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.layers import layers
from workroom.papers.sheet.paper_sizes import paper_size
from workroom.papers.sheet.strokes import StrokePen

#: Plotters leave less white than this; common practice.
MARGIN = 1.0
#: Lines of the grid are this far apart, for setting up a projector.
GRID = {LengthUnit.CM: 10.0, LengthUnit.INCH: 4 * CM_PER_INCH}
#: Of a copy shop's rolls in inches this is the usual one; common practice.
ROLL_INCHES = 36.0
_HEADING = {1.2: 1.0, 0.7: 0.5}
_NARROWEST = 30.0


def sheet_bytes(
    content: SheetContent,
    paper: str | None = None,
    *,
    roll: float | None = None,
    margin: float = MARGIN,
    unit: LengthUnit = LengthUnit.CM,
    grid: bool = False,
) -> bytes:
    """All pieces on a sheet of ``paper`` or on a ``roll`` of a width in centimetres, as a PDF.

    Without either it is A0, or a roll of 36 inches for a maker who works in inches. A roll is cut
    as long as needed; pieces that do not fit one sheet of paper go on to more, a page each. Raises
    :class:`DraftError` for a paper there is not and for a piece larger than the sheet, and as
    :func:`drafting.drawing.drawing.draw_piece` does.

    ``grid`` adds a grid to set up a projector by, in a layer of its own that is switched off. It
    has to be asked for, since some programs show layers that are switched off.
    """
    if paper is None and roll is None:
        paper, roll = ("A0", None) if unit is LengthUnit.CM else (None, ROLL_INCHES * CM_PER_INCH)
    if roll is not None:
        width, length = roll, None
        if roll < _NARROWEST:
            raise DraftError(
                Problem(
                    "this roll is too narrow",
                    key="paper.roll",
                    got=format_length(roll, unit),
                    accepted=f"{format_length(_NARROWEST, unit)} or more",
                )
            )
    else:
        size = paper_size(paper or "A0")
        width, length = size.width, size.height
    heading = _Heading(content, width - 2 * margin)
    room = None if length is None else length - 2 * margin - heading.height
    shapes = items(content)
    square = Item(shapely.box(0.0, 0.0, SQUARE_WIDTH, SQUARE_HEIGHT), turns=False)
    lay = nest((*shapes, square), width - 2 * margin, room)
    if lay is None:
        raise _too_large(content, shapes, width - 2 * margin, unit)
    file = PdfFile(content.title, groups(content.pieces, unit, grid=grid))
    inks, pieces = _keys(content.pieces)
    for number, used in enumerate(lay.lengths):
        tall = length or used + 2 * margin + heading.height
        low = tall - margin - heading.height - used  # the lay hangs from the heading
        with file.page(width, tall):
            if grid:
                with file.within("grid"):
                    _grid(PdfPen(file), width, tall, GRID[unit])
            with file.shifted(margin, low):
                pen = PdfPen(file, inks, pieces)
                for piece in laid(content, lay, number):
                    # letters are placed anew, so that none stands on its head
                    draw_piece(pen, piece, content.labels)
            spot = lay.spots[-1]
            if spot.sheet == number:
                with file.within("square"), file.shifted(margin, low):
                    draw_square(PdfPen(file), spot.move(Point(0.0, 0.0)))
            with file.shifted(margin, tall - margin - heading.height):
                heading.draw(PdfPen(file), number + 1, len(lay.lengths))
    return file.finished()


def drawing_pdf(strokes: StrokePen, width: float, height: float, title: str = "") -> bytes:
    """A drawing alone on a page of its own size, its lower left corner at the page's."""
    file = PdfFile(title)
    with file.page(width, height):
        strokes.play(PdfPen(file))
    return file.finished()


def groups(pieces: Sequence[Piece], unit: LengthUnit, *, grid: bool = False) -> tuple[Group, ...]:
    """The layers of the sheet: every piece, every kind of line, the test square, perhaps the grid.
    The stamp of a failed draft has none, so that it cannot be switched off."""
    inks, keys = _keys(pieces)
    spacing = "10 cm" if unit is LengthUnit.CM else "4 in"
    of_grid = Group("grid", f"Grid of {spacing} for projectors", "Sheet", shown=False)
    titles = {piece.code: piece.title for piece in pieces}
    return (
        *(Group(key, titles[code], "Pieces") for code, key in keys.items()),
        *(
            Group(inks[ink], layer.name.replace("_", " ").capitalize(), "Lines and words")
            for ink, layer in layers().items()
            if ink in inks
        ),
        *((of_grid,) if grid else ()),
        Group("square", "Test square", "Sheet"),
    )


def _keys(pieces: Sequence[Piece]) -> tuple[dict[Ink, str], dict[str, str]]:
    """What the layers of inks and of pieces are called inside a page."""
    inks: dict[Ink, str] = {ink: f"ink-{ink}" for ink in Ink if ink is not Ink.STAMP}
    codes = dict.fromkeys(piece.code for piece in pieces)
    return inks, {code: f"piece-{number}" for number, code in enumerate(codes, start=1)}


class _Heading:
    """The lines at the head of a sheet."""

    def __init__(self, content: SheetContent, width: float) -> None:
        self._lines = [
            (ink, words, _HEADING.get(height, height)) for ink, words, height in content.heading()
        ]
        self._lines.append(
            (Ink.TEXT, "Print at 100 % (actual size). Measure the square before cutting.", 0.5)
        )
        self._width = width
        self.height = sum(1.7 * height for _, _, height in self._lines) + GAP

    def draw(self, pen: Pen, number: int, count: int) -> None:
        """Draw it, the origin at its lower left corner."""
        top = self.height
        for k, (ink, said, height) in enumerate(self._lines):
            words = f"{said} · sheet {number} of {count}" if count > 1 and k == 0 else said
            top -= 1.7 * height
            pen.text(
                ink, Point(0.0, top + 0.4 * height), fitted(words, height, self._width), height
            )


def _grid(pen: Pen, width: float, height: float, step: float) -> None:
    for x in np.arange(0.0, width, step)[1:]:
        pen.curve(Ink.GRAIN, line(Point(float(x), 0.0), Point(float(x), height)))
    for y in np.arange(0.0, height, step)[1:]:
        pen.curve(Ink.GRAIN, line(Point(0.0, float(y)), Point(width, float(y))))


def _too_large(
    content: SheetContent, shapes: Sequence[Item], width: float, unit: LengthUnit
) -> DraftError:
    def size(item: Item) -> tuple[float, float]:
        x0, y0, x1, y1 = item.shape.bounds
        return x1 - x0, y1 - y0

    wide, tall = (max(size(item)[k] for item in shapes) for k in (0, 1))
    which = max(range(len(shapes)), key=lambda k: max(size(shapes[k])))
    return DraftError(
        Problem(
            "a piece is larger than this sheet",
            place=content.pieces[which].title,
            key="paper",
            got=f"pieces up to {format_length(wide, unit)} wide and "
            f"{format_length(tall, unit)} high",
            accepted=f"up to {format_length(width - GAP, unit)} wide",
            advice="Choose a larger paper, or a wider roll.",
        )
    )
