"""The signs where two pages meet: half on each page, whole only when the right two pages lie edge
to edge. Centimetres.

Our own: every join has its own name, written on both pages; its own place along the edge, which no
other join of the same direction has while there are places left; and one of four shapes. A page
in the wrong place shows another name, and its half meets no other half.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from drafting.curves import Curve, line, polyline
from drafting.pens import Pen
from drafting.points import Move, Point
from drafting.signs import Ink
from workroom.sheets.pdf_pen import circle
from workroom.sheets.pdf_words import width_of
from workroom.sheets.tiles import Join, Shapes, Tiling

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
