"""Drafting methods: sheets of formulas in ``data/methods`` that fill one vocabulary.

A method may read every measurement, ``neck_ease`` (centimetres over the neck base girth that the
neckline is to have) and what the wished ease adds to its own (``blocks.body.ease.EASE_INPUTS``).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from blocks.body.body import Body, complete
from blocks.body.ease import EASE_INPUTS
from blocks.body.measures import measurements
from drafting.errors import DataError, DraftError, FormulaError, Problem
from drafting.formulas import Entry, Kind, Sheet
from drafting.library import TomlText, data_names, read_data
from drafting.sentences import Sentence, angle, length

#: What a method may read beside the measurements.
WISHES: Mapping[str, Kind] = MappingProxyType(dict.fromkeys(("neck_ease", *EASE_INPUTS), Kind.CM))


@dataclass(frozen=True, slots=True)
class Word:
    """A word of the vocabulary: a quantity every method fills."""

    key: str
    unit: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Method:
    """A method: ``needs`` are the measurements it cannot do without, ``bust_made_for`` the busts
    (cm) it is known to serve."""

    key: str
    title: str
    needs: frozenset[str]
    source: str
    made_for: str
    bust_made_for: tuple[float, float]
    sheet: Sheet

    @property
    def reads(self) -> frozenset[str]:
        """Every measurement that any of its vocabulary depends on."""
        found: frozenset[str] = frozenset()
        for key in vocabulary():
            found |= self.sheet.needs(key)
        return found - frozenset(WISHES)


@dataclass(frozen=True, slots=True)
class Quantities(Mapping[str, float]):
    """The named lengths (cm) and angles (radians) of one method for one body."""

    method: Method
    inputs: Mapping[str, float]
    results: Mapping[str, float]

    def __getitem__(self, key: str) -> float:
        """A quantity. Raises ``KeyError`` when the method has none of that name."""
        return self.results[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.results)

    def __len__(self) -> int:
        return len(self.results)


@cache
def vocabulary() -> Mapping[str, Word]:
    """Every quantity a method must fill, in the order of the construction."""
    toml = read_data("quantities")
    return MappingProxyType(
        {
            key: Word(key, str(table["unit"]), Sentence(table["meaning"]))
            for group in toml.values.values()
            for key, table in group.items()
        }
    )


def method_names() -> tuple[str, ...]:
    """The methods that came with Neckarc."""
    return data_names("methods")


@cache
def method(key: str) -> Method:
    """A method by name. Raises :class:`DraftError` naming the methods there are."""
    if key not in method_names():
        raise DraftError(
            Problem("there is no such method", got=repr(key), accepted=", ".join(method_names()))
        )
    return read_method(read_data(f"methods/{key}"), key)


def method_needs(key: str) -> frozenset[str]:
    """The measurements a method that came with Neckarc cannot do without; its formulas are not
    read for that."""
    return frozenset(read_data(f"methods/{key}").values["method"]["needs"])


def read_method(toml: TomlText, key: str) -> Method:
    """A method from its text.

    Raises :class:`DataError` when its head is incomplete, and :class:`FormulaError` listing every
    formula that cannot be read, has the wrong unit or is missing.
    """
    head = toml.values.get("method")
    if not isinstance(head, dict):
        raise DataError(Problem("the part [method] is missing", place=toml.name))
    missing = [
        k for k in ("title", "needs", "source", "made_for", "bust_made_for") if k not in head
    ]
    if missing:
        raise DataError(Problem(f"[method] lacks {', '.join(missing)}", place=toml.place("method")))
    needs, made_for = head["needs"], head["bust_made_for"]
    if not (isinstance(needs, list) and all(isinstance(key, str) for key in needs)):
        raise DataError(
            Problem("a list of measurements is wanted", toml.place("method", "needs"), "needs")
        )
    taken = measurements()
    strangers = [k for k in needs if k not in taken]
    if strangers:
        raise DataError(
            Problem(
                f"not a measurement: {', '.join(strangers)}", place=toml.place("method", "needs")
            )
        )
    match made_for:
        case [int() | float() as low, int() | float() as high] if 0 < low < high < 1000:
            pass
        case _:
            place = toml.place("method", "bust_made_for")
            raise DataError(Problem("two busts in cm, the smaller first", place, "bust_made_for"))
    return Method(
        key=key,
        title=str(head["title"]),
        needs=frozenset(needs),
        source=Sentence(head["source"]),
        made_for=Sentence(head["made_for"]),
        bust_made_for=(float(low), float(high)),
        sheet=_sheet(toml),
    )


def _sheet(toml: TomlText) -> Sheet:
    words = vocabulary()
    table: Any = toml.values.get("quantities", {})
    if not isinstance(table, dict):
        raise DataError(Problem("[quantities] is a table", toml.place("quantities"), "quantities"))
    problems = [
        Problem(
            "this quantity is missing", place=toml.place("quantities"), key=key, accepted=w.meaning
        )
        for key, w in words.items()
        if key not in table
    ]
    entries = []
    for key, given in table.items():
        place = toml.place("quantities", key)
        row = {"formula": given} if isinstance(given, str) else given
        if not isinstance(row, dict) or not isinstance(row.get("formula"), str):
            problems.append(Problem("a formula in quotes is wanted", place=place, key=key))
            continue
        word = words.get(key)
        unit = word.unit if word else str(row.get("unit", ""))
        if unit not in tuple(Kind):
            problems.append(
                Problem(
                    "its unit is missing or unknown",
                    place=place,
                    key=key,
                    got=repr(unit),
                    accepted=", ".join(Kind),
                )
            )
            continue
        meaning = word.meaning if word else Sentence(row.get("meaning", ""))
        entries.append(
            Entry(key, row["formula"], Kind(unit), meaning, Sentence(row.get("source", "")), place)
        )
    inputs = {key: Kind(str(m.unit)) for key, m in measurements().items()} | dict(WISHES)
    try:
        sheet = Sheet(entries, inputs)
    except FormulaError as error:
        raise FormulaError((*problems, *error.problems)) from error
    if problems:
        raise FormulaError(problems)
    return sheet


def quantities(
    chosen: Method, body: Body, *, neck_ease: float, ease: Mapping[str, float] | None = None
) -> Quantities:
    """Every quantity of a method for a body; ``neck_ease`` in centimetres, ``ease`` what is added
    to the method's own (``blocks.body.ease.Ease.inputs``), nothing when left out.

    Raises :class:`DraftError` when a formula has no answer for this body, with the measurement to
    take again.
    """
    inputs = {key: body[key] for key in chosen.reads} | dict.fromkeys(EASE_INPUTS, 0.0)
    inputs |= {"neck_ease": neck_ease} | dict(ease or {})
    try:
        values = chosen.sheet.evaluate(inputs)
    except FormulaError as error:
        raise DraftError(_take_again(chosen, body, inputs)) from error
    return Quantities(chosen, inputs, {key: float(v) for key, v in values.items()})


def _take_again(chosen: Method, body: Body, inputs: Mapping[str, float]) -> Problem:
    """What to say of measurements from which a method cannot draw: the one that lies farthest from
    what the others make likely, of those that alone would mend it."""
    said = f"the {chosen.title.lower()} cannot be drawn from these measurements together"
    taken = {key: value for key, value in body.values.items() if not body.is_estimated(key)}
    cures: list[tuple[float, str, float]] = []
    for key in sorted(chosen.reads & taken.keys()):
        likely = complete({name: value for name, value in taken.items() if name != key})
        if key not in likely:
            continue
        try:
            chosen.sheet.evaluate({**inputs, key: likely[key]})
        except FormulaError:
            continue
        cures.append((abs(taken[key] / likely[key] - 1.0), key, likely[key]))
    if not cures:
        names = ", ".join(measurements()[key].name for key in sorted(chosen.reads & taken.keys()))
        return Problem(said, key="measurements", advice=f"Take again: {names}.")
    _, key, likely_one = max(cures)
    known = measurements()[key]
    shown = angle if known.unit == "deg" else length
    return Problem(
        said,
        key=f"measurements.{key}",
        got=f"{shown(taken[key])}",
        advice=f"Measure the {known.name} again: about {shown(likely_one)} goes with the others.",
    )
