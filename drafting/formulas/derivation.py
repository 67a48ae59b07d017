"""Values and steps written out for a maker: lengths with their unit, angles in degrees."""

from __future__ import annotations

import math
from collections.abc import Mapping

from drafting.formulas.formula import Formula
from drafting.formulas.kinds import Kind
from drafting.formulas.writing import words, write


def show(kind: Kind, value: float, places: int) -> str:
    """A value inside a formula: ``92.00``, an angle ``22.00°``."""
    if kind is Kind.DEG:
        return f"{math.degrees(value):.{places}f}°"
    return f"{value:.{places}f}"


def show_result(kind: Kind, value: float, places: int) -> str:
    """A value on its own: ``92.00 cm``, ``22.00°``, ``0.50``."""
    return show(kind, value, places) + (" cm" if kind is Kind.CM else "")


def with_numbers(
    formula: Formula, kinds: Mapping[str, Kind], values: Mapping[str, float], places: int
) -> str:
    """The formula with numbers for names, each by its kind: ``92.00 ÷ 24 + 3.4``."""
    return write(formula.tree, lambda name: show(kinds[name], values[name], places))


def given_line(name: str, kind: Kind, value: float, places: int) -> str:
    """A measurement: ``bust girth = 92.00 cm``."""
    return f"{words(name)} = {show_result(kind, value, places)}"


def step_line(
    name: str,
    formula: Formula,
    kinds: Mapping[str, Kind],
    values: Mapping[str, float],
    places: int,
) -> str:
    """A step: ``front neck width = bust girth ÷ 24 + 3.4 = 92.00 ÷ 24 + 3.4 = 7.23 cm``."""
    parts = [words(name), formula.pretty()]
    if formula.names:
        parts.append(with_numbers(formula, kinds, values, places))
    parts.append(show_result(kinds[name], values[name], places))
    return " = ".join(parts)
