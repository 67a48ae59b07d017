"""The pieces of an order where they lie on paper, turned so that little is wasted."""

from __future__ import annotations

from math import cos, sin
from typing import Any

import shapely
from shapely import affinity

from drafting.cutting import cut_line
from drafting.errors import DraftError
from drafting.pieces import Piece
from drafting.points import Move
from workroom.sheets.content import SheetContent
from workroom.sheets.nesting import Item, Lay, Spot


def paper_area(piece: Piece) -> Any:
    """The paper a piece takes, a shapely area: to its cut line, or to its sew line when a failed
    draft has no cut line."""
    try:
        return cut_line(piece).polygon()
    except DraftError:
        # a sew line that crosses itself: keep clear of all of it
        return shapely.Polygon(piece.outline()).convex_hull


def items(content: SheetContent) -> tuple[Item, ...]:
    """The pieces as shapes to lay."""
    return tuple(Item(paper_area(piece)) for piece in content.pieces)


def moved(shape: Any, move: Move) -> Any:
    """A shapely shape after a move that is not a mirroring."""
    c, s = cos(move.angle), sin(move.angle)
    return affinity.affine_transform(shape, [c, -s, s, c, move.shift.x, move.shift.y])


def laid(content: SheetContent, lay: Lay, sheet: int = 0) -> tuple[Piece, ...]:
    """The pieces of a sheet, moved to where they lie. Later spots of a lay may be no pieces."""
    spots: tuple[Spot, ...] = lay.spots[: len(content.pieces)]
    return tuple(
        piece.moved(spot.move)
        for piece, spot in zip(content.pieces, spots, strict=True)
        if spot.sheet == sheet
    )
