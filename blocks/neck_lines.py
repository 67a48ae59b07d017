"""The lines of a neck in space: a closed ring, and a straight line up from every place of it.

Half of it, from the back neck point (angle 0) over the side (a quarter turn) to the front neck
point (half a turn); x to the client's right, y forward, z up. Integrals along the ring are taken by
Gauss-Legendre on panels. Centimetres and radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, sin

import numpy as np

from drafting.points import FloatArray

_PANELS, _POINTS = 6, 10
_AT, _WEIGHTS = np.polynomial.legendre.leggauss(_POINTS)


def _upto() -> FloatArray:
    """Weights that integrate over one panel from its start to each of its nodes."""
    legendre = np.polynomial.legendre
    table = np.linalg.inv(legendre.legvander(_AT, _POINTS - 1))
    rows = [legendre.legval(_AT, legendre.legint(column, lbnd=-1.0)) for column in table.T]
    return np.asarray(np.column_stack(rows), dtype=np.float64)


_UPTO = _upto()
_ENDS = np.linspace(0.0, pi, 2 * _PANELS + 1)
_HALF = 0.5 * np.diff(_ENDS)[:, None]
#: Angles round the half ring at which is integrated, and the weight of each.
TURN = ((0.5 * (_ENDS[:-1] + _ENDS[1:]))[:, None] + _HALF * _AT).ravel()
STEP = (_HALF * _WEIGHTS).ravel()


@dataclass(frozen=True)
class Lines:
    """Ring and lines at angles ``turn`` round it: places, unit directions, and by how much both
    change with the angle; ``bend`` is the change of the ring's ``slope``."""

    turn: FloatArray
    ring: FloatArray
    slope: FloatArray
    bend: FloatArray
    line: FloatArray
    line_slope: FloatArray

    @cached_property
    def speed(self) -> FloatArray:
        """Step along the ring."""
        return np.asarray(np.linalg.norm(self.slope, axis=1))

    @cached_property
    def tangent(self) -> FloatArray:
        """Direction along the ring."""
        return np.asarray(self.slope / self.speed[:, None])

    @cached_property
    def shares(self) -> FloatArray:
        """Share of the half ring run; only at the nodes of integration."""
        return np.asarray(_run(self.speed) / (self.speed @ STEP))

    @cached_property
    def square(self) -> FloatArray:
        """Height over the ring, square to it, of one centimetre up the line."""
        return np.asarray(np.sqrt(1.0 - self._along**2))

    @cached_property
    def square_slope(self) -> FloatArray:
        """Change of ``square`` with the angle."""
        turned = (self.bend - (self.bend * self.tangent).sum(axis=1)[:, None] * self.tangent) / (
            self.speed[:, None]
        )
        change = (turned * self.line + self.tangent * self.line_slope).sum(axis=1)
        return np.asarray(-self._along * change / self.square)

    @cached_property
    def _along(self) -> FloatArray:
        return np.asarray((self.tangent * self.line).sum(axis=1))

    def lengths(self, up: FloatArray | float, slope: FloatArray | float = 0.0) -> FloatArray:
        """Step along the curve ``up`` the lines, where that height changes by ``slope``."""
        up = np.broadcast_to(up, self.turn.shape)[:, None]
        rises = np.broadcast_to(slope, self.turn.shape)[:, None]
        return np.asarray(
            np.linalg.norm(self.slope + up * self.line_slope + rises * self.line, axis=1)
        )


def _run(speed: FloatArray) -> FloatArray:
    """Lengths from centre back to every node."""
    panels = speed.reshape(-1, _POINTS)
    whole = (panels @ _WEIGHTS) * _HALF[:, 0]
    before = np.r_[0.0, np.cumsum(whole)[:-1]]
    return np.asarray((before[:, None] + _HALF * (panels @ _UPTO.T)).ravel())


def through(back: float, side: float, front: float) -> FloatArray:
    """The terms c0 + c1 cos t + c2 cos 2t that have these values at t = 0, a quarter and a half
    turn. They are level across the middle, so both halves of the ring run on without a corner."""
    even = (back + front) / 2.0
    return np.array([(even + side) / 2.0, (back - front) / 2.0, (even - side) / 2.0])


def _slopes(terms: FloatArray, turn: FloatArray) -> FloatArray:
    return np.asarray(-terms[1] * np.sin(turn) - 2.0 * terms[2] * np.sin(2.0 * turn))


def ring_slope(
    half_width: float, forward: FloatArray, upward: FloatArray, turn: FloatArray
) -> FloatArray:
    """By how much the ring's place changes with the angle, at angles round it."""
    across = half_width * np.cos(turn)
    return np.column_stack((across, _slopes(forward, turn), _slopes(upward, turn)))


def lines_of(
    half_width: float,
    forward: FloatArray,
    upward: FloatArray,
    lean: float,
    taper: float,
    turn: FloatArray,
) -> Lines:
    """Ring and lines at angles: the ring has a half width and the terms of its y and z, its lines
    lean forward by ``lean`` and in by ``taper``."""
    cosines = np.column_stack((np.ones_like(turn), np.cos(turn), np.cos(2.0 * turn)))
    ring = np.column_stack((half_width * np.sin(turn), cosines @ forward, cosines @ upward))
    slope = ring_slope(half_width, forward, upward, turn)
    bend = np.column_stack(
        (
            -half_width * np.sin(turn),
            *(-cosines[:, 1] * c[1] - 4.0 * cosines[:, 2] * c[2] for c in (forward, upward)),
        )
    )
    axis = np.array([0.0, sin(lean), cos(lean)])
    inward, turned = np.cross(axis, slope), np.cross(axis, bend)
    length = np.linalg.norm(inward, axis=1)[:, None]
    inward = inward / length
    turned = (turned - (turned * inward).sum(axis=1)[:, None] * inward) / length
    line = cos(taper) * axis + sin(taper) * inward
    return Lines(turn, ring, slope, bend, line, sin(taper) * turned)
