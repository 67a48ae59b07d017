"""The whole draft as a pure function of the roots, and what can be read off it as numbers.

Centimetres and radians; the numbers of checks are in the check's own unit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from blocks.body.body import Body, complete, rules_used
from blocks.body.measures import measurements
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.pieces.checks import Check
from garment.garment import Garment, draft_collar, make_garment
from garment.wishes import Commission
from workroom.certainty.inputs import TAPED, Slopes, combined, step_of

# ---- Central differences, where no formula gives the slope: two or four values of a pure
# function

Values = Callable[[float], FloatArray]


def slope(values: Values, step: float) -> FloatArray:
    """The slope at nought of several numbers, from two values of each: off by the order of
    ``step`` squared."""
    return np.asarray((values(step) - values(-step)) / (2.0 * step), dtype=np.float64)


def fine_slope(values: Values, step: float) -> FloatArray:
    """The same from four values, extrapolated (L. F. Richardson, 1911): off by the order of
    ``step`` to the fourth."""
    return np.asarray((4.0 * slope(values, step / 2.0) - slope(values, step)) / 3.0)


Numbers = Mapping[str, float]


def moved_body(taken: Mapping[str, float], moves: Mapping[str, float]) -> Body:
    """The body when the roots move: measurements taken by so much, estimated ones away from their
    rules by so much, what is estimated from either going along."""
    body = complete(taken)
    values = {key: value + moves.get(key, 0.0) for key, value in taken.items()}
    for key, rule in rules_used(taken).items():
        values[key] = rule.value(values) + moves.get(key, 0.0)
    ordered = {key: values[key] for key in measurements() if key in values}
    return Body(ordered, body.estimated)


def order_at(card: Commission, moves: Mapping[str, float]) -> Garment:
    """The order drafted anew with its roots moved. Raises :class:`DraftError`."""
    if not card.neckline.from_tape:
        return make_garment(card, moved_body(card.measurements, moves))
    arcs = {key: getattr(card.neckline, key) + moves.get(key, 0.0) for key in TAPED}
    taken = {key: value + moves.get(key, 0.0) for key, value in card.measurements.items()}
    return make_garment(
        replace(card, measurements=taken, neckline=replace(card.neckline, **arcs)), None
    )


def numbers_of(order: Garment) -> dict[str, float]:
    """Every number of the collar, and by how much every check's measure is off its target."""
    found = {
        f"collar.{key}": v for key, v in (order.collar.numbers if order.collar else {}).items()
    }
    return found | {key: check.off for key, check in keyed(order.checks)}


def keyed(checks: Iterable[Check]) -> list[tuple[str, Check]]:
    """Checks with keys that stay when a draft moves a little: name, and which one of that name."""
    counts: dict[str, int] = {}
    found = []
    for check in checks:
        count = counts[check.name] = counts.get(check.name, 0) + 1
        found.append((f"check.{check.name}.{count}", check))
    return found


def collar_alone(order: Garment, neckline: Neckline) -> dict[str, float]:
    """The numbers of an order's collar drafted to another neckline from its arcs alone."""
    collar = draft_collar(order.commission, CollarBase(neckline))
    assert collar is not None
    return collar_numbers(collar)


def collar_numbers(collar: CollarDraft) -> dict[str, float]:
    """The numbers of a collar, and how far its checks are off, by their keys."""
    found = {f"collar.{key}": value for key, value in collar.numbers.items()}
    return found | {key: check.off for key, check in keyed(collar.checks)}


def from_arcs(order: Garment) -> bool:
    """Whether the order's collar is drafted from the neckline's arcs alone."""
    return order.collar is not None and not COLLARS[order.collar.kind].needs_block


def row(numbers: Numbers, keys: Iterable[str]) -> FloatArray:
    """Numbers in the order of ``keys``, nan where there is none."""
    return np.array([numbers.get(key, np.nan) for key in keys])


# ---- How collar and checks move with the roots

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
