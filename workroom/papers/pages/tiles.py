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

from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve, line, polyline
from drafting.geometry.points import Move, Point
from workroom.papers.pdf.pen import circle, width_of

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


# ---- The signs where two pages meet: half on each page, whole only when the right two pages lie
# edge to edge. Centimetres

_RADIUS, _LETTERS, _GAP = 0.4, 0.24, 0.12
#: Places along an edge are this far apart: more than a sign can be mislaid by and still look whole.
_STEP = 0.5
#: Signs keep this far from the ends of an edge.
_END = 1.3
_GOLDEN = 0.618034


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign: its join, where its middle lies on the line of the join, and its ``shape`` (0 to
    3)."""

    join: Join
    at: Point
    shape: int

    @property
    def box(self) -> Any:
        """The paper it covers on both pages together, names included, a shapely area."""
        name = width_of(self.join.name, _LETTERS)
        if self.join.upright:
            reach = _RADIUS + _GAP + name
            sides = (-reach, -_RADIUS, reach, _RADIUS)
        else:
            sides = (-_RADIUS, -_RADIUS, _RADIUS + _GAP + name, _RADIUS)
        x0, y0, x1, y1 = sides
        return shapely.box(self.at.x + x0, self.at.y + y0, self.at.x + x1, self.at.y + y1)

    def half(self, *, first: bool) -> tuple[Curve, ...]:
        """The strokes on the first page (left or upper) or on the second, which is their image
        turned by half a turn."""
        if self.join.upright:
            angle = 0.0 if first else np.pi
        else:
            angle = -np.pi / 2 if first else np.pi / 2
        move = Move(float(angle), self.at)
        return tuple(stroke.moved(move) for stroke in _LEFT_HALVES[self.shape])

    def draw(self, pen: Pen, *, first: bool) -> None:
        """The half and the name for one of the two pages."""
        for stroke in self.half(first=first):
            pen.curve(Ink.DRILL, stroke)
        if self.join.upright:
            across = -_RADIUS - _GAP - width_of(self.join.name, _LETTERS)
            at = Point(across if first else _RADIUS + _GAP, -_LETTERS / 2)
        else:
            at = Point(_RADIUS + _GAP, _GAP if first else -_GAP - _LETTERS)
        pen.text(Ink.TEXT, self.at + at, self.join.name, _LETTERS)


def kept_clear(strokes: Shapes) -> NDArray[Any]:
    """The paper round strokes (shapely shapes) that signs keep clear of."""
    return np.asarray(shapely.buffer(np.array(strokes, dtype=object), _GAP, quad_segs=16))


def signs(grid: Tiling, joins: Sequence[Join], clear: Shapes) -> tuple[Sign, ...]:
    """A sign for every join, where it touches nothing that is to be kept ``clear`` if there is
    such a place."""
    covered = shapely.STRtree(clear)
    used: dict[bool, set[int]] = {True: set(), False: set()}
    found: list[Sign] = []
    for number, join in enumerate(joins):
        places = _places(grid, join)
        start = int(number * _GOLDEN * len(places)) % len(places)
        turn = [(start + k) % len(places) for k in range(len(places))]
        free = [k for k in turn if k not in used[join.upright]] or turn
        choice = _best(join, number % 4, [(k, places[k]) for k in free], covered, found)
        used[join.upright].add(choice[0])
        found.append(choice[1])
    return tuple(found)


def _best(
    join: Join,
    shape: int,
    places: list[tuple[int, Point]],
    covered: shapely.STRtree,
    others: list[Sign],
) -> tuple[int, Sign]:
    """The first place where nothing is crossed, else the one where least is."""
    tried = [(slot, Sign(join, at, shape)) for slot, at in places]
    boxes = [other.box for other in others]

    def free(one: tuple[int, Sign]) -> bool:
        box = one[1].box
        return not any(box.intersects(other) for other in boxes)

    def crossed(one: tuple[int, Sign]) -> tuple[bool, float]:
        box = one[1].box
        met = covered.geometries.take(covered.query(box, predicate="intersects"))
        return len(met) > 0, float(shapely.union_all(met).intersection(box).area)

    for one in tried:
        if free(one) and not len(covered.query(one[1].box, predicate="intersects")):
            return one
    return min(list(filter(free, tried)) or tried, key=crossed)


def _places(grid: Tiling, join: Join) -> list[Point]:
    """Places along a join, clear of the strips at its ends that lie under other pages."""
    strip = grid.overlap
    if join.upright:
        low, high = join.start.y + strip + _END, join.end.y - _END
        return [Point(join.start.x, float(y)) for y in np.arange(low, high, _STEP)]
    name = width_of(join.name, _LETTERS)
    low, high = join.start.x + _END, join.end.x - strip - _END - name
    return [Point(float(x), join.start.y) for x in np.arange(low, high, _STEP)]


def _left_halves() -> tuple[tuple[Curve, ...], ...]:
    """The four shapes, their left halves, with the half of a stroke through the middle."""
    r = _RADIUS
    middle = line(Point(-r, 0.0), Point(0.0, 0.0))
    round_half = circle(Point(0.0, 0.0), r)[1:3]
    corners = (
        ((0.0, r), (-r, 0.0), (0.0, -r)),
        ((0.0, r), (-r, r), (-r, -r), (0.0, -r)),
        ((0.0, r), (-r, r), (-r / 3, 0.0), (-r, -r), (0.0, -r)),
    )
    shapes = [round_half, *((polyline([Point(x, y) for x, y in row]),) for row in corners)]
    return tuple((*shape, middle) for shape in shapes)


_LEFT_HALVES = _left_halves()
