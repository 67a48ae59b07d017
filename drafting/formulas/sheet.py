"""A sheet: a set of named formulas that depend on each other and, in the end, on measurements."""

from __future__ import annotations

import heapq
import math
from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from drafting.errors import FormulaError, Problem
from drafting.formulas import by_hand, derivation
from drafting.formulas.formula import Formula, parse
from drafting.formulas.kinds import Kind, check_kind
from drafting.formulas.numbers import FloatArray, Run, Slope, settle, spread
from drafting.formulas.reading import did_you_mean, is_name
from drafting.formulas.symbols import shares, symbol_of
from drafting.formulas.tree import RESERVED, Name, walk
from drafting.formulas.writing import words
from drafting.units import LengthUnit

# ---- In which order quantities can be worked out, and the rings that make it impossible


def in_order(needs: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """The names of ``needs``, each after all it needs, else as they stand.

    What is in a ring, or needs one, is left out.
    """
    place = {name: index for index, name in enumerate(needs)}
    waiting = {name: {need for need in found if need in needs} for name, found in needs.items()}
    needed_by: dict[str, list[str]] = {name: [] for name in needs}
    for name, found in waiting.items():
        for need in found:
            needed_by[need].append(name)
    ready = [(place[name], name) for name, found in waiting.items() if not found]
    heapq.heapify(ready)
    order: list[str] = []
    while ready:
        _, name = heapq.heappop(ready)
        order.append(name)
        for later in needed_by[name]:
            waiting[later].discard(name)
            if not waiting[later]:
                heapq.heappush(ready, (place[later], later))
    return tuple(order)


def rings(needs: Mapping[str, Collection[str]]) -> list[tuple[str, ...]]:
    """Rings of dependence, shortest from its first name: ``(a, b)`` for a needs b needs a.

    Every name that is in a ring is in one of those returned.
    """
    loose = set(in_order(needs))
    found: list[tuple[str, ...]] = []
    reported: set[str] = set()
    for name in needs:
        if name not in loose and name not in reported:
            ring = _ring_from(name, needs)
            if ring:
                found.append(ring)
                reported.update(ring)
    return found


def _ring_from(start: str, needs: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    came: dict[str, str] = {}
    queue = deque([start])
    while queue:
        name = queue.popleft()
        for need in sorted(needs[name]):
            if need == start:
                ring = [name]
                while ring[-1] != start:
                    ring.append(came[ring[-1]])
                return tuple(reversed(ring))
            if need in needs and need not in came:
                came[need] = name
                queue.append(need)
    return ()


# ---- Everything that can be wrong with a set of named formulas, found at once


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


if TYPE_CHECKING:
    import sympy


class Sheet:
    """Quantities worked out from measurements. Nothing about it changes once it is made.

    ``inputs`` are the measurements it may use, with their kinds. Values of kind ``CM`` are in
    centimetres, of kind ``DEG`` in radians, everywhere but in written lines.

    Raises one :class:`FormulaError` that lists every problem: what cannot be read, unknown
    names, rings of dependence, wrong units, names used twice or already taken.
    """

    def __init__(self, entries: Iterable[Entry], inputs: Mapping[str, Kind]) -> None:
        entries = tuple(entries)
        self._inputs = MappingProxyType(dict(inputs))
        self._formulas = read_all(entries, self._inputs)
        self._entries = MappingProxyType({entry.name: entry for entry in entries})
        self._order = in_order({name: self._formulas[name].names for name in self._entries})
        self._needs: dict[str, frozenset[str]] = {}
        for name in self._order:
            found: set[str] = set()
            for need in self._formulas[name].names:
                found |= self._needs.get(need, {need})
            self._needs[name] = frozenset(found)
        self._used = frozenset().union(*self._needs.values())
        self._kinds = {**inputs, **{entry.name: entry.kind for entry in entries}}

    @property
    def entries(self) -> Mapping[str, Entry]:
        """Every quantity by its name, as they were given."""
        return self._entries

    @property
    def inputs(self) -> Mapping[str, Kind]:
        """Every measurement the formulas may use, with its kind."""
        return self._inputs

    @property
    def order(self) -> tuple[str, ...]:
        """The quantities, each after all it depends on, else as they were given."""
        return self._order

    def formula(self, name: str) -> Formula:
        """The formula of a quantity. Raises :class:`FormulaError` if there is none."""
        self._check(name)
        return self._formulas[name]

    def needs(self, name: str) -> frozenset[str]:
        """The measurements a quantity depends on, through all others.

        Raises :class:`FormulaError` if there is no such quantity.
        """
        self._check(name)
        return self._needs[name]

    def evaluate(self, inputs: Mapping[str, float | FloatArray]) -> dict[str, float | FloatArray]:
        """Every quantity for one body (floats) or an array of bodies (arrays, broadcast together).

        For one body all values are finite floats. If any measurement is an array, all quantities
        are arrays of the shape the measurements share (perhaps read-only), nan where a body has
        no answer. Measurements that no formula needs are ignored.

        Raises :class:`FormulaError` naming each measurement that is missing or no number, and,
        for one body, each quantity that has no finite value.
        """
        values, shape = self._settle(inputs)
        if not shape:
            for name, run in self._runs:
                values[name] = run(values)
            self._check_finite(values)
            return {name: values[name] for name in self._order}
        with np.errstate(all="ignore"):
            for name in self._order:
                values[name] = self._formulas[name].many(values)
        return {name: spread(values[name], shape) for name in self._order}

    def gradient(self, inputs: Mapping[str, float]) -> dict[str, dict[str, float]]:
        """How much each quantity moves with each measurement it depends on, exactly, for one body.

        ``gradient(...)["front_neck_width"]["bust_girth"]``: centimetres (or radians) per
        centimetre (or radian). At a corner (a tie in min, max or choose_below, abs of nought) it
        is the slope of the side the value comes from; where there is none it is nan.

        Raises :class:`FormulaError` as :meth:`evaluate` does, and for arrays.
        """
        values = self._settle_one(inputs)
        carried = {name: Slope(value, {name: 1.0}) for name, value in values.items()}
        for name in self._order:
            carried[name] = self._formulas[name].sloping(carried)
        self._check_finite({name: slope.value for name, slope in carried.items()})
        return {
            name: {
                key: carried[name].by.get(key, 0.0)
                for key in self._inputs
                if key in self._needs[name]
            }
            for name in self._order
        }

    def symbol(self, name: str) -> sympy.Expr:
        """A quantity in sympy, written out down to the measurements, each a real symbol.

        Raises :class:`FormulaError` if there is no such quantity, or written out it would be
        too large or has no answer at all.
        """
        return symbol_of(
            [(step, self._formulas[step].tree) for step in self.steps(name)],
            place=self._entries[name].place,
        )

    def steps(self, name: str) -> tuple[str, ...]:
        """A quantity after all the quantities it depends on, in the order of working out.

        Raises :class:`FormulaError` if there is no such quantity.
        """
        self._check(name)
        wanted = {name}
        for later in reversed(self._order):
            if later in wanted:
                wanted |= self._formulas[later].names
        return tuple(step for step in self._order if step in wanted)

    def with_numbers(
        self,
        name: str,
        values: Mapping[str, float | FloatArray],
        *,
        places: int = 2,
        unit: LengthUnit = LengthUnit.CM,
    ) -> str:
        """A quantity's formula with numbers for names, angles in degrees: ``92.00 ÷ 24 + 3.4``.

        ``values`` are measurements and quantities together. Raises :class:`FormulaError` if
        there is no such quantity, or a value is missing or no number.
        """
        formula = self.formula(name)
        settled, shape = settle(values, formula.names, formula.place)
        if shape:
            raise FormulaError(Problem("only one body can be written out", formula.place, name))
        kind = self._kinds[name]
        return derivation.with_numbers(formula.tree, self._kinds, kind, settled, places, unit)

    def pretty(self, name: str, unit: LengthUnit = LengthUnit.CM) -> str:
        """A quantity's formula in words: ``bust girth ÷ 24 + 3.4``, or for inches ``... + 1.339``.

        Raises :class:`FormulaError` if there is no such quantity.
        """
        tree = self.formula(name).tree
        return derivation.in_words(tree, self._kinds, self._kinds[name], unit)

    def explain(
        self,
        name: str,
        inputs: Mapping[str, float],
        *,
        places: int = 2,
        unit: LengthUnit = LengthUnit.CM,
    ) -> list[str]:
        """The derivation of a quantity for one body, line by line for a maker to read.

        First the measurements (``bust girth = 92.00 cm``), then each step
        (``front neck width = bust girth ÷ 24 + 3.4 = 92.00 ÷ 24 + 3.4 = 7.23 cm``).

        Raises :class:`FormulaError` if there is no such quantity, or as :meth:`evaluate` does.
        """
        steps = self.steps(name)
        values = self._settle_one(inputs, steps)
        for step in steps:
            values[step] = self._formulas[step].one(values)
        self._check_finite(values)
        lines = [
            derivation.given_line(key, kind, values[key], places, unit)
            for key, kind in self._inputs.items()
            if key in self._needs[name]
        ]
        for step in steps:
            tree = self._formulas[step].tree
            lines.append(derivation.step_line(step, tree, self._kinds, values, places, unit))
        return lines

    def by_hand(
        self,
        name: str,
        values: Mapping[str, float],
        *,
        unit: LengthUnit = LengthUnit.CM,
        named: Callable[[str], str] = words,
    ) -> by_hand.ByHand:
        """A quantity's formula as a maker works it out for one body: choices taken, no functions.

        ``values`` are measurements and quantities together, ``named`` gives what a name is called.
        Raises :class:`FormulaError` if there is no such quantity.
        """
        tree = self.formula(name).tree
        return by_hand.by_hand(tree, self._kinds, self._kinds[name], values, unit, named)

    def in_one(
        self,
        name: str,
        values: Mapping[str, float],
        *,
        unit: LengthUnit = LengthUnit.CM,
        named: Callable[[str], str] = words,
    ) -> str:
        """A quantity in one line from measurements alone, with the choices that hold for this
        body: ``bust girth ÷ 32 + 8.3``; empty where slopes or roots stand between. Loads sympy.

        ``values`` are measurements and quantities together. Raises :class:`FormulaError` if there
        is no such quantity.
        """
        steps = [(one, by_hand.held(self._formulas[one].tree, values)) for one in self.steps(name)]
        found = shares(steps, values)
        if found is None:
            return ""
        return derivation.in_one(*found, self._kinds, self._kinds[name], unit, named)

    @cached_property
    def _runs(self) -> list[tuple[str, Run[float]]]:
        return [(name, self._formulas[name].one) for name in self._order]

    def _check(self, name: str) -> None:
        if name not in self._entries:
            advice = did_you_mean(name, self._entries)
            raise FormulaError(Problem("there is no such quantity", key=name, advice=advice))

    def _settle(
        self, inputs: Mapping[str, float | FloatArray], steps: tuple[str, ...] | None = None
    ) -> tuple[dict[str, Any], tuple[int, ...]]:
        """The measurements that the quantities ``steps`` (or all) need, checked; their shape."""
        used = self._used
        if steps is not None:
            used = frozenset().union(*(self._needs[step] for step in steps))
        problems = [
            Problem(
                "this measurement is missing",
                key=key,
                advice=f"Needed by {', '.join(self._needing(key, steps or self._order))}.",
            )
            for key in self._inputs
            if key in used and key not in inputs
        ]
        if problems:
            raise FormulaError(problems)
        values, shape = settle(inputs, used)
        if not shape:
            problems = [
                Problem("this measurement is not finite", key=key, got=str(value))
                for key, value in values.items()
                if not math.isfinite(value)
            ]
        if problems:
            raise FormulaError(problems)
        return values, shape

    def _needing(self, key: str, steps: Iterable[str]) -> list[str]:
        return [step for step in steps if key in self._needs[step]]

    def _settle_one(
        self, inputs: Mapping[str, float], steps: tuple[str, ...] | None = None
    ) -> dict[str, float]:
        values, shape = self._settle({**inputs}, steps)
        if shape:
            raise FormulaError(Problem("this is worked out for one body at a time", got="arrays"))
        return values

    def _check_finite(self, values: Mapping[str, float]) -> None:
        """Raise where a quantity is not finite though all it is worked out from is."""
        problems = [
            self._no_answer(name, values)
            for name, value in values.items()
            if not math.isfinite(value)
            and all(math.isfinite(values[key]) for key in self._formulas[name].names)
        ]
        if problems:
            raise FormulaError(problems)

    def _no_answer(self, name: str, values: Mapping[str, float]) -> Problem:
        formula = self._formulas[name]
        written = derivation.with_numbers(formula.tree, self._kinds, self._kinds[name], values, 2)
        given = ", ".join(
            derivation.given_line(key, kind, values[key], 2)
            for key, kind in self._inputs.items()
            if key in self._needs[name]
        )
        return Problem(
            f"this has no answer: {formula.pretty()} = {written}",
            self._entries[name].place,
            name,
            advice=f"It comes from {given}." if given else "",
        )

    def __reduce__(self) -> tuple[type[Sheet], tuple[tuple[Entry, ...], dict[str, Kind]]]:
        return (type(self), (tuple(self._entries.values()), dict(self._inputs)))
