"""From what was measured to everything a draft reads of the body, with exact derivatives.

The roots are the measurements taken, and of each estimated one its own departure from its rule: an
estimated measurement moves with those it is estimated from, one centimetre for one centimetre with
its own departure, and takes along whatever is estimated from it in turn.

Closed form throughout: slopes are carried through the formulas (``drafting.formulas``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from math import radians, sqrt

from blocks.bodice.methods import Quantities
from blocks.body.body import rules_used
from blocks.body.measures import Estimate, Measurement, measurements
from drafting.formulas.numbers import Slope
from drafting.library import read_data
from drafting.sentences import length
from drafting.units import CM_PER_INCH, MM_PER_CM, SMALL_INCHES

# ---- What one reading of a measurement may be off by, as a standard deviation, and whose figure
# it is

#: Arcs of a paper block, which stand in the place of measurements when a neckline was taped.
TAPED = {"back_arc": "taped back arc", "front_arc": "taped front arc"}


@dataclass(frozen=True, slots=True)
class Reading:
    """How sure one measurement is: ``sd`` the standard deviation (cm, radians), ``said`` in words
    where it comes from, ``taken`` whether it was measured at all."""

    key: str
    name: str
    sd: float
    said: str
    taken: bool = True

    @property
    def better(self) -> float:
        """The standard deviation after one more reading: the mean of two, or of an estimated one
        its first reading."""
        return self.sd / sqrt(2.0) if self.taken else min(self.sd, reading(self.key).sd)


@cache
def figures() -> Mapping[str, float]:
    """The figures of ``[reading]`` in ``data/certainty.toml``."""
    table = read_data("certainty").values["reading"]
    return {key: float(row["value"]) for key, row in table.items()}


def is_angle(root: str) -> bool:
    """Whether a root is an angle (radians); the others are lengths."""
    return root not in TAPED and measurements()[root].unit == "deg"


def step_of(root: str, cm: float) -> float:
    """A step of a root for differences: ``cm``, or of an angle a tenth of it (radians),
    since what turns moves by some 10 cm for each radian."""
    return 0.1 * cm if is_angle(root) else cm


def reading(key: str) -> Reading:
    """How sure a measurement is that was taken. Raises ``KeyError`` for no measurement."""
    known = figures()
    if key in TAPED:
        return Reading(key, TAPED[key], known["tape"], "taped along a seam line")
    found = measurements()[key]
    if found.unit == "deg":
        said = "an angle read off a level or gauge"
        return Reading(key, found.name, radians(known["angle_deg"]), said)
    if found.handbook_error_mm is not None:
        allowed = found.handbook_error_mm / MM_PER_CM
        said = f"two people measuring may differ by {_small(allowed)}"
        return Reading(key, found.name, allowed / known["observers"], said)
    if found.iso_error_mm is None:
        return Reading(key, found.name, _usual_spread(found), "no error is published for it")
    allowed = found.iso_error_mm / MM_PER_CM
    said = f"the limit for its class is {_small(allowed)}" + (
        ", the class chosen by analogy" if found.iso_error_by_analogy else ""
    )
    return Reading(key, found.name, allowed / known["iso"], said)


def estimated(key: str, rule: Estimate) -> Reading:
    """How sure a measurement is that was estimated by a rule, over and above those it leans on."""
    found = measurements()[key]
    if rule.residual is not None:
        spread = length(rule.residual, places=2)
        said = f"not measured: women differ from the estimate by {spread}"
        return Reading(key, found.name, rule.residual, said, taken=False)
    said = "not measured: as much as all women differ, so rather too much than too little"
    return Reading(key, found.name, _usual_spread(found), said, taken=False)


def _small(allowed: float) -> str:
    """An error allowed (cm); in inches as a tape shows it, never in hundredths."""
    return length(allowed, tape=allowed < SMALL_INCHES * CM_PER_INCH)


def _usual_spread(found: Measurement) -> float:
    low, high = found.usual
    return found.inside(high - low) / figures()["unknown"]


#: How much something moves with each root: centimetres (radians) per centimetre (radian).
Slopes = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Roots:
    """The roots of one order by key, and how each measurement moves with them."""

    readings: Mapping[str, Reading]
    body: Mapping[str, Slopes]


def roots_of(taken: Mapping[str, float]) -> Roots:
    """The roots of a body. ``taken`` in centimetres and radians."""
    slopes = {key: Slope(value, {key: 1.0}) for key, value in taken.items()}
    readings = {key: reading(key) for key in taken}
    for key, rule in rules_used(taken).items():
        found = rule.formula.sloping(slopes)
        slopes[key] = Slope(found.value, {**found.by, key: 1.0})
        readings[key] = estimated(key, rule)
    return Roots(readings, {key: slope.by for key, slope in slopes.items()})


def taped_roots(neck_girth: bool) -> Roots:
    """The roots of a neckline taped on a paper block, with or without the client's neck girth."""
    keys = (*TAPED, *(("neck_girth",) if neck_girth else ()))
    return Roots({key: reading(key) for key in keys}, {key: {key: 1.0} for key in keys})


def quantity_slopes(quantities: Quantities, roots: Roots) -> dict[str, Slopes]:
    """How every quantity of a method moves with the roots, exactly.

    The ease a card asks for is over the body, so that a method's own ease would drop out if it
    moved with the body; in no method does it.
    """
    gradient = quantities.method.sheet.gradient(quantities.inputs)
    return {
        name: chained({key: by for key, by in found.items() if key in roots.body}, roots.body)
        for name, found in gradient.items()
    }


def chained(outer: Slopes, inner: Mapping[str, Slopes]) -> dict[str, float]:
    """The chain rule: how much something moves with the roots, when it moves by ``outer`` with
    things that move by ``inner``."""
    return combined((by, inner[key]) for key, by in outer.items())


def combined(parts: Iterable[tuple[float, Slopes]]) -> dict[str, float]:
    """A sum of slopes, each times its factor; roots that move nothing are left out."""
    found: dict[str, float] = {}
    for factor, slopes in parts:
        if factor == 0.0:
            continue
        for root, by in slopes.items():
            found[root] = found.get(root, 0.0) + factor * by
    return {root: by for root, by in found.items() if by != 0.0}
