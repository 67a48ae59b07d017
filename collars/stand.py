"""A collar stand: the strip between neckline and fall, or a band collar on its own.

Half a piece on the fold, x from centre back, y up, outline counter-clockwise. The neck seam is
level at centre back, straight to the shoulder notch or part of the way, and bends up to centre
front; the top edge lies above it at a height that goes evenly from back to front, level at both
ends so that it is square to the fold and runs smoothly into the button stand. Centimetres and
radians.

A parallel curve at height h is shorter by h times the angle turned through (J. Steiner, Über
parallele Flächen, Monatsberichte der Akademie der Wissenschaften zu Berlin, 1840): that is how a
stand leans in to the neck.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite

import numpy as np

from blocks.neckline import Neckline
from collars.bends import Bend, bend_with_rise, drawn, most_rise
from drafting.curves import Curve, through
from drafting.errors import Problem
from drafting.points import FloatArray, Point
from drafting.roots import root_between
from drafting.sentences import DOWN, SHORT, UP, length, span

#: No neckline has a shorter arc than this; a tape could not be laid along it.
LEAST_ARC = 1.0
#: The top edge may be bent down to this share of the neck seam's tightest radius. At nothing it
#: would have a cusp; below this it is too tight to sew.
LEAST_RADIUS_SHARE = 0.25
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, slots=True)
class StandShape:
    """What is asked of a stand (cm).

    ``back`` and ``front`` are its heights at centre back and centre front, ``rise`` how far the
    neck seam rises, ``straight`` how much of it stays straight from centre back, ``button_stand``
    how far it runs on beyond centre front, ``radius`` that of its front corner.
    """

    back: float
    front: float
    rise: float
    straight: float
    button_stand: float = 0.0
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Stand:
    """A drawn stand: ``neck`` and ``top`` run from centre back to centre front, ``end`` is where
    the button stand ends on the neck seam; ``neckline`` is what it is sewn to."""

    shape: StandShape
    neckline: Neckline
    bend: Bend
    neck: Curve
    top: Curve

    @property
    def end(self) -> Point:
        """End of the button stand on the neck seam; centre front when there is none."""
        return self.neck.end + self.neck.end_heading * self.shape.button_stand

    @property
    def top_end(self) -> Point:
        """The front corner of the top edge before it is rounded."""
        return self.end + self.neck.end_heading.left * self.shape.front

    @property
    def shoulder_on_top(self) -> float:
        """Length of the top edge from centre back to above the shoulder notch."""
        return _top_length(self.bend, self.shape, self.neckline.back_arc)


def arc_problems(neckline: Neckline) -> list[Problem]:
    """What is wrong with a neckline no collar can be sewn to, key ``neckline``."""
    if isfinite(neckline.half) and min(neckline.back_arc, neckline.front_arc) >= LEAST_ARC:
        return []
    return [
        Problem(
            "a neckline needs both its arcs",
            key="neckline",
            got=f"back {length(neckline.back_arc, places=2)}, "
            f"front {length(neckline.front_arc, places=2)}",
            accepted=f"lengths of {length(LEAST_ARC, places=SHORT, rounding=UP)} and more",
            advice="Tape both on the seam line, darts closed.",
        )
    ]


def stand_problems(neckline: Neckline, shape: StandShape) -> list[Problem]:
    """Everything that makes a stand impossible, each with what would do. Keys are those of the
    parameters ``rise`` and ``stand_back``."""
    if problems := arc_problems(neckline):
        return problems
    bent = neckline.half - shape.straight
    most = most_rise(bent)
    if shape.rise > most:
        return [
            Problem(
                f"this rise is more than {length(bent)} of neck seam can carry",
                key="collar.rise",
                got=length(shape.rise),
                accepted=span(0.0, most),
                advice="Take less rise, or let it begin farther back (straight_back).",
            )
        ]
    tightest = bend_with_rise(shape.straight, neckline.half, shape.rise).most_curvature
    height = max(shape.back, shape.front)
    if height * tightest > 1.0 - LEAST_RADIUS_SHARE:
        return [
            Problem(
                "the stand is too high for how its neck seam bends: its top edge would close up",
                key="collar.stand_back" if shape.back >= shape.front else "collar.stand_front",
                got=length(height),
                accepted=f"up to {length((1.0 - LEAST_RADIUS_SHARE) / tightest, rounding=DOWN)}",
                advice="Take a lower stand or less rise.",
            )
        ]
    return []


def draw_stand(neckline: Neckline, shape: StandShape) -> Stand:
    """Draw a stand whose neck seam is exactly half the neckline and rises exactly as asked.

    Raises :class:`DraftError` when the neck seam cannot carry the rise; ask
    :func:`stand_problems` first for the rest.
    """
    bend, neck = drawn(shape.straight, neckline.half, shape.rise)
    s = bend.stations(3)
    rows = bend.parallel(s, heights_at(shape, s / bend.length))
    rows[-1] = tuple(neck.end + neck.end_heading.left * shape.front)
    top = through(
        [Point(float(x), float(y)) for x, y in rows],
        start=Point(1.0, 0.0),
        end=neck.end_heading,
    )
    return Stand(shape, neckline, bend, neck, top)


def heights_at(shape: StandShape, share: FloatArray) -> FloatArray:
    """Height of the stand at shares of the neck seam from centre back: level at both ends; for one
    stand or, bends as the last axis, for many."""
    return shape.back + (shape.front - shape.back) * share**2 * (3.0 - 2.0 * share)


def top_length(neckline: Neckline, shape: StandShape) -> float:
    """Length of the top edge, centre back to centre front, reckoned without drawing it: height
    times curvature off the neck seam, and the slope of the height. Raises :class:`DraftError`."""
    return _top_length(bend_with_rise(shape.straight, neckline.half, shape.rise), shape)


def _top_length(bend: Bend, shape: StandShape, upto: float = inf) -> float:
    """Length of the top edge above the neck seam from 0 to ``upto``."""
    ends = bend.stations()
    if upto < inf:
        ends = np.unique(np.minimum(ends, upto))
    return float(reckoned_top(bend, shape, ends))


def reckoned_top(bend: Bend, shape: StandShape, ends: FloatArray) -> FloatArray:
    """Length of the top edge above a neck seam from the first to the last of the arc lengths
    ``ends``; for one stand or, bends as the last axis, for many."""
    leant, slope, half = _along_top(bend, shape, ends)
    return np.asarray((np.tensordot(_WEIGHTS, np.hypot(1.0 - leant, slope), 1) * half).sum(axis=0))


def _along_top(
    bend: Bend, shape: StandShape, ends: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What the length of the top edge is summed up from, between ``ends``: height times curvature,
    the slope of the height, and half the lengths of the stretches."""
    half = 0.5 * np.diff(ends, axis=0)
    s = 0.5 * (ends[:-1] + ends[1:]) + np.multiply.outer(_NODES, half)
    share = s / bend.length
    slope = (shape.front - shape.back) * 6.0 * share * (1.0 - share) / bend.length
    return heights_at(shape, share) * bend.curvature(s), slope, half


def rise_for_top(neckline: Neckline, shape: StandShape, top: float, most: float) -> float | None:
    """The rise with which the half top edge is ``top`` (cm); ``None`` if none from 0 to ``most``
    and within what the stand can be drawn with does it."""
    level = bend_with_rise(shape.straight, neckline.half, 0.0)
    turned = replace(level, angle=1.0)
    leant, slope, half = _along_top(turned, shape, turned.stations())
    weights = np.multiply.outer(_WEIGHTS, half)

    def over(turn: float) -> float:
        return float((np.hypot(1.0 - turn * leant, slope) * weights).sum()) - top

    tightest = (1.0 - LEAST_RADIUS_SHARE) / max(shape.back, shape.front) / turned.most_curvature
    reached = min(most, most_rise(level.bent))
    high = min(bend_with_rise(shape.straight, neckline.half, reached).angle, tightest)
    if over(0.0) < 0.0 or over(high) > 0.0:
        return None
    return replace(level, angle=root_between(over, 0.0, high, xtol=1e-12)).rise
