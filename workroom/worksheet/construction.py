"""The construction of the bodice as steps: formulas, numbers, points.

The steps stand in ``data/worksheet.toml``; their points are worked out here from the quantities
alone, never copied from the draft, so that one can be held against the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from math import degrees
from typing import Any

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.methods import Quantities, vocabulary
from drafting.errors import DataError, Problem
from drafting.formulas import Entry, Kind, Sheet
from drafting.formulas.by_hand import set_square, with_unit
from drafting.formulas.writing import words
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
    from_points: Mapping[str, tuple[str, ...]]
    called: Mapping[str, str]


@cache
def plan() -> Plan:
    """The plan in ``data/worksheet.toml``. Raises :class:`DataError` and :class:`FormulaError`."""
    return read_plan(read_data("worksheet"))


def read_plan(toml: TomlText) -> Plan:
    """A plan from its text. Raises :class:`DataError` and :class:`FormulaError`."""
    steps: list[_Planned] = []
    entries: list[Entry] = []
    names: dict[str, str] = {}
    from_points: dict[str, tuple[str, ...]] = {}
    for row in toml.values.get("step", []):
        here = []
        for point in row.get("point", []):
            key = f"point_{len(names)}"
            before = {name: one for one, name in names.items()}
            bases = [point[way] for way in ("from", "and_from") if way in point]
            if not before.keys() >= set(bases):
                where = " and ".join(bases)
                raise DataError(Problem(f"not plotted before: {where}", place=toml.name))
            from_points[key] = tuple(before[name] for name in bases)
            names[key] = str(point["name"])
            here.append(key)
            for way in (_ACROSS, _UP):
                entries.append(Entry(f"{key}_{way}", str(point[way]), Kind.CM, "", "", toml.name))
        steps.append(_Planned(row["title"], row["said"], tuple(row["work"]), tuple(here)))
    known = vocabulary()
    strangers = [key for step in steps for key in step.work if key not in known]
    if strangers:
        raise DataError(Problem(f"not a quantity: {', '.join(strangers)}", place=toml.name))
    kinds = {key: Kind(word.unit) for key, word in known.items()}
    called = {key: str(said) for key, said in toml.values.get("names", {}).items()}
    return Plan(tuple(steps), Sheet(entries, kinds), names, from_points, called)


def maker_name(key: str) -> str:
    """What a maker reads for the name of a quantity or a measurement."""
    return plan().called.get(key) or words(key)


def construction(draft: BodiceDraft, unit: LengthUnit) -> tuple[Step, ...]:
    """The construction of a bodice before its neckline is fitted, step by step."""
    planned, q = plan(), draft.quantities
    values = {key: q[key] for key in vocabulary()}
    places = planned.sheet.evaluate(values)
    needed: dict[str, int] = {}
    for number, step in enumerate(planned.steps):
        for key in step.work:
            for one in q.method.sheet.steps(key):
                needed.setdefault(one, number)
    told = _told(q, list(needed), {key for step in planned.steps for key in step.work}, unit)
    return tuple(
        Step(
            step.title,
            step.said,
            worked=tuple(one for one in told if needed[one.key] == number),
            plotted=tuple(_plotted(planned, key, values, places, unit) for key in step.points),
        )
        for number, step in enumerate(planned.steps)
    )


def _told(q: Quantities, keys: list[str], wanted: set[str], unit: LengthUnit) -> list[Worked]:
    """The quantities ``wanted`` and those they are worked out from, in the order of ``keys``. What
    a choice or a 0 leaves unused is left out, unless it says why a choice fell so."""
    made = {key: worked(q, key, unit) for key in keys}
    used, todo = set[str](), [key for key in keys if key in wanted or _chosen(made[key])]
    while todo:
        key = todo.pop()
        if key in made and key not in used:
            used.add(key)
            todo += made[key].uses
    return [made[key] for key in keys if key in used]


def _chosen(one: Worked) -> bool:
    return any(aside.startswith("because") for aside in one.asides)


def worked(q: Quantities, key: str, unit: LengthUnit) -> Worked:
    """A quantity as a maker works it out; the formula in full is ``q.method.sheet.pretty(key)``."""
    sheet = q.method.sheet
    entry, value = sheet.entries[key], q[key]
    hand = sheet.by_hand(key, {**q.inputs, **q.results}, unit=unit, named=maker_name)
    asides = hand.asides
    if entry.kind is Kind.DEG and (laid := set_square(value, unit)):
        asides += (laid,)
    return Worked(
        name=maker_name(key),
        meaning=entry.meaning,
        formula=hand.words,
        numbers=hand.numbers,
        value=value,
        shown=_shown(value, entry.kind, unit),
        asides=asides,
        key=key,
        uses=hand.uses,
    )


def worked_lines(q: Quantities, key: str, unit: LengthUnit) -> list[str]:
    """Where a quantity comes from, line by line: the measurements, each step, how a step is laid
    off, and all of it in one line where that can be."""
    sheet, values = q.method.sheet, {**q.inputs, **q.results}
    told = _told(q, list(sheet.steps(key)), {key}, unit)
    used = frozenset[str]().union(*(one.uses for one in told))
    lines = [
        f"{maker_name(one)} = {with_unit(kind, values[one], unit)}"
        for one, kind in sheet.inputs.items()
        if one in used
    ]
    for one in told:
        shown = with_unit(sheet.entries[one.key].kind, one.value, unit)
        lines.append(" = ".join(part for part in (one.name, one.working, shown) if part))
        lines += [f"  {aside}" for aside in one.asides]
    whole = sheet.in_one(key, values, unit=unit, named=maker_name)
    if whole and len(told) > 1:
        lines.append(f"in one line: {maker_name(key)} = {whole}")
    return lines


def _plotted(
    planned: Plan,
    key: str,
    values: Mapping[str, float],
    places: Mapping[str, Any],
    unit: LengthUnit,
) -> Plotted:
    def at(one: str) -> Point:
        across, up = (float(places[f"{one}_{way}"]) for way in (_ACROSS, _UP))
        return Point(across, up)

    here = at(key)
    bases = [(planned.names[base], at(base)) for base in planned.from_points[key]]
    if bases:
        how = _from_points(here, bases, unit)
    else:
        how = "; ".join(_ways(planned.sheet, key, values, unit))
    return Plotted(planned.names[key], here, place(here.x, unit), place(here.y, unit), how)


def _ways(sheet: Sheet, key: str, values: Mapping[str, float], unit: LengthUnit) -> Iterator[str]:
    """How far across and up a point lies, in words, with what is to be said besides."""
    asides: list[str] = []
    for way in (_ACROSS, _UP):
        hand = sheet.by_hand(f"{key}_{way}", values, unit=unit, named=maker_name)
        asides += hand.asides
        if hand.words:
            yield f"{way}: {hand.words}"
    yield from dict.fromkeys(asides)


def _from_points(here: Point, bases: list[tuple[str, Point]], unit: LengthUnit) -> str:
    """From one point with the set square, from two with the compass."""

    def cm(value: float) -> str:
        return format_length(abs(value), unit)

    far = " and ".join(f"{cm(here.to(base))} from the {name}" for name, base in bases)
    if len(bases) > 1:
        return far
    off = here - bases[0][1]
    side, level = "right" if off.x >= 0 else "left", "up" if off.y >= 0 else "down"
    return f"{far}: {cm(off.x)} to the {side}, {cm(off.y)} {level}"


def place(value: float, unit: LengthUnit) -> str:
    """A coordinate to the millimetre, or to the sixteenth of an inch."""
    return format_length(value, unit)


def _shown(value: float, kind: Kind, unit: LengthUnit) -> str:
    if kind is Kind.CM:
        return format_length(value, unit)
    if kind is Kind.DEG:
        return f"{degrees(value):.1f}°"
    return f"{value:.3f}"
