"""A client's body: what was measured, and what was estimated from it.

Lengths in centimetres and angles in radians. A taken measurement is never changed.
"""

from __future__ import annotations

from collections.abc import Collection, Container, Mapping
from dataclasses import dataclass

from blocks.body.measures import (
    Estimate,
    Measurement,
    SizeRelation,
    measurements,
    orders,
    refuse_unknown,
)
from drafting.errors import DraftError, Problem
from drafting.sentences import Sentence

__all__ = ["Body", "Estimate", "Measurement", "SizeRelation", "complete", "measurements", "orders"]


@dataclass(frozen=True, slots=True)
class Body:
    """Measurements by key, taken and estimated (centimetres, radians for angles).

    ``estimated`` says of each estimated one, in a sentence, from what and by whose rule.
    """

    values: Mapping[str, float]
    estimated: Mapping[str, str]

    def __getitem__(self, key: str) -> float:
        """The measurement ``key``; raises :class:`DraftError` when it is not known."""
        try:
            return self.values[key]
        except KeyError:
            known = measurements().get(key)
        if known is None:
            raise DraftError(Problem("there is no measurement of this name", key=key))
        raise DraftError(
            Problem(
                f"{known.name} is needed and cannot be estimated from what was measured",
                key=key,
                advice=known.how,
            )
        )

    def __contains__(self, key: object) -> bool:
        return key in self.values

    @property
    def taken(self) -> tuple[str, ...]:
        """What was measured."""
        return tuple(key for key in self.values if key not in self.estimated)

    def is_estimated(self, key: str) -> bool:
        """Whether ``key`` was estimated rather than measured."""
        return key in self.estimated


def complete(taken: Mapping[str, float]) -> Body:
    """The body with every missing measurement estimated that can be.

    ``taken`` in centimetres and radians. Estimates that lean on taken measurements alone come
    first; what is then missing may lean on estimates too. What nothing is known for stays out, and
    asking the body for it raises. Raises :class:`DraftError` for a measurement of unknown name.
    """
    refuse_unknown(taken)
    values = dict(taken)
    sentences: dict[str, str] = {}
    for key, rule in rules_used(taken).items():
        values[key] = rule.value(values)
        sentences[key] = _sentence(rule, sentences)
    ordered = {key: values[key] for key in measurements() if key in values}
    return Body(ordered, {key: sentences[key] for key in ordered if key in sentences})


def rules_used(taken: Collection[str]) -> dict[str, Estimate]:
    """By which rule each missing measurement is estimated, in the order of working out: each leans
    on what was ``taken`` and on those before it alone."""
    known, found = measurements(), set(taken)
    used: dict[str, Estimate] = {}
    for key, measurement in known.items():
        rule = usable(measurement, taken)
        if key not in found and rule is not None and rule.leans_on:
            used[key] = rule
    found |= set(used)
    for key, measurement in known.items():
        rule = usable(measurement, found)
        if key not in found and rule is not None:
            used[key] = rule
            found.add(key)
    return used


def usable(measurement: Measurement, values: Container[str]) -> Estimate | None:
    """The first of a measurement's rules whose measurements are all among ``values``."""
    return next(
        (rule for rule in measurement.estimates if all(key in values for key in rule.leans_on)),
        None,
    )


def _sentence(rule: Estimate, estimated: Container[str]) -> str:
    if not rule.leans_on:
        return Sentence(f"assumed: {rule.source}")
    names = [
        measurements()[key].name + (" (itself estimated)" if key in estimated else "")
        for key in rule.leans_on
    ]
    said = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    return Sentence(f"estimated from {said}: {rule.source}")
