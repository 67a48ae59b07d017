"""The pattern on pages of a home printer, at true size: an overview with a square to measure, then
every page that carries part of a piece. See ``workroom.papers.pdf.file`` for the libraries."""

from __future__ import annotations

import numpy as np
import shapely

from drafting.drawing.lettering import Block, one_line, settled
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.units import LengthUnit
from workroom.papers.pages.overview import draw_overview
from workroom.papers.pages.plan import HEAD, TilePlan, tile_plan
from workroom.papers.pages.tiles import Tile
from workroom.papers.pdf.file import Group, PdfFile
from workroom.papers.pdf.pen import PdfPen, fitted, width_of
from workroom.papers.sheet.content import SheetContent

#: The layer of everything on a page that is not the pattern.
MARKS = "joining"
_GROUP = Group(MARKS, "Joining marks and page names", "Pages")
_LETTERS = 0.24
_CLEAR = 0.25


def tiled_bytes(
    content: SheetContent,
    paper: str | None = None,
    *,
    margin: float | None = None,
    overlap: float | None = None,
    unit: LengthUnit = LengthUnit.CM,
) -> bytes:
    """The pattern over pages of ``paper``, as a PDF: A4, or Letter for a maker who works in inches,
    unless another size of ``data/papers.toml`` is asked for.

    ``margin`` stays white round every page and ``overlap`` is how far pages lap (cm); see
    :func:`workroom.papers.pages.plan.tile_plan`, also for the :class:`DraftError` raised.
    """
    size = paper or home_paper(unit)
    return pages_of(tile_plan(content, size, margin=margin, overlap=overlap, unit=unit))


def home_paper(unit: LengthUnit) -> str:
    """The paper in the printers of makers who work in a unit."""
    return "Letter" if unit is LengthUnit.INCH else "A4"


def pages_of(plan: TilePlan) -> bytes:
    """The pages of a plan as a PDF."""
    file = PdfFile(plan.content.title, (_GROUP,))
    pen = PdfPen(file)
    paper, margin = plan.paper, plan.margin
    with file.page(paper.width, paper.height), file.shifted(margin, margin):
        draw_overview(pen, plan)
    for number, tile in enumerate(plan.tiles, start=2):
        low = plan.grid.corner(tile)
        with file.page(paper.width, paper.height):
            with (
                file.window(margin, margin, plan.grid.width, plan.grid.height),
                file.shifted(margin - low.x, margin - low.y),
            ):
                plan.strokes.play(pen, plan.grid.window(tile))
            with file.within(MARKS), file.shifted(margin - low.x, margin - low.y):
                draw_marks(pen, plan, tile, number)
    return file.finished()


def draw_marks(pen: Pen, plan: TilePlan, tile: Tile, number: int) -> None:
    """Draw what stands on a page besides the pattern, where it lies in the whole drawing; the page
    is the ``number``-th of the file."""
    _joins(pen, plan, tile)
    _name(pen, plan, tile)
    _head(pen, plan, tile, number)


def _joins(pen: Pen, plan: TilePlan, tile: Tile) -> None:
    """Lines to trim along and to lay against, and this page's halves of the signs."""
    for sign in plan.signs:
        join = sign.join
        if tile in (join.first, join.second):
            ink = Ink.CONSTRUCTION if tile == join.first else Ink.TEXT
            pen.curve(ink, line(join.start, join.end))
            sign.draw(pen, first=tile == join.first)


def _name(pen: Pen, plan: TilePlan, tile: Tile) -> None:
    """The page's name, its pieces and whose they are, where nothing is drawn."""
    pieces = [piece.title for piece in plan.pieces_on(tile)]
    labels = plan.content.labels
    facts = [word for word in (labels.client, labels.order) if one_line(word)]
    width = 0.6 * plan.grid.width
    small, narrow = (
        [(fitted(row, _LETTERS, width), 1.0) for row in (*pieces, *whose)]
        for whose in ([" · ".join(facts)] if facts else [], facts)
    )
    head = [(f"page {tile.name}", 1.6)]
    stamp = [(plan.content.stamp.partition(":")[0], 1.6)] if plan.content.stamp else []
    blocks = [
        Block((*stamp, *head, *small)),
        Block((*stamp, *head, *narrow)),
        Block((*stamp, *head)),
        Block(((tile.name, 1.0),)),
    ]
    low = plan.grid.corner(tile)
    strip = plan.grid.overlap
    room = shapely.box(
        low.x, low.y + strip, low.x + plan.grid.across, low.y + plan.grid.height
    ).buffer(-2 * _CLEAR, join_style="mitre")
    near = Point(low.x + 3.0, low.y + plan.grid.height - 3.0)
    taken = [stroke.shape for stroke in plan.strokes.within(room)]
    taken += [sign.box for sign in plan.signs if tile in (sign.join.first, sign.join.second)]
    clear = shapely.buffer(np.array(taken, dtype=object), _CLEAR, quad_segs=16)
    room = room.difference(shapely.union_all(clear))
    for block in blocks:
        written = settled(room, [block], (0.0,), 0.3, near)
        for words in written:
            ink = Ink.STAMP if stamp and words is written[0] else Ink.TEXT
            pen.text(ink, words.at, words.words, words.height)
        if written:
            return


def _head(pen: Pen, plan: TilePlan, tile: Tile, number: int) -> None:
    """A line of words above the window: it stays on the first row and is trimmed off others."""
    low = plan.grid.corner(tile)
    left, width = low.x, plan.grid.width
    base = low.y + plan.grid.height + 0.2
    right = f"page {number} of {len(plan.tiles) + 1}"
    reach = width_of(right, _LETTERS)
    pen.text(Ink.TEXT, Point(left + width - reach, base), right, _LETTERS)
    pieces = ", ".join(piece.title for piece in plan.pieces_on(tile))
    labels = plan.content.labels
    facts = " · ".join(
        word for word in (labels.client, labels.order, labels.date) if one_line(word)
    )
    pen.text(Ink.TEXT, Point(left, base), tile.name, _LETTERS + 0.06)
    shift = max(width_of(tile.name, _LETTERS + 0.06) + 0.3, 1.2)
    room = width - reach - shift - 0.4
    least = min(width_of(f"{pieces} · ", _LETTERS), 0.4 * room) if pieces else 0.0
    whose = fitted(facts, _LETTERS, room - least)
    what = fitted(pieces, _LETTERS, room - width_of(f"{whose} · ", _LETTERS))
    words = " · ".join(word for word in (what, whose) if word)
    pen.text(Ink.TEXT, Point(left + shift, base), words, _LETTERS)
    if plan.content.stamp:
        letters = 0.4
        words = fitted(plan.content.stamp, letters, width)
        pen.text(Ink.STAMP, Point(left, base + HEAD - 0.05), words, letters)
