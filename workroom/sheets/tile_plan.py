"""How an order is parted into pages for a home printer. Centimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

from drafting.errors import DraftError, Problem
from drafting.pieces import Piece
from drafting.points import Move, Point
from drafting.units import CM_PER_INCH, LengthUnit, format_length
from workroom.sheets.content import SheetContent
from workroom.sheets.join_signs import Sign
from workroom.sheets.laid_pieces import items, laid, moved
from workroom.sheets.nesting import CELL, GAP, Lay, lays
from workroom.sheets.paper_sizes import PaperSize, paper_size
from workroom.sheets.shifts import Shifts, to_the_right
from workroom.sheets.strokes import StrokePen
from workroom.sheets.tiles import Tile, Tiling, tiling, widened

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
