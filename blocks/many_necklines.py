"""Necklines of many bodies at once: their arcs, and every single cure, solved together.

What ``blocks.neckfit`` does for one body, for a frame whose every number is an array (n,). Where a
body is refused its numbers are nan. Round necklines only. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum
from math import pi

import numpy as np
from numpy.typing import NDArray

from blocks.neck import NeckFrame
from blocks.neckfit import FITS, correction_by, correction_range
from blocks.shoulder import headings_at_neck
from drafting.many_curves import Cubics, corners, cubic_lengths
from drafting.many_roots import roots_between
from drafting.points import FloatArray, Many, Point
from drafting.tolerances import SOLVED

BoolArray = NDArray[np.bool_]


class Reach(IntEnum):
    """Whether a correction reaches a neck, and why not."""

    FITS = 0
    TOO_NARROW = 1  # already narrower than it may be drafted
    UNDRAWN = 2  # there is no curve at one end of what it may move
    STILL_LONG = 3  # moved as far as the body allows, the neckline is still too long
    STILL_SHORT = 4


@dataclass(frozen=True, slots=True)
class ManyCorrections:
    """One single correction of every body: ``amount`` (cm, for ``both`` a share; nan where it does
    not reach) as in :func:`blocks.neckfit.correction_by`, and ``reach``, values of
    :class:`Reach`."""

    amount: FloatArray
    reach: NDArray[np.int8]


@dataclass(frozen=True, slots=True)
class ManyFits:
    """The necklines of many bodies against their necks, as :class:`blocks.neckfit.NeckFit` tells of
    one: ``back`` and ``front`` are the arcs after the asked correction; ``doubtful`` says for which
    bodies something was met on the way that one by one has to be looked into."""

    drafted: FloatArray
    target: FloatArray
    corrections: Mapping[str, ManyCorrections]
    frame: NeckFrame
    back: FloatArray
    front: FloatArray
    doubtful: BoolArray

    @property
    def fitted(self) -> FloatArray:
        """The whole neckline after the correction."""
        return 2.0 * (self.back + self.front)

    @property
    def off(self) -> FloatArray:
        """Drafted minus target: positive when the neckline is too long for the neck."""
        return self.drafted - self.target


def arcs(frame: NeckFrame) -> tuple[FloatArray, FloatArray]:
    """Back and front arcs of half necklines; nan where there is no such neckline."""
    leaving, guide = frame.round_front()
    front = corners(frame.front_side, leaving, frame.front_neck, Point(1.0, 0.0), guide)
    way = (front[1] - front[0]).unit
    out = frame.front_out
    # the back takes what the front leaves of 180 degrees
    angle = np.arctan2(out.cross(way), out.dot(way))
    at_neck = headings_at_neck(
        side=frame.back_side,
        outer=frame.back_tip,
        tip=frame.dart_tip,
        leg=frame.dart_leg,
        closed_length=frame.front_length + frame.back_ease,
    )
    back = corners(
        frame.back_side,
        at_neck.turned(angle - pi),
        frame.back_neck,
        Point(-1.0, 0.0),
        np.asarray(frame.fullness),
    )
    both = cubic_lengths(_one_after_the_other(back, front))
    return both[: len(both) // 2], both[len(both) // 2 :]


def fit_many(frame: NeckFrame, target: FloatArray, neck_girth: Many, fit: str) -> ManyFits:
    """Every single correction solved, and the one that is asked for (``none`` for none) made."""
    with np.errstate(all="ignore"):
        back, front = arcs(frame)
        drafted = 2.0 * (back + front)
        doubtful = np.isnan(drafted)
        corrections = {}
        for key in FITS:
            found = _solve(frame, key, target, neck_girth, drafted - target)
            corrections[key] = found
            doubtful |= (found.reach == Reach.FITS) & np.isnan(found.amount)
        if fit != "none":
            amount: Many = corrections[fit].amount
            frame = frame.changed(correction_by(frame, fit, amount))
            back, front = arcs(frame)
    return ManyFits(drafted, target, corrections, frame, back, front, doubtful)


def _solve(
    frame: NeckFrame, key: str, target: FloatArray, neck_girth: Many, now: FloatArray
) -> ManyCorrections:
    """One correction; ``now`` is how far the neckline is off before it."""
    low, high = np.broadcast_arrays(*correction_range(frame, key, neck_girth), now)[:2]

    def gap(amount: Many) -> FloatArray:
        back, front = arcs(frame.changed(correction_by(frame, key, amount)))
        return 2.0 * (back + front) - target

    at_low, at_high = gap(low), gap(high)
    within = (low <= 0.0) & (high >= 0.0)
    amount = roots_between(
        gap,
        low,
        high,
        ends=(at_low, at_high),
        start=np.where(within, 0.0, 0.5 * (low + high)),
        xtol=1e-11,
    )
    right = (np.abs(now) <= SOLVED) & within
    apart = at_low * at_high > 0.0
    left = np.where(np.abs(at_low) < np.abs(at_high), at_low, at_high)
    reach = np.select(
        [low > high, np.isnan(at_low) | np.isnan(at_high), right, apart & (left > 0.0), apart],
        [Reach.TOO_NARROW, Reach.UNDRAWN, Reach.FITS, Reach.STILL_LONG, Reach.STILL_SHORT],
        Reach.FITS,
    ).astype(np.int8)
    amount = np.where(right, 0.0, amount)
    return ManyCorrections(np.where(reach == Reach.FITS, amount, np.nan), reach)


def _one_after_the_other(some: Cubics, others: Cubics) -> Cubics:
    a, b, c, d = (
        Point(_joined(one.x, other.x), _joined(one.y, other.y))
        for one, other in zip(some, others, strict=True)
    )
    return a, b, c, d


def _joined(some: Many, others: Many) -> Many:
    return np.concatenate((some, others))
