"""Lettering: how wide words are, words beside a line, and a block of lines laid where a piece has
room for it. Letter heights are those of a capital, in centimetres; angles in radians."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from math import pi
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from drafting.geometry.points import FloatArray, Point, direction
from drafting.memo import memo_by_identity

#: How far letters reach, in heights of a capital: a little more than plain sans serif letters
#: need (measured on one with wide letters), so that words stay in their place in any such font.
_WIDTHS = dict.fromkeys("iljtfrI.,:;'|!()[]/ ·-", 0.5) | dict.fromkeys("mwMW%@…—", 1.42)
_CAPITAL, _FIGURE, _OTHER, _WIDE = 1.08, 0.9, 0.87, 1.7
#: Base line to base line, in letter heights.
LINE_STEP = 1.75
#: Letters below this cannot be read at arm's length; common practice (about 7 points).
SMALLEST = 0.2
_GRID = 15
_SHRINK = 0.9
#: A less usual shape or slant must give letters this much larger.
_BETTER = 1.2
#: Distances are known to this; so many places are tried at once.
_ROUNDING, _AT_ONCE = 1e-9, 64


@dataclass(frozen=True, slots=True)
class Written:
    """One line of text: its base line starts at ``at`` and runs in the direction ``angle``."""

    at: Point
    words: str
    height: float
    angle: float = 0.0

    @property
    def box(self) -> Any:
        """The paper it covers, a shapely polygon (tails of letters included)."""
        along, up = direction(self.angle), direction(self.angle).left
        low, high = self.at - up * (0.35 * self.height), self.at + up * (1.15 * self.height)
        across = along * text_width(self.words, self.height)
        return shapely.Polygon([tuple(low), tuple(low + across), tuple(high + across), tuple(high)])


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of text that stay together, each with its letter height as a share of the block's."""

    lines: tuple[tuple[str, float], ...]

    def size(self, height: float) -> tuple[float, float]:
        """Width and height of the block when a share of 1 is ``height`` high."""
        width = max(text_width(words, share * height) for words, share in self.lines)
        tall = sum(share for _, share in self.lines) * LINE_STEP * height
        return width, tall

    def written(self, centre: Point, height: float, angle: float) -> tuple[Written, ...]:
        """The lines, the block's middle at ``centre``."""
        width, tall = self.size(height)
        along, up = direction(angle), direction(angle).left
        top = centre + up * (tall / 2) - along * (width / 2)
        lines = []
        for words, share in self.lines:
            letters = share * height
            top = top - up * (LINE_STEP * letters)
            base = top + up * (0.4 * letters)
            lines.append(Written(base, words, letters, angle))
        return tuple(lines)


@lru_cache(maxsize=4096)
def one_line(words: str) -> str:
    """Words on one line: line breaks, other control characters, direction overrides and broken
    characters become spaces, runs of spaces one."""
    kept = "".join(
        " " if unicodedata.category(c) in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp") or c in _TURNS else c
        for c in words
    )
    return " ".join(kept.split())


def shortened(words: str, longest: int) -> str:
    """Words on one line of at most so many characters; an ellipsis stands for the rest."""
    plain = one_line(words)
    return plain if len(plain) <= longest else plain[: longest - 1].rstrip() + "…"


_TURNS = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")


@lru_cache(maxsize=4096)
def text_width(words: str, height: float) -> float:
    """How long a line of text may get; wide scripts count double, marks above letters nothing."""
    return sum(map(_letter, unicodedata.normalize("NFC", words))) * height


@lru_cache(maxsize=4096)
def _letter(c: str) -> float:
    if unicodedata.combining(c):
        return 0.0
    if unicodedata.east_asian_width(c) in ("W", "F"):
        return _WIDE
    plain = unicodedata.normalize("NFD", c)[0]
    if plain in _WIDTHS:
        return _WIDTHS[plain]
    if plain.isdigit():
        return _FIGURE
    return _CAPITAL if plain.isupper() else _OTHER


def readable(angle: float) -> float:
    """The same slant, turned so that a reader's head need not: within (-90, 90] degrees."""
    turned = (angle + pi / 2) % pi - pi / 2
    return pi / 2 if turned < -pi / 2 + 1e-9 else turned


def beside(
    middle: Point, along: Point, side: Point, words: str, height: float, gap: float
) -> Written:
    """Words along a line, centred on ``middle``, ``gap`` away on the side ``side`` points to."""
    angle = readable(along.angle)
    reading = direction(angle)
    out = along.unit.left if along.left.dot(side) > 0 else along.unit.right
    clear = gap if out.dot(reading.left) > 0 else gap + height
    start = middle + out * clear - reading * (text_width(words, height) / 2)
    return Written(start, words, height, angle)


def settled(
    room: Any,
    blocks: Sequence[Block],
    angles: Sequence[float],
    largest: float,
    near: Point | None = None,
) -> tuple[Written, ...]:
    """The block and the slant that give the largest letters inside ``room`` (a shapely area),
    as close as can be to ``near`` or to where there is most room; nothing when none fits.

    Earlier blocks and angles are preferred until a later one gives letters a fifth larger.
    """
    if room.area == 0.0:
        return ()
    known = _room(room)
    wanted = near or known.middle
    best: tuple[float, Block, float, Point] | None = None
    for angle in angles:
        if best is not None and largest < _BETTER * best[0]:
            break  # no letters can be so much larger
        turned = known.turned(-angle)
        spots = turned.near(wanted.turned(-angle))
        for block in blocks:
            sizes = _sizes(largest, SMALLEST if best is None else _BETTER * best[0])
            found = _largest(turned.room, spots, block, sizes)
            if found is not None:
                best = (found[0], block, angle, found[1].turned(angle))
    if best is None:
        return ()
    height, block, angle, centre = best
    return block.written(centre, height, angle)


def middle_of(area: Any) -> Point:
    """Where an area has most room round: the centre of the largest circle in it."""
    parts = [part for part in shapely.get_parts(area) if isinstance(part, shapely.Polygon)]
    whole = max(parts, key=lambda part: float(part.area))
    centre = shapely.maximum_inscribed_circle(whole, tolerance=0.05).coords[0]
    return Point(float(centre[0]), float(centre[1]))


def long_way(area: Any) -> float:
    """The readable angle of an area's longer side."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))
    if len(corners) < 4:
        return 0.0
    sides = np.diff(corners[:3], axis=0)
    x, y = sides[int(np.argmax(np.hypot(*sides.T)))]
    return readable(float(np.arctan2(y, x)))


def _sizes(largest: float, smallest: float) -> list[float]:
    """Letter heights from the largest down, none below the smallest."""
    sizes = []
    while largest >= smallest:
        sizes.append(largest)
        largest *= _SHRINK
    return sizes


@dataclass(frozen=True, slots=True, eq=False)
class _Spots:
    """Places inside a room where a block's middle may come to lie, and how far each is from the
    room's edge."""

    at: FloatArray
    clear: FloatArray


def _largest(
    room: Any, spots: _Spots, block: Block, sizes: list[float]
) -> tuple[float, Point] | None:
    # sizes fall, so whatever fits at one place fits at all later ones
    last = _fits(room, spots, block.size(sizes[-1])) if sizes else None
    if last is None:
        return None
    found, low, high = (sizes[-1], last), 0, len(sizes) - 1
    while low < high:
        here = (low + high) // 2
        place = _fits(room, spots, block.size(sizes[here]))
        if place is None:
            low = here + 1
        else:
            found, high = (sizes[here], place), here
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """A room turned, its ``edge``, and places all over it."""

    room: Any
    edge: Any
    spots: _Spots

    @staticmethod
    def of(room: Any, angle: float) -> _Turned:
        """A room turned by an angle."""
        room = affinity.rotate(room, angle, origin=(0.0, 0.0), use_radians=True)
        edge = room.boundary
        shapely.prepare(room)
        shapely.prepare(edge)
        x0, y0, x1, y1 = room.bounds
        x, y = np.meshgrid(np.linspace(x0, x1, 2 * _GRID + 1), np.linspace(y0, y1, 2 * _GRID + 1))
        return _Turned(room, edge, _inside(room, edge, np.column_stack((x.ravel(), y.ravel()))))

    def near(self, target: Point) -> _Spots:
        """Places to try, ``target`` among them, the nearest to it first."""
        wished = _inside(self.room, self.edge, np.array([tuple(target)]))
        at = np.vstack((wished.at, self.spots.at))
        order = np.argsort(np.hypot(*(at - tuple(target)).T), kind="stable")
        return _Spots(at[order], np.concatenate((wished.clear, self.spots.clear))[order])


def _inside(room: Any, edge: Any, places: FloatArray) -> _Spots:
    inside = places[shapely.contains_xy(room, *places.T)]
    return _Spots(inside, np.asarray(shapely.distance(edge, shapely.points(inside))))


@dataclass(frozen=True, eq=False)
class _Room:
    """What is found out about a room, whatever is written in it."""

    whole: Any
    _ways: dict[float, _Turned] = field(default_factory=dict)

    @cached_property
    def middle(self) -> Point:
        """Where there is most room."""
        return middle_of(self.whole)

    def turned(self, angle: float) -> _Turned:
        """The room turned by an angle."""
        if angle not in self._ways:
            self._ways[angle] = _Turned.of(self.whole, angle)
        return self._ways[angle]


@memo_by_identity(32)
def _room(area: Any) -> _Room:
    return _Room(area.simplify(0.02))


def _fits(room: Any, spots: _Spots, size: tuple[float, float]) -> Point | None:
    """The first place where a block of a size lies inside the room."""
    half = np.array(size) / 2
    possible = spots.at[spots.clear > half.min() - _ROUNDING]
    for first in range(0, len(possible), _AT_ONCE):
        some = possible[first : first + _AT_ONCE]
        boxes = shapely.box(*(some - half).T, *(some + half).T)
        good = np.flatnonzero(shapely.contains_properly(room, boxes))
        if len(good):
            return Point(*some[good[0]].tolist())
    return None
