"""Collars with a stand for many necklines at once, as far as a fit study needs them: the neck seam
that is sewn, and the room the closed collar leaves the neck.

Each number is what the collar's own draft gives, to 1e-9. Where the arrays meet what may not be
drawn, that collar is drafted by itself, so that it is refused for the same reason. Falls are only
looked at for whether they can be drawn. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import pi
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from blocks.neckline import Neckline
from collars import band, two_piece_shirt
from collars.bends import LEAST_STRAIGHT, most_rise
from collars.drafts import CollarDraft
from collars.fall import STRAIGHT, FallShape, outer_handles, tip_from
from collars.fall_limits import BLUNTEST, MOST_ROUND, SHARPEST, lean_problems
from collars.many_bends import bends_with_rise, drawn_many
from collars.neckroom import ROOM, room_faults
from collars.parameters import Values, collar_sheet, settle
from collars.stand import (
    LEAST_ARC,
    LEAST_RADIUS_SHARE,
    StandShape,
    heights_at,
    reckoned_top,
)
from collars.wishes import seen
from drafting.errors import DraftError
from drafting.many_checks import ManyChecks, within_many
from drafting.many_curves import cubic_lengths, spline_lengths_of
from drafting.many_roots import roots_between
from drafting.parameters import ParameterRule
from drafting.pieces import EdgeName
from drafting.points import FloatArray, Many, Point, direction
from drafting.tolerances import SEAM

BoolArray = NDArray[np.bool_]
#: Nearer than this to a limit (cm, radians) a collar is drafted by itself to tell.
_NEAR = 0.01


@dataclass(frozen=True, slots=True)
class ManyNecklines:
    """Half necklines (cm) and the necks above them, each an array (n,); see
    :class:`blocks.neckline.Neckline`."""

    back_arc: Many
    front_arc: Many
    neck_girth: Many

    def __len__(self) -> int:
        return len(self.back_arc)

    def neckline(self, k: int) -> Neckline:
        """One of them, as if it had been taped."""
        return Neckline(
            float(self.back_arc[k]), float(self.front_arc[k]), neck_girth=float(self.neck_girth[k])
        )


@dataclass(frozen=True, slots=True)
class ManyCollars:
    """One kind of collar on many necklines. ``neck_seam`` is sewn to the half neckline as far as
    ``gap`` before centre front, ``rise`` is that of its end, ``closed_top`` the whole top edge
    buttoned; numbers of ``refused`` ones mean nothing, and :meth:`reason` says why they were."""

    kind: str
    wishes: Mapping[str, float | str]
    necklines: ManyNecklines
    gap: float
    finger_ease: float
    asked_rise: float
    neck_seam: FloatArray
    rise: FloatArray
    closed_top: FloatArray
    refused: BoolArray

    def reason(self, k: int) -> str:
        """Why a collar is refused, in the words of the draft that refuses it; empty when it is
        not."""
        if not self.refused[k]:
            return ""
        try:
            _DRAFTS[self.kind].draft(self.necklines.neckline(k), self.wishes)
        except DraftError as error:
            return str(error)
        raise AssertionError("a collar was refused that can be drafted")

    def rises_for_neck(self) -> FloatArray:
        """The rises with which the closed top edges would be exactly the neck with its ease; nan
        where none up to the most that may be asked for does, or the collar is refused."""
        values = settle(self.kind, self.wishes)
        sewn = _sewn(self.necklines, self.gap)
        wanted = (self.necklines.neck_girth + self.finger_ease) / 2.0 - self.gap
        with np.errstate(all="ignore"):
            rises, doubtful = _rises(sewn, values, wanted, collar_sheet(self.kind).rules["rise"])
        for k in np.flatnonzero(doubtful & ~self.refused):
            one = _DRAFTS[self.kind].draft(self.necklines.neckline(int(k)), self.wishes)
            rises[k] = one.numbers.get("rise_for_neck", np.nan)
        return np.where(self.refused, np.nan, rises)

    def checks(self) -> tuple[ManyChecks, ...]:
        """The checks of neck seam, rise and room, called as in the collar's own draft."""
        lines, neck = self.necklines, self.necklines.neck_girth
        front = lines.front_arc - self.gap
        pressing, tight, loose = room_faults(self.closed_top, neck, self.finger_ease)
        return (
            within_many(
                "neck seam to front neckline", self.neck_seam - lines.back_arc, front, SEAM
            ),
            within_many(
                "rise at centre front", self.rise, np.full_like(self.rise, self.asked_rise), SEAM
            ),
            ManyChecks(
                ROOM,
                self.closed_top,
                neck + self.finger_ease,
                pressing,
                ~pressing & (tight | loose),
            ),
        )


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of collar that many can be drafted of: its own draft, how far its ends keep from
    centre front, and which of its falls, over half top edges of a length, may be undrawable."""

    draft: Callable[[Neckline, Mapping[str, float | str]], CollarDraft]
    gap: Callable[[Values], float]
    doubtful: Callable[[ManyNecklines, FloatArray, Values], BoolArray]


def collar_many(
    kind: str, necklines: ManyNecklines, wishes: Mapping[str, float | str]
) -> ManyCollars:
    """A kind of collar of ``MANY_KINDS`` on many necklines, as its own ``draft`` drafts each.

    ``wishes`` are the same for all. Raises :class:`DraftError` when one of them cannot stand
    whatever the neckline.
    """
    chosen, values = _DRAFTS[kind], settle(kind, wishes)
    gap = chosen.gap(values)
    sewn = _sewn(necklines, gap)
    with np.errstate(all="ignore"):
        seam, rise, top, doubtful = _stands(sewn, values)
        reckoned = top - seen(values.number("setback")) if "setback" in values.given else top
        doubtful |= chosen.doubtful(sewn, reckoned, values) | ~np.isfinite(seam + top)
    found = ManyCollars(
        kind,
        wishes,
        necklines,
        gap,
        values.number("finger_ease"),
        values.number("rise"),
        seam,
        rise,
        2.0 * (top + gap),
        np.zeros(len(necklines), dtype=np.bool_),
    )
    for k in np.flatnonzero(doubtful):
        _by_itself(found, int(k))
    return found


def _stands(
    sewn: ManyNecklines, values: Values
) -> tuple[FloatArray, FloatArray, FloatArray, BoolArray]:
    """Neck seams, their rises, half top edges, and which stands may be impossible."""
    half, straight, doubtful = _seams(sewn, values)
    rise, shape = values.number("rise"), _heights(values)
    bend, seam, end = drawn_many(straight, half, rise)
    ahead = direction(bend.angle)
    s = bend.stations(3)
    rows = bend.parallel(s, heights_at(shape, s / bend.length))
    corner = end + ahead.left * shape.front
    rows[-1] = np.stack((corner.x, corner.y), axis=-1)
    top = spline_lengths_of(rows, Point(1.0, 0.0), ahead)
    tightest = (1.0 - LEAST_RADIUS_SHARE) / max(shape.back, shape.front)
    doubtful |= (np.minimum(sewn.back_arc, sewn.front_arc) < LEAST_ARC) | ~np.isfinite(half)
    doubtful |= rise > most_rise(half - straight) - _NEAR
    doubtful |= bend.most_curvature > tightest - _NEAR * tightest
    return seam, np.asarray(end.y), top, doubtful


def _sewn(necklines: ManyNecklines, gap: float) -> ManyNecklines:
    """The necklines as far as a collar is sewn to them."""
    return replace(necklines, front_arc=necklines.front_arc - gap)


def _heights(values: Values) -> StandShape:
    return StandShape(values.number("stand_back"), values.number("stand_front"), 0.0, 0.0)


def _seams(sewn: ManyNecklines, values: Values) -> tuple[Many, Many, BoolArray]:
    """Lengths of half neck seams, how much of each is straight, and which few have no straight
    start among those that have one, and are taken to have."""
    straight = values.number("straight_back") * sewn.back_arc
    short = straight < LEAST_STRAIGHT
    if short.all():
        return sewn.back_arc + sewn.front_arc, straight, np.zeros_like(short)
    return sewn.back_arc + sewn.front_arc, np.where(short, LEAST_STRAIGHT, straight), short


def _rises(
    sewn: ManyNecklines, values: Values, wanted: Many, allowed: ParameterRule
) -> tuple[FloatArray, BoolArray]:
    """As :func:`collars.stand.rise_for_top`, for many half top edges; which are doubtful."""
    half, straight, doubtful = _seams(sewn, values)
    shape, level = _heights(values), bends_with_rise(straight, half, 0.0)
    reached = np.minimum(allowed.high, most_rise(level.bent))
    per_turn = replace(level, angle=1.0).most_curvature
    tightest = (1.0 - LEAST_RADIUS_SHARE) / max(shape.back, shape.front) / per_turn
    most: Many = np.minimum(bends_with_rise(straight, half, reached).angle, tightest)
    ends = level.stations()

    def over(turn: Many) -> FloatArray:
        return np.asarray(reckoned_top(replace(level, angle=turn), shape, ends) - wanted)

    turn: Many = roots_between(over, np.zeros_like(most), most, xtol=1e-12)
    return np.asarray(replace(level, angle=turn).rise), doubtful


def _no_fall(necklines: ManyNecklines, top: FloatArray, values: Values) -> BoolArray:
    return np.zeros(len(necklines), dtype=np.bool_)


def _doubtful_falls(necklines: ManyNecklines, top: FloatArray, values: Values) -> BoolArray:
    """Which falls of a shirt collar may be impossible; the hill they are sewn along is taken for
    the bend it is drawn from, which differs by far less than what counts as near a limit."""
    rise: Many = values.number("fall_rise")
    level: Many = necklines.back_arc
    shape = FallShape(
        values.number("fall_back"),
        rise,
        level,
        values.number("point_length"),
        values.number("point_lean"),
        values.number("point_radius") if values.word("point") == "rounded" else 0.0,
    )
    if lean_problems(shape) or shape.back < values.number("stand_back"):
        return np.ones(len(necklines), dtype=np.bool_)
    bend = bends_with_rise(np.maximum(STRAIGHT * top, LEAST_STRAIGHT), top, -rise)
    across: Many = bend.points(bend.stations())[-1, :, 0]
    tip = tip_from(Point(across, np.zeros_like(across)), direction(bend.angle), shape)
    bent = outer_handles(Point(0.0, rise), tip, shape)
    front, outer = Point(tip.x - across, tip.y), bent[1] - bent[0]
    angle = pi - np.arctan2(front.cross(outer), front.dot(outer))
    roundest = np.minimum(shape.point, cubic_lengths(bent)) * MOST_ROUND * np.tan(angle / 2)
    good = (angle > SHARPEST + _NEAR) & (angle < BLUNTEST - _NEAR)
    good &= rise < most_rise(1.0 - STRAIGHT) * top - _NEAR
    good &= shape.radius < roundest - _NEAR
    return ~np.asarray(good)


def _by_itself(collars: ManyCollars, k: int) -> None:
    """Draft one collar that the arrays made nothing of, and take over what comes of it."""
    try:
        one = _DRAFTS[collars.kind].draft(collars.necklines.neckline(k), collars.wishes)
    except DraftError:
        collars.refused[k] = True
        return
    piece = one.pieces[0]
    back, front, *_ = piece.named(EdgeName.NECK_SEAM)
    collars.neck_seam[k] = back.length + front.length
    collars.rise[k] = front.curve.end.y
    collars.closed_top[k] = one.numbers["closed_top_girth"]


def _band_gap(values: Values) -> float:
    return values.number("gap") if values.word("ends") == "short" else 0.0


_DRAFTS: Mapping[str, _Kind] = MappingProxyType(
    {
        two_piece_shirt.KIND: _Kind(two_piece_shirt.draft, lambda values: 0.0, _doubtful_falls),
        band.KIND: _Kind(band.draft, _band_gap, _no_fall),
    }
)
#: The kinds of collar that many can be drafted of together.
MANY_KINDS = tuple(_DRAFTS)
