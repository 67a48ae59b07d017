"""What a person writes as a value: lengths, angles, numbers and choices, with their rules.

Collars describe their parameters by :class:`ParameterRule`; the client card reads every number
through the functions here, so that ``14 3/8``, ``38½``, ``92,5`` and ``1.5 cm`` mean the
same everywhere.
"""

from __future__ import annotations

import math
import re
from collections.abc import Container, Mapping
from dataclasses import dataclass
from typing import Literal

from drafting.library import read_data
from drafting.sentences import SHORT, span, written
from drafting.units import LengthUnit, parse_length, to_cm

ParameterUnit = Literal["cm", "deg", "number", "choice"]
_PLAIN = re.compile(r"\s*([+-]?\d{1,9}(?:[.,]\d{1,9})?)\s*(?:°|deg|degrees)?\s*")


@dataclass(frozen=True, slots=True)
class ParameterRule:
    """One parameter: what it is, what may stand there, what stands there when nothing is said.

    ``low``, ``high`` and ``default`` are in ``unit`` (centimetres, degrees or a bare number);
    ``choices`` holds the accepted words of a choice and is empty otherwise.
    """

    key: str
    unit: ParameterUnit
    low: float
    high: float
    choices: tuple[str, ...]
    default: float | str
    meaning: str

    def read(self, value: object, unit: LengthUnit) -> float | str:
        """A written value as used inside: centimetres, radians, a bare number or a choice.

        A bare length is in ``unit``. Raises ``ValueError`` with the reason when it is of the wrong
        kind or outside the range.
        """
        if self.unit == "choice":
            if not isinstance(value, str):
                raise ValueError(f"a word is wanted here, not {kind_of(value)}")
            word = trade_word(value, self.choices)
            if word not in self.choices:
                raise ValueError("this is not one of the choices")
            return word
        number = read_quantity(value, self.unit, unit)
        shown = math.degrees(number) if self.unit == "deg" else number
        if not lies_within(shown, self.low, self.high):
            raise ValueError("this is outside the accepted range")
        return number

    def standing(self) -> float | str:
        """The default as used inside: centimetres, radians, a bare number or a choice."""
        if self.unit == "deg" and not isinstance(self.default, str):
            return math.radians(self.default)
        return self.default

    @property
    def allowed(self) -> str:
        """What may stand here, for a sentence: ``2 to 5 cm``, ``"pointed", "round"``."""
        if self.unit == "choice":
            return ", ".join(f'"{choice}"' for choice in self.choices)
        return said_range(self.low, self.high, self.unit)

    def accepted(self, unit: LengthUnit) -> str:
        """The same for a maker who works in ``unit``."""
        return written(self.allowed, unit)


def trade_word(word: str, choices: Container[str]) -> str:
    """A word as the choices have it, where it is written in capitals or is another of the trade's
    words for one of them (``data/trade_words.toml``); as it is where it is neither.

    >>> trade_word("Peter Pan", ("flat", "band"))
    'flat'
    """
    plain = word.strip().lower()
    known = read_data("trade_words").values["words"].get(plain, plain)
    return known if word not in choices and known in choices else word


def with_defaults(
    rules: Mapping[str, ParameterRule], values: Mapping[str, float | str]
) -> dict[str, float | str]:
    """``values`` (already in centimetres and radians) with the defaults of all others filled in."""
    return {key: values.get(key, rule.standing()) for key, rule in rules.items()}


def read_quantity(
    value: object, kind: Literal["cm", "deg", "number"], unit: LengthUnit = LengthUnit.CM
) -> float:
    """A written length, angle or bare number as centimetres, radians or the number itself.

    A bare length is in ``unit``; text may carry a comma, a fraction and a unit of its own. Raises
    ``ValueError`` with the reason for anything that is no finite number of that kind.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"a number is wanted here, not {kind_of(value)}")
    if isinstance(value, str):
        number = parse_length(value, unit) if kind == "cm" else _read_plain(value)
    else:
        try:
            number = float(value)
        except OverflowError:
            raise ValueError("this number is too large") from None
        if kind == "cm":
            number = to_cm(number, unit)
    if not math.isfinite(number):
        raise ValueError("this is not a finite number")
    return math.radians(number) if kind == "deg" else number


def lies_within(value: float, low: float, high: float) -> bool:
    """Whether ``value`` is in the range, ends included despite the rounding of conversions."""
    slack = 1e-9 * max(abs(low), abs(high), 1.0)
    return low - slack <= value <= high + slack


def said_range(low: float, high: float, kind: str) -> str:
    """A range for a sentence: ``28 to 42 cm``, ``14 to 33 degrees``; a length stays one."""
    if kind == "cm":
        return f"{span(low, high, places=SHORT)}"
    return f"{round(low, 2):g} to {round(high, 2):g}{' degrees' if kind == 'deg' else ''}"


def format_range(low: float, high: float, kind: str, unit: LengthUnit) -> str:
    """A range for a maker: ``28 to 42 cm``, ``11 1/16 to 16 1/2 in``, ``14 to 33 degrees``."""
    return written(said_range(low, high, kind), unit)


def kind_of(value: object) -> str:
    """What sort of thing stands there, in a maker's words: ``a table``, ``true or false``."""
    if isinstance(value, bool):
        return "true or false"
    names: tuple[tuple[type | tuple[type, ...], str], ...] = (
        ((int, float), "a number"),
        (str, "a text"),
        (dict, "a table"),
        (list, "a list"),
    )
    return next((name for types, name in names if isinstance(value, types)), "a date or time")


def _read_plain(text: str) -> float:
    match = _PLAIN.fullmatch(text)
    if match is None:
        raise ValueError("not a number: write it as 20 or 20.5")
    return float(match[1].replace(",", "."))
