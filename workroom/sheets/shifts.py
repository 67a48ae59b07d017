"""Pieces laid over pages and shifted to the right by a few steps: where their labels go then, which
pages are needed and where the signs of the joins are.

All of it is worked out where the pieces are laid first, the pages moved the other way, so that cut
lines, words beside lines and the room for labels are found once for all shifts. Centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import Any

import numpy as np
import shapely

from drafting.drawing import draw_lines, draw_words
from drafting.labelling import lettered
from drafting.lettering import middle_of
from drafting.pieces import Piece
from drafting.points import Move, Point
from workroom.sheets.content import SheetContent
from workroom.sheets.join_signs import Sign, kept_clear, signs
from workroom.sheets.laid_pieces import paper_area
from workroom.sheets.strokes import StrokePen
from workroom.sheets.tiles import Tile, Tiling, joins, widened

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

    Raises :class:`DraftError` as :func:`drafting.drawing.draw_piece` does.
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
