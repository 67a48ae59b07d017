"""How an order is parted into pages for a home printer. Centimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, inf
from typing import Any

import shapely

from drafting.errors import DraftError, Problem
from drafting.labelling import lettered
from drafting.lettering import middle_of
from drafting.pieces import Piece
from drafting.points import Move, Point
from drafting.units import CM_PER_INCH, LengthUnit, format_length
from workroom.sheets.content import SheetContent
from workroom.sheets.join_signs import Sign, signs
from workroom.sheets.laid_pieces import drawn, items, laid, moved, paper_area
from workroom.sheets.nesting import CELL, GAP, Lay, lays
from workroom.sheets.paper_sizes import PaperSize, paper_size
from workroom.sheets.strokes import StrokePen
from workroom.sheets.tiles import Tile, Tiling, joins, tiling

#: Home printers leave up to about half a centimetre white; a whole one is safe. Common practice.
_MARGIN = {LengthUnit.CM: 1.0, LengthUnit.INCH: 0.375 * CM_PER_INCH}
_MARGINS, _OVERLAPS = (0.3, 2.0), (0.0, 3.0)
#: The line of words at the head of a page, and the one more of a draft that failed.
HEAD, STAMP = 0.6, 0.8
#: So many more columns than needed are tried, to leave more pages out.
_MORE = 4
#: Parts of a piece below this (square cm) have no room for its label.
_SMALL = 4.0
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
    :func:`drafting.drawing.draw_piece` does.
    """
    size = paper_size(paper)
    edge = _MARGIN[unit] if margin is None else margin
    lap = _MARGIN[unit] if overlap is None else overlap
    _check(edge, lap, unit)
    width = size.width - 2 * edge
    height = size.height - 2 * edge - HEAD - (STAMP if content.stamp else 0.0)
    shapes = items(content)
    best: tuple[int, Tiling, Lay] | None = None
    bounds = [item.shape.bounds for item in shapes]
    widest = max((x1 - x0 for x0, _, x1, _ in bounds), default=0.0)
    fewest = max(ceil((widest + GAP + 2 * CELL - lap) / (width - lap)), 1)
    for columns in range(fewest, fewest + _MORE + 1):
        for lay in lays(shapes, columns * (width - lap) + lap):
            areas = [
                moved(item.shape, spot.move) for item, spot in zip(shapes, lay.spots, strict=True)
            ]
            grid = tiling(width, height, lap, *_extent(areas))
            count = len(grid.needed(areas))
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
    pieces: Sequence[Piece],
) -> TilePlan:
    """The plan; where a line runs along a join, so that its sign has no clear place, all pieces are
    shifted to the right a little, as far as the pages have room."""
    first = plan = _planned(content, size, margin, unit, grid, pieces)
    room = grid.size[0] - _extent(first.areas)[0]
    step = _SHIFT
    while _crossed(plan) and step < room:
        shift = Move(shift=Point(step, 0.0))
        tried = _planned(content, size, margin, unit, grid, [p.moved(shift) for p in pieces])
        if len(tried.tiles) <= len(first.tiles) and _crossed(tried) < _crossed(plan):
            plan = tried
        step += _SHIFT
    return plan


def _crossed(plan: TilePlan) -> int:
    """How many signs stand over a line."""
    drawing = shapely.union_all([stroke.shape for stroke in plan.strokes.strokes])
    shapely.prepare(drawing)
    return sum(drawing.intersects(sign.box) for sign in plan.signs)


def _extent(areas: Sequence[Any]) -> tuple[float, float]:
    """How far areas reach to the right and up, with half a line's width."""
    bounds = [area.buffer(_WIDTH).bounds for area in areas]
    return max((b[2] for b in bounds), default=0.0), max((b[3] for b in bounds), default=0.0)


def _planned(
    content: SheetContent,
    size: PaperSize,
    margin: float,
    unit: LengthUnit,
    grid: Tiling,
    pieces: Sequence[Piece],
) -> TilePlan:
    areas = tuple(paper_area(piece) for piece in pieces)
    kept = tuple(
        _labelled(piece, area, grid, content) for piece, area in zip(pieces, areas, strict=True)
    )
    strokes = drawn(kept, content)
    shapes = [stroke.shape for stroke in strokes.strokes]
    tiles = grid.needed((*areas, *shapes))
    return TilePlan(
        content=content,
        paper=size,
        margin=margin,
        unit=unit,
        pieces=kept,
        areas=areas,
        strokes=strokes,
        grid=grid,
        tiles=tiles,
        signs=signs(grid, joins(grid, tiles), shapes),
    )


def _labelled(piece: Piece, area: Any, grid: Tiling, content: SheetContent) -> Piece:
    """The piece, its label wished where no page's edge parts its words, if there is such a
    place."""
    windows = [grid.window(tile) for tile in grid.needed([area])]
    parts = [area.intersection(window) for window in windows]
    parts.sort(key=lambda part: -float(part.area))
    wishes = [replace(piece, label_at=middle_of(part)) for part in parts if part.area > _SMALL]

    best, fewest = piece, inf
    for wish in wishes:
        boxes = [words.box for _, words in lettered(wish, content.labels)]
        parted = sum(not any(window.contains(box) for window in windows) for box in boxes)
        if parted < fewest:
            best, fewest = wish, parted
        if parted == 0:
            break
    return best


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
