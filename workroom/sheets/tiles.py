"""A large drawing parted into pages: which page shows what, which are needed, and where two pages
meet. Centimetres; the drawing's lower left corner is the origin, rows are counted from the top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil
from string import ascii_uppercase
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from drafting.points import Point

#: Shapely shapes.
Shapes = Sequence[Any] | NDArray[Any]
#: Half the widest line, rounded up: a line this near the edge of a page shows on it.
_WIDTH = 0.05


@dataclass(frozen=True, slots=True, order=True)
class Tile:
    """A page by its place: ``row`` from the top, ``column`` from the left, both from 0."""

    row: int
    column: int

    @property
    def name(self) -> str:
        """Row letter and column number: ``A1``; after ``Z`` comes ``AA``."""
        letters, rest = "", self.row + 1
        while rest:
            rest, last = divmod(rest - 1, 26)
            letters = ascii_uppercase[last] + letters
        return f"{letters}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """Windows ``width`` by ``height``, each ``overlap`` into the next; ``rows`` by ``columns``."""

    width: float
    height: float
    overlap: float
    rows: int
    columns: int

    @property
    def across(self) -> float:
        """From one window to the next."""
        return self.width - self.overlap

    @property
    def along(self) -> float:
        """From one row to the next."""
        return self.height - self.overlap

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of all windows laid together."""
        return (
            self.columns * self.across + self.overlap,
            self.rows * self.along + self.overlap,
        )

    def corner(self, tile: Tile) -> Point:
        """Lower left corner of a window."""
        return Point(tile.column * self.across, (self.rows - 1 - tile.row) * self.along)

    def window(self, tile: Tile) -> Any:
        """All that a page shows."""
        low = self.corner(tile)
        return shapely.box(low.x, low.y, low.x + self.width, low.y + self.height)

    def own(self, tile: Tile) -> Any:
        """What no other page need show: the window less the strips at its right and lower edge
        that lie under the next pages."""
        low = self.corner(tile)
        last = tile.column == self.columns - 1, tile.row == self.rows - 1
        return shapely.box(
            low.x,
            low.y if last[1] else low.y + self.overlap,
            low.x + (self.width if last[0] else self.across),
            low.y + self.height,
        )

    def needed(self, areas: Sequence[Any]) -> tuple[Tile, ...]:
        """The pages that carry part of any area, in reading order."""
        return self.touched(widened(areas))

    def touched(self, wide: Shapes) -> tuple[Tile, ...]:
        """The same for areas that are :func:`widened` already."""
        places = list(product(range(self.rows), range(self.columns)))
        own = [self.own(Tile(*place)) for place in places]
        found = np.unique(shapely.STRtree(wide).query(own, predicate="intersects")[0])
        return tuple(Tile(*places[k]) for k in found)


def widened(areas: Shapes) -> NDArray[Any]:
    """Areas with all the paper that the lines along their edges cover."""
    return np.asarray(shapely.buffer(np.array(areas, dtype=object), _WIDTH, quad_segs=16))


def tiling(width: float, height: float, overlap: float, across: float, along: float) -> Tiling:
    """As few windows as hold a drawing that reaches ``across`` and ``along`` from the origin."""
    columns, rows = (
        max(ceil((reach - overlap) / (side - overlap) - 1e-9), 1)
        for reach, side in ((across, width), (along, height))
    )
    return Tiling(width, height, overlap, rows, columns)


@dataclass(frozen=True, slots=True)
class Join:
    """Where two pages meet: ``second`` lies to the right of ``first`` or below it, and its edge is
    laid on the line from ``start`` to ``end``."""

    first: Tile
    second: Tile
    start: Point
    end: Point

    @property
    def name(self) -> str:
        """Both pages: ``A1-A2``."""
        return f"{self.first.name}-{self.second.name}"

    @property
    def upright(self) -> bool:
        """Whether the pages lie side by side."""
        return self.first.row == self.second.row


def joins(grid: Tiling, tiles: Sequence[Tile]) -> tuple[Join, ...]:
    """Every pair of neighbours among the pages, in reading order."""
    there = set(tiles)
    found = []
    for tile in tiles:
        low = grid.corner(tile)
        right, below = Tile(tile.row, tile.column + 1), Tile(tile.row + 1, tile.column)
        if right in there:
            x = low.x + grid.across
            found.append(Join(tile, right, Point(x, low.y), Point(x, low.y + grid.height)))
        if below in there:
            y = low.y + grid.overlap
            found.append(Join(tile, below, Point(low.x, y), Point(low.x + grid.width, y)))
    return tuple(found)
