"""The body measurements of ``data/measurements.toml``: what each is, how taken, how estimated."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from drafting.errors import DataError, DraftError, NeckarcError, Problem
from drafting.formulas import Formula, Kind, check_kind, parse
from drafting.library import TomlText, read_data
from drafting.sentences import Sentence

MeasureUnit = Literal["cm", "deg"]
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Estimate:
    """One rule for a measurement that was not taken: its formula, what it leans on, its source.

    ``residual`` is the standard deviation of real women about it (cm), ``None`` where its source
    gives none.
    """

    leans_on: tuple[str, ...]
    text: str
    source: str
    formula: Formula
    residual: float | None = None

    def value(self, known: Mapping[str, float]) -> float:
        """The estimate in centimetres or radians; ``known`` holds at least ``leans_on``."""
        return float(self.formula.evaluate(known))


@dataclass(frozen=True, slots=True)
class Measurement:
    """One body measurement.

    ``hard`` and ``usual`` are in ``unit`` (centimetres or degrees). ``iso_number`` is empty where
    it could not be verified; errors are in millimetres, ``None`` where nothing is published.
    ``partner`` is the measurement without which it means nothing; ``retired`` says why it is not
    asked for any more, empty for all that are.
    """

    key: str
    name: str
    iso_name: str
    iso_number: str
    how: str
    unit: MeasureUnit
    hard: Range
    usual: Range
    usual_source: str
    iso_error_mm: float | None
    iso_error_by_analogy: bool
    handbook_error_mm: float | None
    estimates: tuple[Estimate, ...]
    partner: str = ""
    retired: str = ""

    def shown(self, value: float) -> float:
        """A value as used inside (centimetres or radians) in ``unit``."""
        return math.degrees(value) if self.unit == "deg" else value

    def inside(self, value: float) -> float:
        """A value in ``unit`` as used inside: centimetres or radians."""
        return math.radians(value) if self.unit == "deg" else value


@dataclass(frozen=True, slots=True)
class SizeRelation:
    """Two measurements of which ``larger`` is larger on every body.

    ``least`` and ``most`` are the smallest and largest difference seen (cm), ``None`` if unknown.
    """

    smaller: str
    larger: str
    least: float | None
    most: float | None
    source: str


@cache
def measurements() -> Mapping[str, Measurement]:
    """Every measurement by its key, in file order.

    Raises :class:`DataError` when the file has mistakes, and lists every one.
    """
    return read_measurements(read_data("measurements"))


@cache
def asked_for() -> Mapping[str, Measurement]:
    """Those that are asked for: all but the retired."""
    return {key: one for key, one in measurements().items() if not one.retired}


@cache
def orders() -> tuple[SizeRelation, ...]:
    """Every pair of measurements whose order is the same on all bodies."""
    return tuple(
        SizeRelation(
            table["smaller"],
            table["larger"],
            table.get("least"),
            table.get("most"),
            table["source"],
        )
        for table in read_data("measurements").values["order"]
    )


def refuse_unknown(keys: Iterable[str]) -> None:
    """Raises :class:`DraftError` that names every one of ``keys`` that is no measurement."""
    strange = [key for key in keys if key not in measurements()]
    if strange:
        raise DraftError([Problem("there is no measurement of this name", key=k) for k in strange])


def read_measurements(toml: TomlText) -> Mapping[str, Measurement]:
    """The measurements of a parsed file, in its order.

    Raises :class:`DataError` with every mistake: something missing, a formula that cannot be read,
    that gives the wrong unit or uses other measurements than it says, estimates that could go in a
    ring.
    """
    tables = {key: table for key, table in toml.values.items() if key != "order"}
    found: dict[str, Measurement] = {}
    problems: list[Problem] = []
    for key, table in tables.items():
        try:
            found[key] = _measurement(key, table, toml)
        except NeckarcError as error:
            problems.extend(error.problems)
    for key, measurement in found.items():
        problems.extend(_check(measurement, found, toml.place(key)))
    if problems:
        raise DataError(problems)
    return found


def _measurement(key: str, table: dict[str, Any], toml: TomlText) -> Measurement:
    try:
        return Measurement(
            key=key,
            name=str(table["name"]),
            iso_name=str(table["iso_name"]),
            iso_number=str(table["iso_number"]),
            how=Sentence(table["how"]),
            unit=_unit(table["unit"]),
            hard=_range(table["hard"]),
            usual=_range(table["usual"]),
            usual_source=Sentence(table["usual_source"]),
            iso_error_mm=table.get("iso_error_mm"),
            iso_error_by_analogy=bool(table.get("iso_error_by_analogy", False)),
            handbook_error_mm=table.get("handbook_error_mm"),
            estimates=tuple(
                Estimate(
                    tuple(rule["from"]),
                    rule["formula"],
                    rule["source"],
                    parse(rule["formula"], place=toml.place(f"{key}.estimate.{index}", key)),
                    float(rule["residual_cm"]) if "residual_cm" in rule else None,
                )
                for index, rule in enumerate(table.get("estimate", ()))
            ),
            partner=str(table.get("with", "")),
            retired=Sentence(table.get("retired", "")),
        )
    except NeckarcError:
        raise
    except KeyError as error:
        said = f"{error.args[0]} is missing"
    except (TypeError, ValueError) as error:
        said = str(error)
    raise DataError(Problem(said, toml.place(key), key))


def _check(measurement: Measurement, found: Mapping[str, Measurement], place: str) -> list[Problem]:
    """What is wrong with the estimates of ``measurement`` among all that were ``found``."""
    key = measurement.key
    kinds = {name: Kind(other.unit) for name, other in found.items()}
    problems: list[Problem] = []
    for rule in measurement.estimates:
        if rule.formula.names != set(rule.leans_on) or not rule.formula.names <= set(kinds):
            problems.append(
                Problem(
                    "from must name the measurements of the formula, no more and no fewer",
                    rule.formula.place,
                    key,
                    got=", ".join(rule.leans_on) or "nothing",
                    accepted=", ".join(sorted(rule.formula.names & set(kinds))) or "nothing",
                )
            )
            continue
        try:
            check_kind(
                rule.formula.tree,
                kinds,
                Kind(measurement.unit),
                place=rule.formula.place,
                key=key,
            )
        except NeckarcError as error:
            problems.extend(error.problems)
    above = list(found)[: list(found).index(key)]
    last = measurement.estimates[-1].leans_on if measurement.estimates else ()
    later = [name for name in last if name not in above]
    if later:
        said = "the last rule leans on measurements that do not stand further up"
        problems.append(Problem(said, place, key, ", ".join(later)))
    return problems


def _unit(value: object) -> MeasureUnit:
    match value:
        case "cm" | "deg":
            return value
    raise ValueError(f"unit must be cm or deg, not {value!r}")


def _range(value: object) -> Range:
    match value:
        case [int() | float() as low, int() | float() as high] if low < high:
            return float(low), float(high)
    raise ValueError(f"a range is two numbers, the smaller first, not {value!r}")
