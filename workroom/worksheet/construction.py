"""The construction of the bodice as steps: formulas, numbers, points.

The steps stand in ``data/worksheet.toml``; their points are worked out here from the quantities
alone, never copied from the draft, so that one can be held against the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import degrees
from typing import Any

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.methods import Quantities, vocabulary
from drafting.errors import DataError, Problem
from drafting.formulas import Entry, Kind, Sheet
from drafting.formulas.writing import words as title_words
from drafting.geometry.points import Point
from drafting.library import TomlText, read_data
from drafting.units import LengthUnit, format_length
from workroom.worksheet.steps import Plotted, Step, Worked

_ACROSS, _UP = "across", "up"


@dataclass(frozen=True, slots=True)
class _Planned:
    """A step as the data plans it."""

    title: str
    said: str
    work: tuple[str, ...]
    points: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """Every step, and the formulas of all their points over the vocabulary of quantities."""

    steps: tuple[_Planned, ...]
    sheet: Sheet
    names: Mapping[str, str]


@cache
def plan() -> Plan:
    """The plan in ``data/worksheet.toml``. Raises :class:`DataError` and :class:`FormulaError`."""
    return read_plan(read_data("worksheet"))


def read_plan(toml: TomlText) -> Plan:
    """A plan from its text. Raises :class:`DataError` and :class:`FormulaError`."""
    steps: list[_Planned] = []
    entries: list[Entry] = []
    names: dict[str, str] = {}
    for row in toml.values.get("step", []):
        here = []
        for point in row.get("point", []):
            key = f"point_{len(names)}"
            names[key] = str(point["name"])
            here.append(key)
            for way in (_ACROSS, _UP):
                entries.append(Entry(f"{key}_{way}", str(point[way]), Kind.CM, "", "", toml.name))
        steps.append(_Planned(row["title"], row["said"], tuple(row["work"]), tuple(here)))
    words = vocabulary()
    strangers = [key for step in steps for key in step.work if key not in words]
    if strangers:
        raise DataError(Problem(f"not a quantity: {', '.join(strangers)}", place=toml.name))
    kinds = {key: Kind(word.unit) for key, word in words.items()}
    return Plan(tuple(steps), Sheet(entries, kinds), names)


def construction(draft: BodiceDraft, unit: LengthUnit) -> tuple[Step, ...]:
    """The construction of a bodice before its neckline is fitted, step by step."""
    planned, q = plan(), draft.quantities
    values = {key: q[key] for key in vocabulary()}
    places = planned.sheet.evaluate(values)
    done: set[str] = set()
    steps = []
    for step in planned.steps:
        needed = [one for key in step.work for one in q.method.sheet.steps(key)]
        new = [key for key in dict.fromkeys(needed) if key not in done]
        done.update(new)
        steps.append(
            Step(
                step.title,
                step.said,
                worked=tuple(worked(q, key, unit) for key in new),
                plotted=tuple(
                    _plotted(planned, key, planned.names[key], places, unit) for key in step.points
                ),
            )
        )
    return tuple(steps)


def worked(q: Quantities, key: str, unit: LengthUnit) -> Worked:
    """A quantity with its formula in words and in numbers."""
    sheet = q.method.sheet
    formula = sheet.formula(key)
    entry = sheet.entries[key]
    numbers = ""
    if formula.names:
        numbers = sheet.with_numbers(key, {**q.inputs, **q.results}, unit=unit)
    words = sheet.pretty(key, unit) if formula.names else ""
    return Worked(
        name=title_words(key),
        meaning=entry.meaning,
        formula=words,
        numbers=numbers,
        value=q[key],
        shown=_shown(q[key], entry.kind, unit),
    )


def _plotted(
    planned: Plan,
    key: str,
    name: str,
    places: Mapping[str, Any],
    unit: LengthUnit,
) -> Plotted:
    across, up = (float(places[f"{key}_{way}"]) for way in (_ACROSS, _UP))
    how = "; ".join(
        f"{way} {planned.sheet.pretty(f'{key}_{way}', unit)}"
        for way in (_ACROSS, _UP)
        if planned.sheet.formula(f"{key}_{way}").names
    )
    return Plotted(name, Point(across, up), place(across, unit), place(up, unit), how)


def place(value: float, unit: LengthUnit) -> str:
    """A coordinate to the millimetre, or to the sixteenth of an inch."""
    return format_length(value, unit)


def _shown(value: float, kind: Kind, unit: LengthUnit) -> str:
    if kind is Kind.CM:
        return format_length(value, unit)
    if kind is Kind.DEG:
        return f"{degrees(value):.1f}°"
    return f"{value:.3f}"
