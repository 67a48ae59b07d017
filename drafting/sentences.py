"""Sentences that carry values: a length stays a length until somebody reads it.

A sentence is written once, ``f"Raise the front by {length(0.62, places=2)}."``, and comes out in
centimetres or in inches where it meets a maker, by :func:`written`.

Inside a text a value stands between two noncharacters, which Unicode keeps for a program's own use
(The Unicode Standard, 23.7), so that it passes through f-strings, joins and data templates whole.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import degrees
from typing import SupportsIndex

from drafting.units import SHORT as SHORT
from drafting.units import LengthUnit, Rounding, format_length, format_span

_OPEN, _CLOSE = "\ufdd0", "\ufdd1"
_MARKED = re.compile(f"{_OPEN}([^{_OPEN}{_CLOSE}]*){_CLOSE}")


@dataclass(frozen=True, slots=True)
class Value:
    """One length (cm) in a sentence, or a span of two. ``places`` are decimals of a centimetre
    (``SHORT``: as many as it needs), ``tape`` says that it is for a tape measure, which shows
    eighths of an inch."""

    amounts: tuple[float, ...]
    places: int = 1
    rounding: Rounding = Rounding.NEAREST
    tape: bool = False

    def written(self, unit: LengthUnit) -> str:
        """The value with its unit."""
        if len(self.amounts) == 2:
            return format_span(*self.amounts, unit, places=self.places, tape=self.tape)
        (amount,) = self.amounts
        return format_length(
            amount, unit, places=self.places, rounding=self.rounding, tape=self.tape
        )

    @property
    def mark(self) -> str:
        """The value as it stands inside a text."""
        told = (
            *map(repr, self.amounts),
            str(self.places),
            self.rounding.value,
            str(int(self.tape)),
        )
        return f"{_OPEN}{' '.join(told)}{_CLOSE}"


class Sentence(str):
    """A text whose values are still values. As a string it reads in centimetres; in an f-string,
    and added to another text, it keeps its values. ``parts`` are its words and :class:`Value` s.

    >>> said = Sentence(f"Take a fall of {length(10.03, rounding=UP)} or more.")
    >>> str(said), said.written(LengthUnit.INCH)
    ('Take a fall of 10.1 cm or more.', 'Take a fall of 4 in or more.')
    """

    __slots__ = ("parts",)
    parts: tuple[str | Value, ...]

    def __new__(cls, text: str = "") -> Sentence:
        """Raises nothing: what is no value of ours is left out of the words."""
        if isinstance(text, Sentence):
            return text
        parts = tuple(_parts(f"{text}"))
        made = super().__new__(cls, _joined(parts, LengthUnit.CM))
        made.parts = parts
        return made

    def written(self, unit: LengthUnit) -> str:
        """The text for a maker who works in ``unit``."""
        return _joined(self.parts, unit)

    @property
    def marked(self) -> str:
        """The text with its values in it, for another sentence."""
        return "".join(part.mark if isinstance(part, Value) else part for part in self.parts)

    def __format__(self, spec: str) -> str:
        return self.marked if not spec else format(str(self), spec)

    def __str__(self) -> str:
        return _joined(self.parts, LengthUnit.CM)

    def format(self, *args: object, **kwargs: object) -> Sentence:
        """As of a string: what is filled in keeps its values as well."""
        return Sentence(self.marked.format(*args, **kwargs))

    def __add__(self, other: str) -> Sentence:
        return Sentence(f"{self}{other}")

    def __radd__(self, other: str) -> Sentence:
        return Sentence(f"{other}{self}")

    def __reduce_ex__(self, protocol: SupportsIndex) -> tuple[type[Sentence], tuple[str]]:
        return (Sentence, (self.marked,))


UP, DOWN = Rounding.UP, Rounding.DOWN


def length(
    cm: float, *, places: int = 1, rounding: Rounding = Rounding.NEAREST, tape: bool = False
) -> Sentence:
    """A length (cm) for a sentence: ``3.9 cm``, or ``1 9/16 in``.

    A bound is rounded to the side on which it holds: ``UP`` for "or more", ``DOWN`` for "up to".
    """
    return Sentence(Value((float(cm),), places, rounding, tape).mark)


def span(low: float, high: float, *, places: int = 1, tape: bool = False) -> Sentence:
    """From one length (cm) to another: ``2 to 4 cm``. Rounded inwards, so that both ends hold."""
    return Sentence(Value((float(low), float(high)), places, tape=tape).mark)


_SPOKEN = re.compile(r"\{(-?\d+(?:\.\d+)?)(?: to (-?\d+(?:\.\d+)?))? cm\}")


def read_sentence(text: str) -> str:
    """A text of a data file, in which ``{1.5 cm}`` and ``{7 to 9 cm}`` are values."""

    def value(found: re.Match[str]) -> str:
        amounts = [amount for amount in found.groups() if amount]
        places = max(len(amount.partition(".")[2]) for amount in amounts)
        return Value(tuple(map(float, amounts)), places).mark

    return Sentence(_SPOKEN.sub(value, text)) if _SPOKEN.search(text) else text


def keep_values(holder: object, *names: str) -> None:
    """Make the texts of a frozen dataclass (a text, or several in a tuple) sentences."""
    for name in names:
        held = getattr(holder, name)
        kept = Sentence(held) if isinstance(held, str) else tuple(map(Sentence, held))
        object.__setattr__(holder, name, kept)


def angle(radians: float, *, places: int = 0) -> str:
    """An angle (radians) for a sentence: ``95°``."""
    return f"{round(degrees(radians), places) + 0.0:.{places}f}°"


def written(text: str, unit: LengthUnit) -> str:
    """A text for a maker, its values in ``unit``."""
    return Sentence(text).written(unit)


def _parts(text: str) -> list[str | Value]:
    parts: list[str | Value] = []
    for number, piece in enumerate(_MARKED.split(text)):
        found = _value(piece) if number % 2 else None
        if found is not None:
            parts.append(found)
        elif piece:
            parts.append(piece.replace(_OPEN, "").replace(_CLOSE, ""))
    return parts


def _value(told: str) -> Value | None:
    try:
        *amounts, places, rounding, tape = told.split(" ")
        value = Value(tuple(map(float, amounts)), int(places), Rounding(rounding), tape == "1")
    except ValueError:
        return None
    return value if len(value.amounts) in (1, 2) and SHORT <= value.places <= 6 else None


def _joined(parts: tuple[str | Value, ...], unit: LengthUnit) -> str:
    return "".join(part.written(unit) if isinstance(part, Value) else part for part in parts)
