"""How sure the numbers of an order are: slopes, standard deviations, shares, chances.

The errors of the measurements are taken as independent and normal, and every number as linear in
them within their range; how checks come out on her real body is told in :mod:`worn`. Centimetres
and radians inside; checks in their own unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from collars.stands.from_neck import ON_NECK
from drafting.formulas.writing import words as title_words
from drafting.pieces.checks import Check
from garment.garment import Garment
from workroom.certainty.drafts import Moving, keyed, moving
from workroom.certainty.inputs import (
    TAPED,
    Reading,
    Roots,
    Slopes,
    combined,
    quantity_slopes,
    roots_of,
    taped_roots,
)
from workroom.certainty.neckline import NecklineSlopes, neckline_slopes
from workroom.certainty.worn import SURE, Worn, rules, spread, worn

EXACT = "worked out exactly"
SOLVED = "worked out exactly through the fit to the neck"
CHAINED = "redrafting the collar, carried on from the neckline"
DIFFERENCES = "redrafting the whole order"
BY_NECK = "remeasuring the neck where the top edge lies"


@dataclass(frozen=True, slots=True)
class UncertainValue:
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
    """A check: ``slopes`` how it moves when the draft is made anew (``reckoned`` whether that is
    known), ``worn`` how the pieces as cut compare with her real body, ``None`` where they are not
    compared with it. ``chance`` is how often they do no harm on her, ``on_target`` how often they
    would pass by the tolerance on paper."""

    check: Check
    slopes: Slopes
    worn: Worn | None
    sd: float
    chance: float
    on_target: float
    reckoned: bool = True

    @property
    def settled(self) -> bool:
        """Whether it comes out as it is once cut, whatever the errors of measuring."""
        return self.worn is None or self.sd < SURE


@dataclass(frozen=True, slots=True)
class Certainty:
    """How sure an order is. ``numbers`` are by key: the method's quantities by their names,
    ``neckline.back_arc`` and its like, ``collar.closed_top_girth`` and its like."""

    order: Garment
    roots: Roots
    numbers: Mapping[str, UncertainValue]
    checks: tuple[SureCheck, ...]
    open: frozenset[str] = field(default_factory=frozenset)

    @property
    def readings(self) -> Mapping[str, Reading]:
        """How sure each measurement is."""
        return self.roots.readings


def certainty(order: Garment, *, thorough: bool = False) -> Certainty:
    """How sure the numbers and checks of an order are.

    Quantities and neckline are always worked out, a collar drafted from the arcs too; what else
    moves is only named in ``open`` unless it is to be ``thorough``, which costs four drafts for
    each measurement.
    """
    numbers: dict[str, UncertainValue] = {}
    if order.bodice is None:
        roots = taped_roots(order.neckline.neck_girth is not None)
        arcs: dict[str, Slopes] = {key: roots.body[key] for key in roots.body}
        half = combined((1.0, arcs[key]) for key in TAPED)
        numbers |= _neckline(order, arcs["back_arc"], arcs["front_arc"], half, EXACT)
        used = sorted(roots.body)
    else:
        roots = roots_of(order.commission.measurements)
        quantities = quantity_slopes(order.bodice.quantities, roots)
        kinds = order.bodice.quantities.method.sheet.entries
        for name, slopes in quantities.items():
            value = order.bodice.quantities[name]
            words = title_words(name)
            numbers[name] = UncertainValue(words, value, str(kinds[name].kind), slopes, EXACT)
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
        _check(check, moved.slopes.get(key, {}), order, roots, key in moved.open)
        for key, check in keyed(order.checks)
    )
    solved = _closed_by_neck(order, checks)
    numbers = {**solved, **numbers}
    return Certainty(order, roots, numbers, checks, moved.open - solved.keys())


def shares(slopes: Slopes, readings: Mapping[str, Reading]) -> dict[str, float]:
    """What each root has in the variance, the largest first."""
    parts = {root: (by * readings[root].sd) ** 2 for root, by in slopes.items()}
    whole = sum(parts.values())
    ranked = sorted(parts.items(), key=lambda part: (-part[1], part[0]))
    return {root: part / whole for root, part in ranked} if whole > 0.0 else {}


def _check(
    check: Check, slopes: Slopes, order: Garment, roots: Roots, left_open: bool
) -> SureCheck:
    on_her = worn(check, order, roots)
    if on_her is None:
        now = float(within_tolerance(check))
        return SureCheck(check, slopes, None, 0.0, now, now, not left_open)
    return SureCheck(
        check,
        slopes,
        on_her,
        on_her.sd(roots.readings),
        on_her.chance(check.off, roots.readings),
        on_her.on_target(check, roots.readings),
        not left_open,
    )


def within_tolerance(check: Check) -> bool:
    """Whether a check's measure is what it should be."""
    return check.off >= -check.tolerance and (check.least or check.off <= check.tolerance)


def _neckline(
    order: Garment, back: Slopes, front: Slopes, half: Slopes, how: str
) -> dict[str, UncertainValue]:
    line = order.neckline
    return {
        "neckline.half": UncertainValue("half neckline", line.half, "cm", half, how),
        "neckline.back_arc": UncertainValue("back arc", line.back_arc, "cm", back, how),
        "neckline.front_arc": UncertainValue("front arc", line.front_arc, "cm", front, how),
        "neckline.whole": UncertainValue(
            "whole neckline", 2 * line.half, "cm", combined(((2.0, half),)), how
        ),
    }


def _collar(order: Garment, moved: Moving) -> dict[str, UncertainValue]:
    """The numbers of the collar whose slopes are known."""
    found = {}
    for name, value in (order.collar.numbers if order.collar else {}).items():
        key = f"collar.{name}"
        if key in moved.open:
            continue
        unit = "deg" if name.endswith("angle") else "cm"
        how = DIFFERENCES if key in moved.differences else CHAINED
        slopes = moved.slopes.get(key, {})
        found[key] = UncertainValue(
            title_words(name), value, unit, slopes, how if slopes else EXACT
        )
    return found


def _closed_by_neck(order: Garment, checks: tuple[SureCheck, ...]) -> dict[str, UncertainValue]:
    """The closed top girth of a stand whose rise was solved from her neck: it moves just as her
    neck does where it lies."""
    key = "closed_top_girth"
    for one in checks:
        if one.check.name == ON_NECK and one.worn is not None and abs(one.check.off) < SURE:
            assert order.collar is not None
            slopes = {root: -by for root, by in one.worn.slopes.items()}
            value = order.collar.numbers[key]
            return {
                f"collar.{key}": UncertainValue("closed top girth", value, "cm", slopes, BY_NECK)
            }
    return {}


def _drafted_neckline(
    order: Garment, found: NecklineSlopes, target: Slopes
) -> dict[str, UncertainValue]:
    assert order.bodice is not None
    fit = order.bodice.fit
    half = combined(((1.0, found.back_arc), (1.0, found.front_arc)))
    if fit.applied is not None and fit.style is None and fit.toile is None:
        half = combined(((0.5, target),))  # just the equation that was solved
    numbers = _neckline(order, found.back_arc, found.front_arc, half, SOLVED)
    numbers["neckline.target"] = UncertainValue(
        "neck base girth with ease", fit.target, "cm", target, EXACT
    )
    if found.drafted:
        name = "neckline as the method draws it"
        numbers["neckline.drafted"] = UncertainValue(name, fit.drafted, "cm", found.drafted, EXACT)
    return numbers


def _read_by(order: Garment) -> set[str]:
    """Every measurement that may matter to an order."""
    assert order.bodice is not None
    against = {row["measurement"] for row in rules() if "measurement" in row}
    collar = order.collar.leans_on if order.collar is not None else frozenset()
    return set(order.bodice.quantities.method.reads) | against | collar | {"waist_to_hip"}


# ---- The chance that a closed collar is no danger: that it leaves the neck the least room it
# needs


def room_chance(found: Certainty) -> float | None:
    """The chance that the closed collar, as cut, is longer than her neck really is where it is
    compared with it, by the least room there must be; ``None`` when nothing closes or no neck
    girth is known."""
    closed = [one.chance for one in found.checks if one.worn is not None and one.worn.room]
    return min(closed, default=None)


# ---- Which measurement to take again first

#: A rise of a check's chance below this is not worth the tape: one in a hundred.
WORTH = 0.01
#: A measurement with this share in the neckline's variance is worth the tape in any case.
NECK = 0.1


@dataclass(frozen=True, slots=True)
class Retake:
    """A measurement to take once more: ``gain`` is by how much the chances of the checks rise in
    all, ``check`` the one that gains most (``None`` when none gains), ``now`` and ``then`` its
    chance before and after, ``share`` what the measurement has in the neckline's variance."""

    reading: Reading
    gain: float
    share: float
    check: SureCheck | None = None
    now: float = 0.0
    then: float = 0.0


def retakes(found: Certainty) -> tuple[Retake, ...]:
    """Measurements worth taking again, the best first: those with ``NECK`` or more of the
    neckline's variance, then by what the chances of all checks gain from one more reading."""
    half: UncertainValue = found.numbers["neckline.half"]
    of_neck = half.shares(found.readings)
    rows = []
    for root, reading in found.readings.items():
        row = _retake(found, root, reading, of_neck.get(root, 0.0))
        if row.gain >= WORTH or row.share >= NECK:
            rows.append(row)
    return tuple(sorted(rows, key=lambda row: (row.share < NECK, -row.gain, row.reading.key)))


def _retake(found: Certainty, root: str, reading: Reading, share: float) -> Retake:
    gain, best = 0.0, Retake(reading, 0.0, share)
    again = {**found.readings, root: replace(reading, sd=reading.better)}
    for one in found.checks:
        if one.settled or one.worn is None or root not in one.worn.slopes:
            continue
        then = one.worn.chance(one.check.off, again)
        rise = then - one.chance
        gain += rise
        if rise > best.then - best.now and rise >= WORTH:
            best = Retake(reading, 0.0, share, one, one.chance, then)
    return Retake(reading, gain, share, best.check, best.now, best.then)
