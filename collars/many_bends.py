"""Bends of many collars at once, and the lengths of their splines.

What ``collars.bends`` does for one edge, for arrays (n,). Centimetres and radians.
"""

from __future__ import annotations

import numpy as np

from collars.bends import LEAST_STRAIGHT, MOST_TURN, ROUNDS, Bend, mean_sine, most_rise
from drafting.many_curves import spline_lengths_of
from drafting.many_roots import roots_between
from drafting.points import FloatArray, Many, Point, direction
from drafting.tolerances import ARC, SAME_POINT


def bends_with_rise(straight: Many, length: Many, rise: Many) -> Bend:
    """The bends whose ends lie ``rise`` above their starts; nan where an edge cannot carry it.

    Raises ``ValueError`` when some have a straight start and others none.
    """
    begins = straight >= LEAST_STRAIGHT
    if begins.any() and not (begins | ~np.isfinite(length)).all():
        raise ValueError("bends with and without a straight start are drawn apart")
    straight = np.where(begins, straight, 0.0 if not begins.any() else LEAST_STRAIGHT)
    bent = length - straight
    good = (bent >= SAME_POINT) & (np.abs(rise) <= most_rise(np.maximum(bent, 0.0)) + SAME_POINT)
    share = np.where(good, np.abs(rise) / bent, np.nan)
    nought, most = np.zeros_like(share), np.full_like(share, MOST_TURN * 1.01)
    angle = roots_between(
        lambda turn: _mean_sines(turn) - share,
        nought,
        most,
        ends=(-share, np.full_like(share, mean_sine(MOST_TURN * 1.01)) - share),
        start=np.minimum(2.0 * share, most),
        xtol=1e-15,
    )
    signed: Many = np.where(np.asarray(rise) >= 0.0, angle, -angle)
    return Bend(straight, length, signed)


def _mean_sines(turn: Many) -> Many:
    return mean_sine(turn)


def drawn_many(straight: Many, length: Many, rise: Many) -> tuple[Bend, FloatArray, Point]:
    """Bends, the lengths of their splines and the ends of those, as :func:`collars.bends.drawn`
    draws each of them; nan where an edge cannot carry its rise."""
    bend = bends_with_rise(straight, length, rise)
    asked_length, asked_rise = length, rise + np.zeros_like(length)
    going = np.ones(len(length), dtype=np.bool_)
    for _ in range(ROUNDS):
        spline, end = _splines(bend)
        off_length, off_rise = length - spline, rise - end.y
        going &= (np.abs(off_length) >= ARC) | (np.abs(off_rise) >= ARC)
        if not going.any():
            break
        asked_length = np.where(going, asked_length + off_length, asked_length)
        asked_rise = np.where(going, asked_rise + off_rise, asked_rise)
        bend = bends_with_rise(straight, asked_length, asked_rise)
    return bend, spline, end


def _splines(bend: Bend) -> tuple[FloatArray, Point]:
    """How long the splines of bends are, and where they end."""
    rows = bend.points(bend.stations())[bend.bends_from :]
    level = np.hypot(rows[0, :, 0], rows[0, :, 1]) if bend.bends_from else 0.0
    bent = spline_lengths_of(rows, Point(1.0, 0.0), direction(bend.angle))
    end: tuple[Many, Many] = (rows[-1, :, 0], rows[-1, :, 1])
    return level + bent, Point(*end)
