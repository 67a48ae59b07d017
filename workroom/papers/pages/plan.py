"""How an order is parted into pages for a home printer. Centimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, inf
from typing import Any

import numpy as np
import shapely

from drafting.drawing.drawing import draw_lines, draw_words
from drafting.drawing.labelling import lettered
from drafting.drawing.lettering import middle_of
from drafting.errors import DraftError, Problem
from drafting.geometry.points import Move, Point
from drafting.pieces.piece import Piece
from drafting.units import CM_PER_INCH, LengthUnit, format_length
from workroom.papers.pages.laid_pieces import CELL, GAP, Lay, items, laid, lays, moved, paper_area
from workroom.papers.pages.tiles import (
    Sign,
    Tile,
    Tiling,
    joins,
    kept_clear,
    signs,
    tiling,
    widened,
)
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.paper_sizes import PaperSize, paper_size
from workroom.papers.sheet.strokes import StrokePen

# ---- Pieces laid over pages and shifted to the right by a few steps: where their labels go
# then, which pages are needed and where the signs of the joins are

#: Parts of a piece below this (square cm) have no room for its label.
_SMALL = 4.0
#: Decimals of the grid that cut lines lie on: where two places are as good, the last digit decides.
_GRID = 6


@dataclass(frozen=True, slots=True)
class Shifted:
    """All pieces shifted to the right by ``step``: the ``pieces`` with the places wished for their
    labels (both not shifted), the pages needed, the signs, and how many of them are ``crossed``
    by a line or by words."""

    step: float
    pieces: tuple[Piece, ...]
    tiles: tuple[Tile, ...]
    signs: tuple[Sign, ...]
    crossed: int


class Shifts:
    """Tries shifts of pieces over a grid of pages; ``areas`` is the paper each piece takes, not
    shifted.

    Raises :class:`DraftError` as :func:`drafting.drawing.drawing.draw_piece` does.
    """

    def __init__(self, content: SheetContent, grid: Tiling, pieces: tuple[Piece, ...]) -> None:
        self._pens = [StrokePen() for _ in pieces]
        for piece, pen in zip(pieces, self._pens, strict=True):
            pen.begin_piece(piece.code, piece.title)
            draw_lines(pen, piece, content.labels)
        self.areas = tuple(paper_area(piece) for piece in pieces)
        self._content, self._grid, self._pieces = content, grid, pieces
        self._lines = np.concatenate([np.empty(0, object), *(pen.shapes for pen in self._pens)])
        self._wide = widened((*self.areas, *self._lines))
        self._clear = kept_clear(self._lines)

    def tried(self, step: float) -> Shifted:
        """What comes of a shift."""
        grid, labels = self._grid, self._content.labels
        pieces = tuple(
            _labelled(piece, area, grid, self._content, step)
            for piece, area in zip(self._pieces, self.areas, strict=True)
        )
        pen = StrokePen()
        for piece in pieces:
            draw_words(pen, piece, labels)
        words = pen.shapes
        tiles = grid.touched(_shifted(np.append(self._wide, widened(words)), step))
        clear = _shifted(np.append(self._clear, kept_clear(words)), step)
        found = signs(grid, joins(grid, tiles), clear)
        drawing = shapely.STRtree(_shifted(np.append(self._lines, words), step))
        boxes = [sign.box for sign in found]
        crossed = len(np.unique(drawing.query(boxes, predicate="intersects")[0])) if boxes else 0
        return Shifted(step, pieces, tiles, found, crossed)

    def drawn(self, shifted: Shifted) -> StrokePen:
        """Every stroke of the pieces of a shift, where they lie then."""
        whole = StrokePen()
        for piece, lines in zip(shifted.pieces, self._pens, strict=True):
            whole.strokes += lines.strokes
            whole.begin_piece(piece.code, piece.title)
            draw_words(whole, piece, self._content.labels)
        whole.end_piece()
        return whole.moved(Move(shift=Point(shifted.step, 0.0))) if shifted.step else whole


def to_the_right(area: Any, step: float) -> Any:
    """The paper of a piece (a shapely area) after a shift, on the grid of cut lines again."""
    if not step:
        return area
    return shapely.transform(area, lambda xy: np.round(xy + np.array((step, 0.0)), _GRID))


def _shifted(shapes: Any, step: float) -> Any:
    return shapely.transform(shapes, lambda xy: xy + np.array((step, 0.0))) if step else shapes


def _labelled(piece: Piece, area: Any, grid: Tiling, content: SheetContent, step: float) -> Piece:
    """The piece, its label wished where no page's edge parts its words once it is shifted by
    ``step``, if there is such a place."""
    there = to_the_right(area, step)
    shown = [grid.window(tile) for tile in grid.needed([there])]
    parts = [there.intersection(window) for window in shown]
    parts.sort(key=lambda part: -float(part.area))
    back = Point(-step, 0.0)
    middles = [middle_of(part) + back for part in parts if part.area > _SMALL]
    wishes = [replace(piece, label_at=middle) for middle in middles]
    windows = [_shifted(window, -step) for window in shown]

    best, fewest = piece, inf
    for wish in wishes:
        boxes = [words.box for _, words in lettered(wish, content.labels)]
        parted = sum(not any(window.contains(box) for window in windows) for box in boxes)
        if parted < fewest:
            best, fewest = wish, parted
        if parted == 0:
            break
    return best


#: Home printers leave up to about half a centimetre white; a whole one is safe. Common practice.
_MARGIN = {LengthUnit.CM: 1.0, LengthUnit.INCH: 0.375 * CM_PER_INCH}
_MARGINS, _OVERLAPS = (0.3, 2.0), (0.0, 3.0)
#: The line of words at the head of a page, and the one more of a draft that failed.
HEAD, STAMP = 0.6, 0.8
#: So many more columns than needed are tried, to leave more pages out.
_MORE = 4
#: Pieces are shifted by steps of this to keep the signs clear of lines.
_SHIFT = 0.4
#: Half the widest line, rounded up.
_WIDTH = 0.05


@dataclass(frozen=True, slots=True)
class TilePlan:
    """Everything the pages show and where. ``areas`` is the paper each piece takes, in the order
    of ``pieces``, both as they lie in the whole drawing; ``tiles`` are the pages needed."""

    content: SheetContent
    paper: PaperSize
    margin: float
    unit: LengthUnit
    pieces: tuple[Piece, ...]
    areas: tuple[Any, ...]
    strokes: StrokePen
    grid: Tiling
    tiles: tuple[Tile, ...]
    signs: tuple[Sign, ...]

    def pieces_on(self, tile: Tile) -> tuple[Piece, ...]:
        """The pieces of which a page carries a part."""
        window = self.grid.window(tile)
        return tuple(
            piece
            for piece, area in zip(self.pieces, self.areas, strict=True)
            if area.intersects(window)
        )


def tile_plan(
    content: SheetContent,
    paper: str,
    *,
    margin: float | None = None,
    overlap: float | None = None,
    unit: LengthUnit = LengthUnit.CM,
) -> TilePlan:
    """Part an order into pages, as few as the lays tried allow.

    ``margin`` stays white round each page (1 cm, or 3/8 in for a maker who works in inches),
    ``overlap`` is how far pages lap over each other (the same unless given). Raises
    :class:`DraftError` for a paper, margin or overlap that cannot be used, and as
    :func:`drafting.drawing.drawing.draw_piece` does.
    """
    size = paper_size(paper)
    edge = _MARGIN[unit] if margin is None else margin
    lap = _MARGIN[unit] if overlap is None else overlap
    _check(edge, lap, unit)
    width = size.width - 2 * edge
    height = size.height - 2 * edge - HEAD - (STAMP if content.stamp else 0.0)
    shapes = items(content)
    best: tuple[int, Tiling, Lay] | None = None
    bare = [item.shape for item in shapes]
    wide = widened(bare)
    bounds = [shape.bounds for shape in bare]
    widest = max((x1 - x0 for x0, _, x1, _ in bounds), default=0.0)
    fewest = max(ceil((widest + GAP + 2 * CELL - lap) / (width - lap)), 1)
    for columns in range(fewest, fewest + _MORE + 1):
        for lay in lays(shapes, columns * (width - lap) + lap):
            areas, wides = (
                [moved(one, spot.move) for one, spot in zip(row, lay.spots, strict=True)]
                for row in (bare, wide)
            )
            grid = tiling(width, height, lap, *_extent(areas))
            count = len(grid.touched(wides))
            if best is None or count < best[0]:
                best = count, grid, lay
    assert best is not None
    return _clear_plan(content, size, edge, unit, best[1], laid(content, best[2]))


def _clear_plan(
    content: SheetContent,
    size: PaperSize,
    margin: float,
    unit: LengthUnit,
    grid: Tiling,
    pieces: tuple[Piece, ...],
) -> TilePlan:
    """The plan; where a line runs along a join, so that its sign has no clear place, all pieces are
    shifted to the right a little, as far as the pages have room."""
    shifts = Shifts(content, grid, pieces)
    first = best = shifts.tried(0.0)
    room = grid.size[0] - _extent(shifts.areas)[0]
    step = _SHIFT
    while best.crossed and step < room:
        tried = shifts.tried(step)
        if len(tried.tiles) <= len(first.tiles) and tried.crossed < best.crossed:
            best = tried
        step += _SHIFT
    shift = Move(shift=Point(best.step, 0.0))
    return TilePlan(
        content=content,
        paper=size,
        margin=margin,
        unit=unit,
        pieces=tuple(piece.moved(shift) for piece in best.pieces),
        areas=tuple(to_the_right(area, best.step) for area in shifts.areas),
        strokes=shifts.drawn(best),
        grid=grid,
        tiles=best.tiles,
        signs=best.signs,
    )


def _extent(areas: Sequence[Any]) -> tuple[float, float]:
    """How far areas reach to the right and up, with half a line's width."""
    bounds = [area.bounds for area in areas]
    right = max((b[2] + _WIDTH for b in bounds), default=0.0)
    return right, max((b[3] + _WIDTH for b in bounds), default=0.0)


def _check(margin: float, overlap: float, unit: LengthUnit) -> None:
    problems = [
        Problem(
            f"the {word} cannot be used",
            key=f"paper.{word}",
            got=format_length(value, unit),
            accepted=f"{format_length(low, unit)} to {format_length(high, unit)}",
        )
        for word, value, (low, high) in (
            ("margin", margin, _MARGINS),
            ("overlap", overlap, _OVERLAPS),
        )
        if not low <= value <= high
    ]
    if problems:
        raise DraftError(problems)
