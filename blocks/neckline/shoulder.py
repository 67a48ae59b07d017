"""The back shoulder and its dart, trued so that the seam is straight once the dart is folded."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos

import numpy as np

from drafting.errors import DraftError, Problem
from drafting.geometry.points import Many, Move, Point, crossing
from drafting.sentences import length

#: A dart that opens less than this (radians) is none.
NO_OPENING = 1e-9
#: One that opens more (radians) is no shoulder dart.
MOST_OPENING = 0.8


@dataclass(frozen=True, slots=True)
class BackShoulder:
    """A back shoulder: ``side`` neck point, the dart's ``inner`` and ``outer`` feet (equal legs to
    ``tip``; the same point when there is no dart), ``point`` the shoulder point. Centimetres."""

    side: Point
    inner: Point
    outer: Point
    point: Point
    tip: Point

    @property
    def inner_heading(self) -> Point:
        """Direction of the seam at the neck, outwards."""
        return (self.inner - self.side).unit

    @property
    def outer_heading(self) -> Point:
        """Direction of the seam at the shoulder point, outwards."""
        return (self.point - self.outer).unit

    @property
    def has_dart(self) -> bool:
        """Whether a dart is left."""
        return self.inner.to(self.outer) > 1e-6


def true_back_shoulder(
    *, side: Point, outer: Point, tip: Point, leg: Point, closed_length: float
) -> BackShoulder:
    """Turn the dart's opening so that the folded seam has exactly ``closed_length``.

    ``side`` and ``outer`` (the shoulder point) stay where the method puts them, the dart keeps its
    ``tip`` and the direction of its first ``leg``; its legs come out equal and the folded seam
    straight. Raises :class:`DraftError` when no dart makes it so.
    """
    to_side, to_outer = side - tip, outer - tip
    a, b = abs(to_side), abs(to_outer)
    cosine = (a * a + b * b - closed_length * closed_length) / (2.0 * a * b)
    if not -1.0 < cosine < 1.0:
        raise _no_dart(side, outer, closed_length)
    opening = to_side.angle - to_outer.angle - acos(cosine)
    if abs(opening) < NO_OPENING:
        return BackShoulder(side, outer, outer, outer, tip)
    if not 0.0 < opening < MOST_OPENING:
        raise _no_dart(side, outer, closed_length)
    closed_outer = outer.turned(opening, tip)
    foot = crossing(side, closed_outer - side, tip, leg - tip)
    if foot is None or not 0.0 < (foot - side).dot((closed_outer - side).unit) < closed_length:
        raise DraftError(
            Problem(
                "the back shoulder dart does not meet the shoulder between neck and shoulder point",
                advice="Measure shoulder length and neck base girth again.",
            )
        )
    outer_foot = foot.turned(-opening, tip)
    return BackShoulder(side, foot, outer_foot, outer, tip)


def headings_at_neck(
    *, side: Point, outer: Point, tip: Point, leg: Point, closed_length: float
) -> Point:
    """``inner_heading`` of the back shoulders of many bodies at once, each trued as
    :func:`true_back_shoulder` does it; nan where that refuses. Every number is an array."""
    to_side, to_outer = side - tip, outer - tip
    a, b = abs(to_side), abs(to_outer)
    cosine: Many = (a * a + b * b - closed_length * closed_length) / (2.0 * a * b)
    opening: Many = to_side.angle - to_outer.angle - np.arccos(cosine)
    none = np.abs(opening) < NO_OPENING
    turn: Many = np.where(none, 0.0, opening)
    seam = outer.turned(turn, tip) - side
    to_leg = leg - tip
    along = (tip - side).cross(to_leg) / seam.cross(to_leg) * abs(seam)
    dart = (opening > 0.0) & (opening < MOST_OPENING) & (along > 0.0) & (along < closed_length)
    share: Many = np.where(none | dart, 1.0 / abs(seam), np.nan)
    return Point(seam.x * share, seam.y * share)


def closed(shoulder: BackShoulder) -> Move:
    """The move that folds the outer part of the shoulder on to the inner one."""
    turn = (shoulder.inner - shoulder.tip).angle - (shoulder.outer - shoulder.tip).angle
    return Move.about(shoulder.tip, turn)


def _no_dart(side: Point, outer: Point, closed_length: float) -> DraftError:
    return DraftError(
        Problem(
            f"the back shoulder line of {length(side.to(outer))} cannot be darted down to "
            f"{length(closed_length)}",
            advice="Measure shoulder length and shoulder slope again.",
        )
    )
