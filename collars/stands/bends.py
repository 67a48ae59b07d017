"""The edge every stand and fall is drawn from: level at centre back, straight for a while, then
bent to one side by a given rise.

The bend is laid as a road is: the curvature grows from nothing over the first fifth, stays the
same, and dies away over the last fifth. So it runs on from the straight without a jump in
curvature, and beyond centre front the button stand is straight and two layers lie flat on each
other. A bend like that and the plain circular arc of the textbooks need the same turning for the
same rise to first order, and differ by less than a pencil line in between.

Centimetres and radians; x from centre back, y up; a positive rise bends upwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, factorial, pi, radians

import numpy as np

from drafting import sentences
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line, through
from drafting.geometry.points import FloatArray, Point, direction
from drafting.geometry.roots import root_between
from drafting.memo import memo_by_value
from drafting.tolerances import ARC, SAME_POINT

#: Share of the bent part over which the curvature comes, and over which it goes.
RAMP = 0.2
#: No edge of a collar is bent further than this: beyond, a strip of cloth is no stand any more.
#: Common practice stays below half of it.
MOST_TURN = radians(60.0)
#: A straight start shorter than this (cm) cannot be seen.
LEAST_STRAIGHT = 0.1
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
#: Between neighbouring stations an edge turns by less than a tenth of a radian: four nodes are
#: right to a rounding.
_NEAR_NODES, _NEAR_WEIGHTS = np.polynomial.legendre.leggauss(4)
#: Terms of the series of the mean sine: at ``MOST_TURN`` the next one is below a rounding.
_TERMS = 10
_STEPS_RAMP, _STEPS_ARC, _STEPS_STRAIGHT = 4, 8, 2
#: Rounds in which what a spline loses between its points is given back.
ROUNDS = 8


@dataclass(frozen=True, slots=True)
class Bend:
    """A level start, ``straight`` (cm) of it, and then a turn by ``angle`` (radians, left
    positive) on the rest of ``length`` (cm).

    For n bends at once the three are arrays (n,), and what is an array here has the bends as its
    last axis, or the last but one where that holds coordinates; all of them have a straight start
    or none has.
    """

    straight: float
    length: float
    angle: float

    @property
    def bent(self) -> float:
        """Length of the part that bends."""
        return self.length - self.straight

    @property
    def most_curvature(self) -> float:
        """The tightest curvature (1/cm), without its sign."""
        return abs(self.angle) / (self.bent * (1.0 - RAMP))

    @property
    def rise(self) -> float:
        """How far the end lies above the start."""
        return self.bent * mean_sine(self.angle)

    def curvature(self, s: FloatArray) -> FloatArray:
        """Curvature (1/cm) at arc lengths from the start."""
        share = np.clip((s - self.straight) / self.bent, 0.0, 1.0)
        ramp = np.minimum(np.minimum(share, 1.0 - share) / RAMP, 1.0)
        return np.asarray(self.angle / (self.bent * (1.0 - RAMP)) * ramp, dtype=np.float64)

    def heading(self, s: FloatArray) -> FloatArray:
        """Direction of travel (radians from level) at arc lengths from the start."""
        turned = _turned((s - self.straight) / self.bent)
        return np.asarray(self.angle * turned, dtype=np.float64)

    def stations(self, finer: int = 1) -> FloatArray:
        """Arc lengths that divide every stretch of one kind of curvature evenly."""
        ramp, bent = RAMP * self.bent, self.straight
        ends = [bent, bent + ramp, self.length - ramp, self.length]
        counts = [_STEPS_RAMP, _STEPS_ARC, _STEPS_RAMP]
        if np.all(self.straight > 0.0):
            ends.insert(0, 0.0)
            counts.insert(0, _STEPS_STRAIGHT)
        parts = [
            a + np.multiply.outer(np.arange(count * finer) / (count * finer), b - a)
            for a, b, count in zip(ends[:-1], ends[1:], counts, strict=True)
        ]
        return np.concatenate([*parts, np.asarray(self.length)[None]])

    @property
    def bends_from(self) -> int:
        """Which of the :meth:`stations` is the one where the bend begins."""
        return _STEPS_STRAIGHT if np.all(self.straight > 0.0) else 0

    def points(self, s: FloatArray) -> FloatArray:
        """Points at arc lengths that begin with 0 and rise, shape (n, 2); the start is (0, 0)."""
        half = 0.5 * np.diff(s, axis=0)
        heading = self.heading(0.5 * (s[:-1] + s[1:]) + np.multiply.outer(_NEAR_NODES, half))
        ways = np.stack((np.cos(heading), np.sin(heading)), axis=-1)
        steps = np.tensordot(_NEAR_WEIGHTS, ways, 1) * half[..., None]
        return np.concatenate((np.zeros_like(steps[:1]), np.cumsum(steps, axis=0)))

    def parallel(self, s: FloatArray, heights: FloatArray) -> FloatArray:
        """Points square to the edge at arc lengths, ``heights`` (cm) to its left."""
        heading = self.heading(s)
        normal = np.stack((-np.sin(heading), np.cos(heading)), axis=-1)
        return np.asarray(self.points(s) + heights[..., None] * normal, dtype=np.float64)


def most_rise(bent: float) -> float:
    """The greatest rise (cm) that a bent part of a length can carry."""
    return bent * mean_sine(MOST_TURN)


def bend_with_rise(straight: float, length: float, rise: float) -> Bend:
    """The bend whose end lies ``rise`` above its start (below when negative).

    Less than ``LEAST_STRAIGHT`` of straight counts as none. Raises :class:`DraftError` when the
    bent part cannot carry that rise.
    """
    straight = straight if straight >= LEAST_STRAIGHT else 0.0
    bent = length - straight
    if bent < SAME_POINT or abs(rise) > most_rise(bent) + SAME_POINT:
        most = most_rise(max(bent, 0.0))
        raise DraftError(
            Problem(
                "this rise is more than the edge can carry",
                got=f"{sentences.length(abs(rise), places=2)} on {sentences.length(bent)}",
                accepted=sentences.span(0.0, most),
            )
        )
    share = abs(rise) / bent
    angle = 0.0
    if share > 0.0:
        angle = root_between(
            lambda turn: mean_sine(turn) - share, 0.0, MOST_TURN * 1.01, xtol=1e-15
        )
    return Bend(straight, length, angle if rise >= 0 else -angle)


@memo_by_value(8)
def drawn(straight: float, length: float, rise: float) -> tuple[Bend, Curve]:
    """A bend and its spline, whose own length and rise are as asked to within ``ARC``.

    What the spline loses between its points is given back by asking for a little more; a few
    rounds settle it. Raises :class:`DraftError` when the bent part cannot carry the rise.
    """
    bend = bend_with_rise(straight, length, rise)
    asked_length, asked_rise = length, rise
    for _ in range(ROUNDS):
        curve = _spline(bend)
        off_length, off_rise = length - curve.length, rise - curve.end.y
        if abs(off_length) < ARC and abs(off_rise) < ARC:
            break
        asked_length, asked_rise = asked_length + off_length, asked_rise + off_rise
        bend = bend_with_rise(straight, asked_length, asked_rise)
    return bend, curve


def _spline(bend: Bend) -> Curve:
    """The straight part as a true straight line, then one spline through the bend."""
    stations = bend.stations()
    rows = bend.points(stations)[bend.bends_from :]
    level, bent = Point(1.0, 0.0), [Point(float(x), float(y)) for x, y in rows]
    curve = through(bent, start=level, end=direction(bend.angle))
    if bend.straight == 0.0:
        return curve
    return joined([line(Point(0.0, 0.0), bent[0]), curve])


def _turned(share: FloatArray) -> FloatArray:
    """Share of the whole turning done at a share of the bent part."""
    at = np.clip(share, 0.0, 1.0)
    first = at**2 / (2 * RAMP)
    last = (1.0 - RAMP) - (1.0 - at) ** 2 / (2 * RAMP)
    middle = at - RAMP / 2
    whole = np.where(at < RAMP, first, np.where(at > 1.0 - RAMP, last, middle))
    return np.asarray(whole / (1.0 - RAMP), dtype=np.float64)


def _shares() -> tuple[FloatArray, FloatArray]:
    """Shares of the turning and weights that integrate over a whole bend."""
    ends = np.array([0.0, RAMP, 1.0 - RAMP, 1.0])
    half = 0.5 * np.diff(ends)
    at = (0.5 * (ends[:-1] + ends[1:]))[:, None] + half[:, None] * _NODES
    return _turned(at.ravel()), (half[:, None] * _WEIGHTS).ravel()


_TURNED, _SHARE_WEIGHTS = _shares()
#: Coefficients of the mean sine over its angle, in squares of the angle.
_SERIES = np.array(
    [
        (-1) ** k * (_SHARE_WEIGHTS @ _TURNED**power) / factorial(power)
        for k, power in enumerate(range(1, 2 * _TERMS, 2))
    ]
)


def mean_sine(angle: float) -> float:
    """Rise of a bend one centimetre long that turns by ``angle``; for one bend or for many."""
    if isinstance(angle, np.ndarray):
        return np.asarray(angle * np.polynomial.polynomial.polyval(angle * angle, _SERIES))
    return float(np.sin(angle * _TURNED) @ _SHARE_WEIGHTS)


def lean(angle: float) -> float:
    """How far the wall of a stand leans in from upright when its half edge turns by ``angle``
    (radians): closed to a ring it is a piece of a cone whose slope is ``asin(angle / pi)``."""
    return asin(angle / pi)
