"""How sure the numbers of an order are: slopes, standard deviations, shares, chances.

The errors of the measurements are taken as independent and normal, and every number as linear in
them within their range. Centimetres and radians inside; checks in their own unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import erf, inf, sqrt

from drafting.checks import Check, Verdict
from drafting.library import read_data
from workroom.certainty.drafts import keyed
from workroom.certainty.moving import Moving, moving
from workroom.certainty.neckline import NecklineSlopes, neckline_slopes
from workroom.certainty.readings import TAPED, Reading
from workroom.certainty.roots import (
    Roots,
    Slopes,
    combined,
    quantity_slopes,
    roots_of,
    taped_roots,
)
from workroom.order import Order

#: Less than this (cm, degrees) is no uncertainty worth a word: a hundredth of a millimetre.
SURE = 1e-3
EXACT = "worked out exactly"
SOLVED = "worked out exactly through the fit to the neck"
CHAINED = "differences of the collar, chained with the neckline's exact slopes"
DIFFERENCES = "differences of the whole draft"


@dataclass(frozen=True, slots=True)
class Sure:
    """A number of the draft: ``slopes`` how it moves with the roots, ``how`` they were found."""

    name: str
    value: float
    unit: str
    slopes: Slopes
    how: str

    def sd(self, readings: Mapping[str, Reading]) -> float:
        """Its standard deviation."""
        return spread(self.slopes, readings)

    def shares(self, readings: Mapping[str, Reading]) -> dict[str, float]:
        """What each root has in its variance, the largest first; empty when it has none."""
        return shares(self.slopes, readings)


@dataclass(frozen=True, slots=True)
class SureCheck:
    """A check: ``slopes`` how it moves when the draft is made anew, ``off`` those of the pieces as
    cut on the body as it really is, and the ``chance`` that it holds so. ``reckoned`` tells whether
    the slopes are known."""

    check: Check
    slopes: Slopes
    off: Slopes
    sd: float
    chance: float
    reckoned: bool = True

    @property
    def settled(self) -> bool:
        """Whether it holds, or fails, whatever the errors of measuring."""
        return self.reckoned and self.sd < SURE


@dataclass(frozen=True, slots=True)
class Certainty:
    """How sure an order is. ``numbers`` are by key: the method's quantities by their names,
    ``neckline.back_arc`` and its like, ``collar.closed_top_girth`` and its like."""

    order: Order
    roots: Roots
    numbers: Mapping[str, Sure]
    checks: tuple[SureCheck, ...]
    open: frozenset[str] = field(default_factory=frozenset)

    @property
    def readings(self) -> Mapping[str, Reading]:
        """How sure each measurement is."""
        return self.roots.readings


def certainty(order: Order, *, thorough: bool = False) -> Certainty:
    """How sure the numbers and checks of an order are.

    Quantities and neckline are always worked out, a collar drafted from the arcs too; what else
    moves is only named in ``open`` unless it is to be ``thorough``, which costs four drafts for
    each measurement.
    """
    numbers: dict[str, Sure] = {}
    if order.bodice is None:
        roots = taped_roots(order.neckline.neck_girth is not None)
        arcs: dict[str, Slopes] = {key: roots.body[key] for key in roots.body}
        half = combined((1.0, arcs[key]) for key in TAPED)
        numbers |= _neckline(order, arcs["back_arc"], arcs["front_arc"], half, EXACT)
        used = sorted(roots.body)
    else:
        roots = roots_of(order.card.measurements)
        quantities = quantity_slopes(order.bodice.quantities, roots)
        kinds = order.bodice.quantities.method.sheet.entries
        for name, slopes in quantities.items():
            value = order.bodice.quantities[name]
            words = name.replace("_", " ")
            numbers[name] = Sure(words, value, str(kinds[name].kind), slopes, EXACT)
        target = roots.body["neck_base_girth"]
        found = neckline_slopes(order.bodice, quantities, target, as_drawn=thorough)
        numbers |= _drafted_neckline(order, found, target)
        arcs = {
            "back_arc": found.back_arc,
            "front_arc": found.front_arc,
            "shoulders_slope": combined(
                (1.0, quantities[key]) for key in ("front_shoulder_slope", "back_shoulder_slope")
            ),
            "neck_girth": roots.body["neck_girth"],
        }
        used = sorted({root for key in _read_by(order) for root in roots.body.get(key, {})})
    moved = moving(order, arcs, used, thorough=thorough)
    numbers |= _collar(order, moved)
    checks = tuple(
        _check(check, moved.slopes.get(key, {}), roots, key in moved.open)
        for key, check in keyed(order.checks)
    )
    return Certainty(order, roots, numbers, checks, moved.open)


def spread(slopes: Slopes, readings: Mapping[str, Reading]) -> float:
    """The standard deviation that independent errors give to what moves by ``slopes``."""
    return sqrt(sum((by * readings[root].sd) ** 2 for root, by in slopes.items()))


def shares(slopes: Slopes, readings: Mapping[str, Reading]) -> dict[str, float]:
    """What each root has in the variance, the largest first."""
    parts = {root: (by * readings[root].sd) ** 2 for root, by in slopes.items()}
    whole = sum(parts.values())
    ranked = sorted(parts.items(), key=lambda part: (-part[1], part[0]))
    return {root: part / whole for root, part in ranked} if whole > 0.0 else {}


def chance(check: Check, sd: float) -> float:
    """The chance that a check holds whose measure is normal about what it is now: that it lies
    within the tolerance, or above the least."""
    if sd < SURE:
        return 1.0 if holds(check) else 0.0
    high = inf if check.least else (check.tolerance - check.off) / sd
    low = (-check.tolerance - check.off) / sd
    return _below(high) - _below(low)


def holds(check: Check) -> bool:
    """Whether a check's measure is what it should be."""
    if check.verdict is Verdict.PASS:
        return True
    return check.off >= -check.tolerance and (check.least or check.off <= check.tolerance)


def against_body(check: Check, roots: Roots) -> Slopes | None:
    """How a check of the pieces as cut moves with the body as it really is, by
    ``data/certainty.toml``; ``None`` for one that does not compare with the body."""
    for rule in read_data("certainty").values["against"]:
        if check.name.startswith(rule["check"]) and rule["measurement"] in roots.body:
            return combined(((float(rule["per"]), roots.body[rule["measurement"]]),))
    return None


def _below(z: float) -> float:
    """The normal distribution function."""
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def _check(check: Check, slopes: Slopes, roots: Roots, left_open: bool) -> SureCheck:
    off = against_body(check, roots)
    reckoned = off is not None or not left_open
    off = slopes if off is None else off
    sd = spread(off, roots.readings)
    return SureCheck(check, slopes, off, sd, chance(check, sd), reckoned)


def _neckline(order: Order, back: Slopes, front: Slopes, half: Slopes, how: str) -> dict[str, Sure]:
    line = order.neckline
    return {
        "neckline.half": Sure("half neckline", line.half, "cm", half, how),
        "neckline.back_arc": Sure("back arc", line.back_arc, "cm", back, how),
        "neckline.front_arc": Sure("front arc", line.front_arc, "cm", front, how),
        "neckline.whole": Sure(
            "whole neckline", 2 * line.half, "cm", combined(((2.0, half),)), how
        ),
    }


def _collar(order: Order, moved: Moving) -> dict[str, Sure]:
    """The numbers of the collar whose slopes are known."""
    found = {}
    for name, value in (order.collar.numbers if order.collar else {}).items():
        key = f"collar.{name}"
        if key in moved.open:
            continue
        unit = "deg" if name.endswith("angle") else "cm"
        how = DIFFERENCES if key in moved.differences else CHAINED
        slopes = moved.slopes.get(key, {})
        found[key] = Sure(name.replace("_", " "), value, unit, slopes, how if slopes else EXACT)
    return found


def _drafted_neckline(order: Order, found: NecklineSlopes, target: Slopes) -> dict[str, Sure]:
    assert order.bodice is not None
    fit = order.bodice.fit
    half = combined(((1.0, found.back_arc), (1.0, found.front_arc)))
    if fit.applied is not None and fit.style is None and fit.toile is None:
        half = combined(((0.5, target),))  # just the equation that was solved
    numbers = _neckline(order, found.back_arc, found.front_arc, half, SOLVED)
    numbers["neckline.target"] = Sure("neck base girth with ease", fit.target, "cm", target, EXACT)
    if found.drafted:
        name = "neckline as the method draws it"
        numbers["neckline.drafted"] = Sure(name, fit.drafted, "cm", found.drafted, EXACT)
    return numbers


def _read_by(order: Order) -> set[str]:
    """Every measurement that may matter to an order."""
    assert order.bodice is not None
    against = {rule["measurement"] for rule in read_data("certainty").values["against"]}
    collar = order.collar.leans_on if order.collar is not None else frozenset()
    return set(order.bodice.quantities.method.reads) | against | collar | {"waist_to_hip"}
