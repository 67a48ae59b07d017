"""How collar and checks move with the roots.

A collar drafted from the neckline's arcs alone moves with four numbers: both arcs, the shoulders'
slope and the neck girth. Its slopes with those are central differences of the collar alone, chained
with the slopes of the neckline, which are exact. One draft of the whole order a little beside the
first then tells what else moves, and whether the chain holds; what it does not hold for is taken by
central differences of the whole draft, extrapolated, when that is asked for: four drafts for each
root.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from blocks.neckline import Neckline
from drafting.errors import DraftError
from drafting.points import FloatArray
from workroom.certainty.differences import Values, fine_slope, slope
from workroom.certainty.drafts import (
    collar_alone,
    collar_numbers,
    from_arcs,
    numbers_of,
    order_at,
    row,
)
from workroom.certainty.readings import step_of
from workroom.certainty.roots import Slopes, combined
from workroom.order import Garment

#: Steps of the differences (cm, of angles a tenth in radians): of the collar alone, whose lengths
#: are known to 1e-10; of the whole draft, where some checks are rounded to 1e-6; and of the one
#: draft beside.
COLLAR_STEP, DRAFT_STEP, BESIDE = 0.004, 0.1, 0.01
#: What moves less than this in the draft beside (cm, degrees) does not hang on the measurements.
STILL = 2e-5
#: The chain may miss this share of a number's move in the draft beside, which is not linear.
MISSED = 0.02
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True, slots=True)
class Moving:
    """The slopes of numbers by their keys; ``still`` do not move, ``open`` do and were not
    worked out; ``differences`` are those taken by differences of the whole draft."""

    slopes: Mapping[str, Slopes]
    still: frozenset[str]
    open: frozenset[str]
    differences: frozenset[str] = frozenset()


def moving(
    order: Garment, arcs: Mapping[str, Slopes], roots: list[str], *, thorough: bool
) -> Moving:
    """How the numbers of an order move.

    ``arcs`` holds the slopes of ``back_arc``, ``front_arc``, ``shoulders_slope`` and
    ``neck_girth``, ``roots`` all that may matter; ``thorough`` works out what the chain leaves
    open.
    """
    base = numbers_of(order)
    chain = _collar(order, arcs) if from_arcs(order) and not _leans(order) else {}
    moves = _beside(roots)
    try:
        beside = numbers_of(order_at(order.commission, moves))
    except DraftError:
        beside = {}
    still, open_, good = set(), set(), {}
    for key, value in base.items():
        moved = beside.get(key, np.nan) - value
        slopes = chain.get(key, {})
        told = sum(by * moves.get(root, 0.0) for root, by in slopes.items())
        if key in chain and abs(moved - told) <= STILL + MISSED * abs(told):
            good[key] = slopes
        elif abs(moved) < STILL:
            still.add(key)
        else:
            open_.add(key)
    if not thorough or not open_:
        return Moving(good, frozenset(still), frozenset(open_))
    keys = sorted(open_)
    found = _whole(order, keys, roots)
    missing = frozenset(key for key in keys if key not in found)
    return Moving(good | found, frozenset(still), missing, frozenset(found))


def _leans(order: Garment) -> bool:
    """Whether more than the arcs moves the collar, so that the chain cannot hold."""
    return order.collar is not None and bool(order.collar.leans_on)


def _collar(order: Garment, arcs: Mapping[str, Slopes]) -> dict[str, Slopes]:
    neckline = order.neckline
    numbers = collar_numbers(order.collar) if order.collar else {}
    keys, now = list(numbers), row(numbers, numbers)
    by_scalar: dict[str, FloatArray] = {}
    for scalar in arcs:
        if getattr(neckline, scalar) is None or not arcs[scalar]:
            continue
        at = _collar_along(order, neckline, scalar, keys)
        step = COLLAR_STEP * (0.1 if scalar == "shoulders_slope" else 1.0)
        try:
            if np.array_equal(at(step), now, equal_nan=True):
                continue  # it plays no part in this collar
            by_scalar[scalar] = slope(at, step)
        except DraftError:
            return {}
    return {
        key: combined((float(by[k]), arcs[scalar]) for scalar, by in by_scalar.items())
        for k, key in enumerate(keys)
        if not any(np.isnan(by[k]) for by in by_scalar.values())
    }


def _collar_along(order: Garment, neckline: Neckline, scalar: str, keys: list[str]) -> Values:
    @cache
    def at(step: float) -> FloatArray:
        moved = replace(neckline, **{scalar: getattr(neckline, scalar) + step})
        return row(collar_alone(order, moved), keys)

    return at


def _beside(roots: list[str]) -> dict[str, float]:
    """A small move of every root, no two alike, so that nothing cancels out by chance."""
    return {
        root: step_of(root, BESIDE) * (1 if k % 2 else -1) * (0.5 + (k * _GOLDEN) % 1.0)
        for k, root in enumerate(roots)
    }


def _whole(order: Garment, keys: list[str], roots: list[str]) -> dict[str, Slopes]:
    """Slopes by differences of the whole draft; keys that are not there on every side are left
    out, roots whose draft is refused on one side too."""
    found: dict[str, dict[str, float]] = {key: {} for key in keys}
    for root in roots:

        def at(step: float, root: str = root) -> FloatArray:
            return row(numbers_of(order_at(order.commission, {root: step})), keys)

        try:
            by = fine_slope(at, step_of(root, DRAFT_STEP))
        except DraftError:
            return {}
        for key, one in zip(keys, by, strict=True):
            if np.isnan(one):
                found.pop(key, None)
            elif key in found and abs(one) > STILL:
                found[key][root] = float(one)
    return dict(found)
