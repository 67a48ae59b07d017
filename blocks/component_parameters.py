"""What may be asked of a component (a collar, a cuff): its rules in ``data`` and the values
resolved by them.

Wishes come in centimetres and radians. What is left out stands at its default, which may follow
from other values: by a formula (``stand_back + 1.2``) or by a choice made (the cloth).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from types import MappingProxyType
from typing import Any, get_args

from drafting.errors import DataError, DraftError, Problem
from drafting.formulas import Formula, parse
from drafting.formulas.reading import did_you_mean
from drafting.library import read_data
from drafting.parameters import ParameterRule, ParameterUnit, kind_of, lies_within
from drafting.sentences import length


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter of a component: its rule, where its figures are from, and how its default follows
    from other parameters: by ``formula``, or by the choice ``chosen_by`` with a formula for each
    word. ``counts_when`` names the words of a choice with which alone it counts (empty: always),
    and ``instead`` a parameter that takes its place where that one is written."""

    rule: ParameterRule
    source: str
    formula: Formula | None = None
    chosen_by: str = ""
    by_choice: Mapping[str, Formula] = field(default_factory=dict)
    counts_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    instead: str = ""

    def default(self, values: Mapping[str, float | str]) -> float | str:
        """The default (cm, radians, number or word), the parameters before it being ``values``."""
        formula = self.formula
        if self.chosen_by:
            formula = self.by_choice[str(values[self.chosen_by])]
        if formula is None:
            return self.rule.standing()
        known = {key: value for key, value in values.items() if not isinstance(value, str)}
        return float(formula.evaluate(known))


@dataclass(frozen=True, slots=True)
class ComponentSheet:
    """A data file of a component: its ``family`` (``collar``) and kind, what it is called, and its
    parameters in the order in which they may depend on each other; ``neckline`` the style neckline
    (keys of the card's ``[neckline.style]``) it is made for, empty when any will do."""

    family: str
    kind: str
    title: str
    parameters: Mapping[str, Parameter]
    neckline: Mapping[str, float | str] = field(default_factory=dict)

    @property
    def rules(self) -> Mapping[str, ParameterRule]:
        """The rules by key, for card and desk."""
        return MappingProxyType({key: p.rule for key, p in self.parameters.items()})


@dataclass(frozen=True, slots=True)
class Values:
    """Resolved values of a component: ``given`` by key, and which of them were ``wished``."""

    given: Mapping[str, float | str]
    wished: frozenset[str]

    def number(self, key: str) -> float:
        """A length (cm), angle (radians) or bare number. Raises ``KeyError`` and ``TypeError``."""
        value = self.given[key]
        if isinstance(value, str):
            raise TypeError(f"{key} is a word")
        return value

    def word(self, key: str) -> str:
        """A choice. Raises ``KeyError``."""
        return str(self.given[key])


@cache
def component_sheet(family: str, kind: str) -> ComponentSheet:
    """The data file of a kind of component, in the folder of its family: ``collar`` and
    ``two-piece shirt`` are ``data/collars/two-piece-shirt.toml``.

    Raises :class:`DataError` listing all that is wrong with it, or when there is none.
    """
    toml = read_data(f"{family}s/" + kind.replace(" ", "-"))
    problems: list[Problem] = []
    found: dict[str, Parameter] = {}
    values: dict[str, float | str] = {}
    if toml.values.get("kind") != kind:
        problems.append(Problem(f"this is another kind of {family}", toml.name, "kind"))
    for key, row in toml.values.get("parameters", {}).items():
        try:
            found[key] = _parameter(key, row, found, values)
            values[key] = found[key].rule.standing()
        except (KeyError, TypeError, ValueError) as error:
            said = f"{error} is missing" if isinstance(error, KeyError) else str(error)
            problems.append(Problem(said, toml.place("parameters", key), key))
    if problems:
        raise DataError(problems)
    return ComponentSheet(
        family,
        kind,
        str(toml.values["title"]),
        MappingProxyType(found),
        MappingProxyType(dict(toml.values.get("neckline", {}))),
    )


def resolve(
    sheet: ComponentSheet, wishes: Mapping[str, float | str]
) -> tuple[Values, list[Problem]]:
    """All parameters of a component: what was wished, and for the rest the defaults; and every wish
    that cannot stand, with what may. Such a wish is replaced by its default, so that the rest can
    still be looked at."""
    parameters = sheet.parameters
    problems = [_unknown(sheet, key) for key in wishes if key not in parameters]
    values: dict[str, float | str] = {}
    for key, parameter in parameters.items():
        values[key] = parameter.default(values)
        if key in wishes:
            problem = _refused(sheet, parameter.rule, wishes[key])
            if problem is None:
                value = wishes[key]
                values[key] = value if isinstance(value, str) else float(value)
            else:
                problems.append(problem)
    return Values(MappingProxyType(values), frozenset(wishes) & frozenset(parameters)), problems


def idle_wishes(sheet: ComponentSheet, wishes: Mapping[str, float | str]) -> Mapping[str, str]:
    """Which wishes change nothing beside the others, each with why."""
    values, _ = resolve(sheet, wishes)
    found = {}
    for key, parameter in sheet.parameters.items():
        if key not in wishes:
            continue
        for other, words in parameter.counts_when.items():
            if values.word(other) not in words:
                found[key] = f'{other} is "{values.word(other)}"'
        if parameter.instead in wishes:
            found[key] = f"{parameter.instead} is written"
    return found


def refuse(problems: list[Problem], impossible: Iterable[Problem] = ()) -> None:
    """Raise :class:`DraftError` with all ``problems``, and with what is ``impossible`` of wishes
    that were not refused already; return when there are none."""
    refused = {problem.key for problem in problems}
    problems = [*problems, *(found for found in impossible if found.key not in refused)]
    if problems:
        raise DraftError(problems)


def _why_refused(rule: ParameterRule, value: object) -> str:
    """Why a value cannot stand; empty when it can."""
    said = ""
    if rule.unit == "choice":
        if not isinstance(value, str):
            said = f"a word is wanted here, not {kind_of(value)}"
        elif value not in rule.choices:
            said = "this is not one of the choices"
    elif isinstance(value, bool) or not isinstance(value, int | float):
        said = f"a number is wanted here, not {kind_of(value)}"
    elif not math.isfinite(value):
        said = "this is not a finite number"
    else:
        shown = math.degrees(value) if rule.unit == "deg" else float(value)
        if not lies_within(shown, rule.low, rule.high):
            said = "this is outside the accepted range"
    return said


def _refused(sheet: ComponentSheet, rule: ParameterRule, value: object) -> Problem | None:
    said = _why_refused(rule, value)
    if not said:
        return None
    got = f"{value}"
    if rule.unit != "choice" and isinstance(value, int | float) and not isinstance(value, bool):
        got = f"{math.degrees(value):g} degrees" if rule.unit == "deg" else f"{value:g}"
        got = length(value, places=2) if rule.unit == "cm" and math.isfinite(value) else got
    return Problem(
        said,
        key=f"{sheet.family}.{rule.key}",
        got=got,
        accepted=rule.allowed,
        advice=rule.meaning,
    )


def _unknown(sheet: ComponentSheet, key: str) -> Problem:
    return Problem(
        f"the {sheet.kind} {sheet.family} has no such setting",
        key=f"{sheet.family}.{key}",
        accepted=", ".join(sheet.parameters),
        advice=did_you_mean(key, sheet.parameters),
    )


def _parameter(
    key: str, row: Any, before: Mapping[str, Parameter], values: Mapping[str, float | str]
) -> Parameter:
    """One table of ``[parameters]``; its defaults may use the parameters ``before`` it."""
    unit: ParameterUnit = row["unit"]
    if unit not in get_args(ParameterUnit):
        raise ValueError(f"no such unit: {unit}")
    formula, chosen_by, by_choice = None, "", {}
    if "formula" in row:
        formula = _formula(row["formula"], before)
    elif "chosen_by" in row:
        chosen_by = row["chosen_by"]
        by_choice = {word: _formula(f"{v}", before) for word, v in row["by_choice"].items()}
        if set(by_choice) != set(before[chosen_by].rule.choices):
            raise ValueError(f"by_choice does not have the words of {chosen_by}")
    rule = ParameterRule(
        key,
        unit,
        float(row.get("low", 0.0)),
        float(row.get("high", 0.0)),
        tuple(row.get("choices", ())),
        _plain_default(row) if not formula and not chosen_by else 0.0,
        row["meaning"],
    )
    counts = {other: tuple(words) for other, words in row.get("counts_when", {}).items()}
    for other, words in counts.items():
        if not set(words) <= set(before[other].rule.choices):
            raise ValueError(f"counts_when has words that {other} does not have")
    parameter = Parameter(
        rule,
        row["source"],
        formula,
        chosen_by,
        MappingProxyType(by_choice),
        MappingProxyType(counts),
        row.get("instead", ""),
    )
    return _with_default(parameter, values)


def _plain_default(row: Any) -> float | str:
    default = row["default"]
    return default if isinstance(default, str) else float(default)


def _with_default(parameter: Parameter, values: Mapping[str, float | str]) -> Parameter:
    """The parameter with the default it has when all others stand at theirs, which must do."""
    rule, default = parameter.rule, parameter.default(values)
    if _why_refused(rule, default):
        raise ValueError(f"the default {default} is not accepted itself")
    if isinstance(default, float):
        shown = math.degrees(default) if rule.unit == "deg" else default
        default = round(shown, 6)
    return replace(parameter, rule=replace(rule, default=default))


def _formula(text: str, before: Mapping[str, Parameter]) -> Formula:
    formula = parse(text)
    for name in sorted(formula.names):
        if name not in before or before[name].rule.unit == "choice":
            raise ValueError(f"the formula speaks of {name}, which is no number before it")
    return formula
