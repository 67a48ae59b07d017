"""The neck seam of a one-piece collar: level at centre back, raised there above the front end.

Straight, it only bends down, like the seam of a fall. Shaped, it runs down under the level of the
front end and up again, lowest midway along the front. x from centre back, y up from the front end.
Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sin

import numpy as np

from collars.stands.bends import (
    LEAST_STRAIGHT,
    MOST_TURN,
    RAMP,
    Bend,
    bend_with_rise,
    drawn,
    most_rise,
)
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line, through
from drafting.geometry.points import FloatArray, Move, Point, direction
from drafting.geometry.roots import root_between
from drafting.sentences import length, span
from drafting.tolerances import ARC, SAME_POINT

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)
_ROUNDS = 8
#: A straight end shorter than this (cm) gets no points of its own.
_LEAST_REST = 0.3
#: How far a shaped seam comes up again: hardly, and on to as much as is fair, in steps, since past
#: that it curls; see :func:`_falling`.
_SHARES = 0.02, 1.0, 1.3, 1.6, 1.9


@dataclass(frozen=True, slots=True)
class SeamShape:
    """What is asked of the seam (cm): ``back`` and ``front`` are the neckline's arcs, ``straight``
    how much stays level from centre back, ``rise`` how far centre back lies above the front end,
    ``dip`` how far the seam runs below it (0: not at all)."""

    back: float
    front: float
    straight: float
    rise: float
    dip: float = 0.0

    @property
    def length(self) -> float:
        """Half the neckline."""
        return self.back + self.front

    @property
    def lowest(self) -> float:
        """Where the dip is lowest, from centre back."""
        return self.back + self.front / 2


def seam_problems(shape: SeamShape) -> list[Problem]:
    """What makes such a seam impossible, keys ``raise_back`` and ``dip``, each with what would
    do."""
    most = most_rise(shape.length - shape.straight)
    if shape.rise > most:
        return [
            Problem(
                f"this raise is more than {length(shape.length - shape.straight)} of neck seam can "
                "carry",
                key="collar.raise_back",
                got=length(shape.rise),
                accepted=span(0.0, most),
                advice="Raise it less, or let it bend farther back.",
            )
        ]
    if not shape.dip or _wave(shape) is not None:
        return []
    dips = _tenths(lambda dip: _wave(replace(shape, dip=dip)) is not None, 0.1, 1.0)
    raises = _tenths(lambda rise: _wave(replace(shape, rise=rise)) is not None, 0.0, 6.0)
    return [
        Problem(
            "no fair line falls from this raise to this dip and comes up again",
            key="collar.dip",
            got=f"{length(shape.dip)} below, {length(shape.rise)} above",
            accepted=dips or (f"with this dip, a raise of {raises}" if raises else ""),
            advice="Change the dip, raise the collar less, or let less of the back stay straight.",
        )
    ]


def turning_of(shape: SeamShape) -> float | None:
    """How far the seam turns down from centre back, radians, ``None`` when there is no such seam.
    Where a shaped seam comes up again it lies in front of the shoulder, where the stand runs out.
    """
    if shape.dip:
        wave = _wave(shape)
        return None if wave is None else -wave.down.angle
    if shape.rise > most_rise(shape.length - shape.straight):
        return None
    return -bend_with_rise(shape.straight, shape.length, -shape.rise).angle


def draw_seam(shape: SeamShape) -> tuple[Curve, float]:
    """The seam, exactly as long as half the neckline, and how far it turns down.

    Ask :func:`seam_problems` first; raises :class:`DraftError` when there is no such seam.
    """
    if not shape.dip:
        bend, curve = drawn(shape.straight, shape.length, -shape.rise)
        return curve.moved(Move(shift=Point(0.0, shape.rise))), -bend.angle
    tried = shape
    for _ in range(_ROUNDS):  # what the spline loses between its points is given back
        wave = _needed(tried)
        curve = wave.drawn()
        off_length, off_drop = shape.length - curve.length, shape.rise + curve.end.y
        if abs(off_length) < ARC and abs(off_drop) < ARC:
            break
        tried = replace(tried, front=tried.front + off_length, rise=tried.rise + off_drop)
    return curve.moved(Move(shift=Point(0.0, shape.rise))), -wave.down.angle


@dataclass(frozen=True, slots=True)
class _Wave:
    """A bend down, a bend up on to its end, and a straight ``rest`` (cm)."""

    down: Bend
    up: Bend
    rest: float

    def beyond(self, s: FloatArray) -> FloatArray:
        """Points at arc lengths from where the bend up begins; the first must be 0."""
        foot = self.down.points(self.down.stations())[-1]
        curved = s <= self.up.length
        rows = self.up.points(np.append(s[curved], self.up.length))
        out = np.array([np.cos(self.up.angle), np.sin(self.up.angle)])
        straight = rows[-1] + (s[~curved] - self.up.length)[:, None] * out
        move = Move(self.down.angle, Point(float(foot[0]), float(foot[1])))
        return move.apply(np.vstack((rows[:-1], straight)))

    def drawn(self) -> Curve:
        """The level part as a true straight line, then one spline."""
        stations = self.down.stations()
        first = self.down.points(stations)[stations >= self.down.straight]
        stations = self.up.stations()
        if self.rest > _LEAST_REST:
            stations = np.append(stations, self.up.length + self.rest * np.array([0.5, 1.0]))
        else:
            stations[-1] += self.rest
        second = self.beyond(stations)[1:]
        bent = [Point(float(x), float(y)) for x, y in np.vstack((first, second))]
        out = direction(self.down.angle + self.up.angle)
        curve = through(bent, start=Point(1.0, 0.0), end=out)
        if self.down.straight == 0.0:
            return curve
        return joined([line(Point(0.0, 0.0), bent[0]), curve])


def _needed(shape: SeamShape) -> _Wave:
    wave = _wave(shape)
    if wave is None:
        raise DraftError(seam_problems(shape))
    return wave


def _wave(shape: SeamShape) -> _Wave | None:
    """Lowest, and level there, midway along the front, its dip below its end; ``None`` when no
    fair line is."""

    def over(share: float) -> float:
        found = _falling(shape, share)
        return -shape.dip if found is None else found[1] - shape.dip

    least, *more = _SHARES
    high = next((share for share in more if over(share) >= 0.0), least)
    if high == least or over(least) > 0.0:
        return None
    found = _falling(shape, root_between(over, least, high, xtol=1e-13))
    if found is None or max(-found[0].down.angle, found[0].up.angle) > MOST_TURN:
        return None
    return found[0] if abs(found[1] - shape.dip) < SAME_POINT else None


def _falling(shape: SeamShape, share: float) -> tuple[_Wave, float] | None:
    """The wave that falls from its raise to its dip at the lowest point, and how far it comes up
    again; ``None`` when no turn of up to ``MOST_TURN`` falls so far. The greater the ``share``, the
    more it comes up: up to 1 the bend up reaches farther beyond the lowest point, from 1 to 2 it
    begins later."""
    start = shape.straight if shape.straight >= LEAST_STRAIGHT else 0.0
    low, drop = shape.lowest, shape.rise + shape.dip
    change = start + (0.5 + 0.4 * max(share - 1.0, 0.0)) * (low - start)
    end = low + min(share, 1.0) * (shape.length - low)
    unit = Bend(0.0, end - change, 1.0)
    done = float(unit.heading(np.array([low - change]))[0])
    before, steps = _headings(unit, 0.0, low - change)

    def short(turn: float) -> float:
        fallen = float(np.sin(turn * (before / done - 1.0)) @ steps)
        return drop + Bend(start, change, -turn).rise + fallen

    if short(MOST_TURN) > 0.0:
        return None
    turn = root_between(short, 0.0, MOST_TURN, xtol=1e-15)
    after, steps_after = _headings(unit, low - change, end - change)
    rest, up = shape.length - end, turn / done
    risen = float(np.sin(turn * (after / done - 1.0)) @ steps_after) + rest * sin(up - turn)
    return _Wave(Bend(start, change, -turn), Bend(0.0, end - change, up), rest), risen


def _headings(unit: Bend, first: float, last: float) -> tuple[FloatArray, FloatArray]:
    """Headings of a bend at places between two arc lengths, and the length each stands for."""
    ends = np.unique(np.clip([0.0, RAMP * unit.length, (1 - RAMP) * unit.length], first, last))
    ends = np.append(ends[ends < last], last)
    half = 0.5 * np.diff(ends)[:, None]
    at = (0.5 * (ends[:-1] + ends[1:]))[:, None] + half * _NODES
    return unit.heading(at.ravel()), (half * _WEIGHTS).ravel()


def _tenths(works: Callable[[float], bool], low: float, high: float) -> str:
    """The tenths between two lengths that work, for people."""
    tried = [k / 10 for k in range(round(low * 10), round(high * 10) + 1)]
    good = [value for value in tried if works(value)]
    return span(good[0], good[-1]) if good else ""
