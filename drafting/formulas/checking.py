"""Everything that can be wrong with a set of named formulas, found at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from drafting.errors import FormulaError, Problem
from drafting.formulas.formula import Formula, parse
from drafting.formulas.kinds import Kind, check_kind
from drafting.formulas.ordering import rings
from drafting.formulas.tokens import did_you_mean, is_name
from drafting.formulas.tree import RESERVED, Name, walk


@dataclass(frozen=True, slots=True)
class Entry:
    """A quantity: ``text`` is its formula, ``kind`` the unit it is in.

    ``meaning`` says what it is, ``source`` where its formula is published, ``place`` where it
    stands (``method.toml:12``).
    """

    name: str
    text: str
    kind: Kind
    meaning: str = ""
    source: str = ""
    place: str = ""


def read_all(entries: Iterable[Entry], inputs: Mapping[str, Kind]) -> dict[str, Formula]:
    """The formula of every entry, all of them sound together.

    Raises one :class:`FormulaError` with every problem there is, in the order of the entries,
    rings of dependence last.
    """
    entries = tuple(entries)
    problems = [
        Problem("a measurement cannot have this name", key=name[:40], advice=_why_not(name))
        for name in inputs
        if _why_not(name)
    ]
    kinds = {**{entry.name: entry.kind for entry in reversed(entries)}, **inputs}
    first: dict[str, Entry] = {}
    formulas: dict[str, Formula] = {}
    for entry in entries:
        problems.extend(_name_problems(entry, first, inputs))
        first.setdefault(entry.name, entry)
        try:
            formula = parse(entry.text, place=entry.place)
        except FormulaError as error:
            problems.extend(replace(problem, key=entry.name) for problem in error.problems)
            continue
        if first[entry.name] is entry:
            formulas[entry.name] = formula
        problems.extend(_use_problems(entry, formula, kinds))
    needs = {name: formula.names for name, formula in formulas.items() if name not in inputs}
    for ring in rings(needs):
        problems.append(
            Problem(
                f"a ring of dependence: {' needs '.join((*ring, ring[0]))}",
                first[ring[0]].place,
                ring[0],
                advice="One of them must come from measurements alone.",
            )
        )
    if problems:
        raise FormulaError(problems)
    return formulas


def _why_not(name: str) -> str:
    if name in RESERVED:
        return "This word is a function or a constant in formulas."
    if not is_name(name):
        return "A name is a letter, then letters, digits and _."
    return ""


def _name_problems(
    entry: Entry, first: Mapping[str, Entry], inputs: Mapping[str, Kind]
) -> Iterator[Problem]:
    why = _why_not(entry.name)
    if why:
        yield Problem("a quantity cannot have this name", entry.place, entry.name[:40], advice=why)
    if entry.name in inputs:
        yield Problem(
            "this is the name of a measurement",
            entry.place,
            entry.name,
            advice="Give the quantity another name.",
        )
    if entry.name in first:
        where = first[entry.name].place
        yield Problem(
            f"this quantity is defined twice{f', first at {where}' if where else ''}",
            entry.place,
            entry.name,
            advice="Delete one of the two.",
        )


def _use_problems(entry: Entry, formula: Formula, kinds: Mapping[str, Kind]) -> Iterator[Problem]:
    unknown: dict[str, int] = {}
    for node in walk(formula.tree):
        if isinstance(node, Name) and node.name not in kinds:
            unknown.setdefault(node.name, node.at)
    for name, at in unknown.items():
        yield Problem(
            f"column {at}: nothing has this name",
            entry.place,
            entry.name,
            name[:40],
            "a measurement or another quantity of the method",
            did_you_mean(name, kinds),
        )
    if not unknown:
        try:
            check_kind(formula.tree, kinds, entry.kind, place=entry.place, key=entry.name)
        except FormulaError as error:
            yield from error.problems
