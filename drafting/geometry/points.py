"""Points and directions on the drafting table. Centimetres, x to the right, y up; angles in
radians, counter-clockwise positive."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import atan2, cos, hypot, sin
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
#: An array, a number a body, where one body has a float: rules written for floats take it too.
Many = Any
#: Directions whose sine is below this are parallel.
PARALLEL = 1e-12


@dataclass(frozen=True, slots=True)
class Point:
    """A point, or the step between two points, in centimetres.

    Where many bodies are drafted at once the coordinates are arrays, a number a body, and so is
    whatever is measured: the same rules then draft them all.
    """

    x: float
    y: float

    def __add__(self, other: Point) -> Point:
        return Point(self.x + other.x, self.y + other.y)

    def __sub__(self, other: Point) -> Point:
        return Point(self.x - other.x, self.y - other.y)

    def __mul__(self, factor: float) -> Point:
        return Point(self.x * factor, self.y * factor)

    __rmul__ = __mul__

    def __neg__(self) -> Point:
        return Point(-self.x, -self.y)

    def __abs__(self) -> float:
        return _hypot(self.x, self.y)

    def __iter__(self) -> Iterator[float]:
        yield self.x
        yield self.y

    @property
    def angle(self) -> float:
        """Direction of this step in radians from the x axis, in (-pi, pi]."""
        if isinstance(self.x, np.ndarray):
            many: Many = np.arctan2(self.y, self.x)
            return cast(float, many)
        return atan2(self.y, self.x)

    @property
    def unit(self) -> Point:
        """The step one centimetre long. Raises ``ZeroDivisionError`` for no step at all."""
        size = abs(self)
        return Point(self.x / size, self.y / size)

    @property
    def left(self) -> Point:
        """The step turned a quarter to the left."""
        return Point(-self.y, self.x)

    @property
    def right(self) -> Point:
        """The step turned a quarter to the right."""
        return Point(self.y, -self.x)

    def dot(self, other: Point) -> float:
        """Scalar product."""
        return self.x * other.x + self.y * other.y

    def cross(self, other: Point) -> float:
        """Signed area spanned; positive when ``other`` lies to the left."""
        return self.x * other.y - self.y * other.x

    def to(self, other: Point) -> float:
        """Distance to another point."""
        return _hypot(other.x - self.x, other.y - self.y)

    def towards(self, other: Point, fraction: float) -> Point:
        """The point ``fraction`` of the way to ``other``."""
        return Point(self.x + (other.x - self.x) * fraction, self.y + (other.y - self.y) * fraction)

    def turned(self, angle: float, centre: Point | None = None) -> Point:
        """This point turned by ``angle`` about ``centre`` (the origin when none is given)."""
        c, s = direction(angle)
        at = centre or Point(0.0, 0.0)
        dx, dy = self.x - at.x, self.y - at.y
        return Point(at.x + c * dx - s * dy, at.y + s * dx + c * dy)


def _hypot(x: float, y: float) -> float:
    if isinstance(x, np.ndarray):
        many: Many = np.hypot(x, y)
        return cast(float, many)
    return hypot(x, y)


def direction(angle: float) -> Point:
    """The step of one centimetre in a direction (radians)."""
    if isinstance(angle, np.ndarray):
        return Point(np.cos(angle), np.sin(angle))
    return Point(cos(angle), sin(angle))


def crossing(p: Point, along_p: Point, q: Point, along_q: Point) -> Point | None:
    """Where two straight lines cross, each by a point and a direction; ``None`` if parallel."""
    across = along_p.cross(along_q)
    if abs(across) < PARALLEL * max(abs(along_p) * abs(along_q), 1e-300):
        return None
    return p + along_p * ((q - p).cross(along_q) / across)


def array(points: Iterable[Point]) -> FloatArray:
    """Points as an array of shape (n, 2)."""
    return np.array([(p.x, p.y) for p in points], dtype=np.float64).reshape(-1, 2)


@dataclass(frozen=True, slots=True)
class Move:
    """A rigid move of the table: turn by ``angle`` about the origin, perhaps mirrored first
    (x to -x), then shift by ``shift``. Lengths and angles are kept."""

    angle: float = 0.0
    shift: Point = Point(0.0, 0.0)
    mirrored: bool = False

    @staticmethod
    def about(centre: Point, angle: float) -> Move:
        """A turn about a point."""
        return Move(angle, centre - centre.turned(angle))

    @staticmethod
    def carrying(a: Point, b: Point, to_a: Point, to_b: Point) -> Move:
        """The move that lays ``a`` on ``to_a`` and the direction a-b on to_a-to_b."""
        angle = (to_b - to_a).angle - (b - a).angle
        return Move(angle, to_a - a.turned(angle))

    def __call__(self, p: Point) -> Point:
        """A point moved."""
        start = Point(-p.x, p.y) if self.mirrored else p
        return start.turned(self.angle) + self.shift

    def step(self, p: Point) -> Point:
        """A direction moved along (turned and mirrored, not shifted)."""
        return (Point(-p.x, p.y) if self.mirrored else p).turned(self.angle)

    def apply(self, xy: FloatArray) -> FloatArray:
        """An array of points, shape (n, 2), moved."""
        c, s = cos(self.angle), sin(self.angle)
        x = -xy[:, 0] if self.mirrored else xy[:, 0]
        y = xy[:, 1]
        return np.column_stack((c * x - s * y + self.shift.x, s * x + c * y + self.shift.y))

    def then(self, after: Move) -> Move:
        """This move followed by another."""
        turn = -self.angle if after.mirrored else self.angle
        return Move(turn + after.angle, after(self.shift), self.mirrored != after.mirrored)

    @property
    def back(self) -> Move:
        """The move that undoes this one."""
        angle = self.angle if self.mirrored else -self.angle
        undo = Move(angle, Point(0.0, 0.0), self.mirrored)
        return Move(angle, -undo(self.shift), self.mirrored)
