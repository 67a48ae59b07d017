"""From what was measured to everything a draft reads of the body, with exact derivatives.

The roots are the measurements taken, and of each estimated one its own departure from its rule: an
estimated measurement moves with those it is estimated from, one centimetre for one centimetre with
its own departure, and takes along whatever is estimated from it in turn.

Closed form throughout: slopes are carried through the formulas (``drafting.formulas``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from blocks.body import rules_used
from blocks.methods import Quantities
from drafting.formulas.slopes import Slope
from workroom.certainty.readings import TAPED, Reading, estimated, reading

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
