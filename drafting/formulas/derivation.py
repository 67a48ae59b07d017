"""Values and steps written out for a maker: lengths with their unit, angles in degrees."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from drafting.formulas.by_hand import amount
from drafting.formulas.inches import in_inches
from drafting.formulas.kinds import Kind
from drafting.formulas.tree import Name, Tree, walk
from drafting.formulas.writing import pretty, words, write
from drafting.units import LengthUnit, from_cm

CM = LengthUnit.CM


def show(kind: Kind, value: float, places: int, unit: LengthUnit = CM) -> str:
    """A value inside a formula: ``92.00``, an angle ``22.00°``."""
    if kind is Kind.DEG:
        return f"{math.degrees(value):.{places}f}°"
    if kind is Kind.CM:
        value = from_cm(value, unit)
    return f"{value:.{places}f}"


def show_result(kind: Kind, value: float, places: int, unit: LengthUnit = CM) -> str:
    """A value on its own: ``92.00 cm``, ``22.00°``, ``0.50``."""
    return show(kind, value, places, unit) + (f" {unit.value}" if kind is Kind.CM else "")


def formula_in(tree: Tree, kinds: Mapping[str, Kind], declared: Kind, unit: LengthUnit) -> Tree:
    """A formula for one who works in ``unit``."""
    return tree if unit is CM else in_inches(tree, kinds, declared)


def in_words(tree: Tree, kinds: Mapping[str, Kind], declared: Kind, unit: LengthUnit = CM) -> str:
    """The formula in words: ``bust girth ÷ 24 + 3.4``."""
    return pretty(formula_in(tree, kinds, declared, unit))


def with_numbers(
    tree: Tree,
    kinds: Mapping[str, Kind],
    declared: Kind,
    values: Mapping[str, float],
    places: int,
    unit: LengthUnit = CM,
) -> str:
    """The formula with numbers for names, each by its kind: ``92.00 ÷ 24 + 3.4``."""
    return write(
        formula_in(tree, kinds, declared, unit),
        lambda name: show(kinds[name], values[name], places, unit),
    )


def given_line(name: str, kind: Kind, value: float, places: int, unit: LengthUnit = CM) -> str:
    """A measurement: ``bust girth = 92.00 cm``."""
    return f"{words(name)} = {show_result(kind, value, places, unit)}"


def step_line(
    name: str,
    tree: Tree,
    kinds: Mapping[str, Kind],
    values: Mapping[str, float],
    places: int,
    unit: LengthUnit = CM,
) -> str:
    """A step: ``front neck width = bust girth ÷ 24 + 3.4 = 92.00 ÷ 24 + 3.4 = 7.23 cm``."""
    named = any(isinstance(node, Name) for node in walk(tree))
    parts = [words(name), in_words(tree, kinds, kinds[name], unit)]
    if named:
        parts.append(with_numbers(tree, kinds, kinds[name], values, places, unit))
    parts.append(show_result(kinds[name], values[name], places, unit))
    return " = ".join(parts)


def in_one(
    shares: Mapping[str, float],
    constant: float,
    kinds: Mapping[str, Kind],
    declared: Kind,
    unit: LengthUnit,
    named: Callable[[str], str],
) -> str:
    """So much of each measurement and a constant: ``bust girth ÷ 24 + 0.5 × shoulder length + 3``.

    Empty where there is no measurement.
    """

    def scale(kind: Kind) -> float:
        """How much of what is written one centimetre, radian or number is."""
        if kind is Kind.DEG:
            return math.degrees(1.0)
        return from_cm(1.0, unit) if kind is Kind.CM else 1.0

    text = ""
    for name in kinds:  # in the order they are measured
        by = shares.get(name, 0.0) * scale(declared) / scale(kinds[name])
        if by:
            text += f" {'-' if by < 0 else '+'} {_share(abs(by), named(name))}"
    if text and abs(constant) * scale(declared) >= 0.005:
        text += f" {'-' if constant < 0 else '+'} {amount(declared, abs(constant), unit)}"
    return f"-{text[3:]}" if text.startswith(" -") else text[3:]


def _share(by: float, name: str) -> str:
    over = 1.0 / by
    if abs(by - 1.0) < 1e-9:
        return name
    if over > 1.5 and abs(over - round(over)) < 1e-9:
        return f"{name} ÷ {over:.0f}"
    return f"{by:.5f}".rstrip("0").rstrip(".") + f" × {name}"
