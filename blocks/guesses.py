"""Slips of the pen that may explain a wrong number: units, halves, the point, swapped digits."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from drafting.units import CM_PER_INCH, MM_PER_CM, LengthUnit, format_length, from_cm, to_cm


@dataclass(frozen=True, slots=True)
class Guess:
    """A length (cm) that may have been meant, and in words how it went wrong."""

    value: float
    said: str


def guesses(value: float, unit: LengthUnit) -> tuple[Guess, ...]:
    """What may have been meant by the length ``value`` (cm) on a card written in ``unit``."""
    written = f"{round(from_cm(value, unit), 2):g}"
    if unit is LengthUnit.CM:
        larger = f"perhaps {written} inches typed as centimetres"
        smaller = "perhaps turned from inches into centimetres twice"
    else:
        larger = "perhaps turned from centimetres into inches twice"
        smaller = f"perhaps {written} centimetres typed as inches"
    factors = (
        (CM_PER_INCH, larger),
        (1 / CM_PER_INCH, smaller),
        (2.0, "perhaps only half was measured"),
        (0.5, "perhaps doubled by mistake"),
        (MM_PER_CM, "perhaps the decimal point slipped"),
        (1 / MM_PER_CM, "perhaps the decimal point slipped"),
    )
    found = [
        Guess(value * factor, f"{said}: {format_length(value * factor, unit)}")
        for factor, said in factors
    ]
    found += [
        Guess(to_cm(float(text), unit), f"perhaps {text} {unit.value}, digits swapped")
        for text in _swapped(written)
    ]
    return tuple(found)


def _swapped(written: str) -> list[str]:
    """Every text that differs from ``written`` by two neighbouring digits swapped."""
    at = [place for place, sign in enumerate(written) if sign.isdigit()]
    texts: list[str] = []
    for first, second in pairwise(at):
        if written[first] != written[second]:
            signs = list(written)
            signs[first], signs[second] = signs[second], signs[first]
            texts.append("".join(signs))
    return texts
