"""What one reading of a measurement may be off by, as a standard deviation, and whose figure it is.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import radians, sqrt

from blocks.measures import Estimate, Measurement, measurements
from drafting.library import read_data
from drafting.sentences import length
from drafting.units import MM_PER_CM

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
        said = f"two observers may differ by {length(allowed)}"
        return Reading(key, found.name, allowed / known["observers"], said)
    if found.iso_error_mm is None:
        return Reading(key, found.name, _usual_spread(found), "no error is published for it")
    allowed = found.iso_error_mm / MM_PER_CM
    said = f"class limit of {length(allowed)}" + (
        ", class chosen by analogy" if found.iso_error_by_analogy else ""
    )
    return Reading(key, found.name, allowed / known["iso"], said)


def estimated(key: str, rule: Estimate) -> Reading:
    """How sure a measurement is that was estimated by a rule, over and above those it leans on."""
    found = measurements()[key]
    if rule.residual is not None:
        spread = length(rule.residual, places=2)
        said = f"not taken: women spread by {spread} about what it is estimated to be"
        return Reading(key, found.name, rule.residual, said, taken=False)
    said = "not taken, and no spread is published: that of all women, which is at most too much"
    return Reading(key, found.name, _usual_spread(found), said, taken=False)


def _usual_spread(found: Measurement) -> float:
    low, high = found.usual
    return found.inside(high - low) / figures()["unknown"]
