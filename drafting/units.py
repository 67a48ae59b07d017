"""Units: centimetres and radians inside; everything else only at the border.

The numbers 10, 2.54, 72 and 96 appear here and nowhere else.
"""

from __future__ import annotations

import re
from enum import StrEnum
from fractions import Fraction

MM_PER_CM = 10.0
CM_PER_INCH = 2.54
POINTS_PER_CM = 72.0 / CM_PER_INCH
CSS_PIXELS_PER_CM = 96.0 / CM_PER_INCH


class LengthUnit(StrEnum):
    """The units a maker may write lengths in."""

    CM = "cm"
    INCH = "in"


_NUMBER = r"\d{1,6}(?:[.,]\d{1,6})?"
_LENGTH = re.compile(
    rf"(?P<sign>-)?\s*(?:(?P<whole>{_NUMBER})(?:\s+(?P<mixed>\d{{1,3}}/\d{{1,3}}))?"
    rf"|(?P<fraction>\d{{1,3}}/\d{{1,3}}))"
    rf"\s*(?P<unit>cm|mm|in|inch|inches|\"|″)?",
)
_SUFFIX = {"cm": 1.0, "mm": 1 / MM_PER_CM, "in": CM_PER_INCH}


def to_cm(value: float, unit: LengthUnit) -> float:
    """A length in ``unit`` as centimetres."""
    return value * CM_PER_INCH if unit is LengthUnit.INCH else value


def from_cm(value: float, unit: LengthUnit) -> float:
    """A length in centimetres as ``unit``."""
    return value / CM_PER_INCH if unit is LengthUnit.INCH else value


def mm(value: float) -> float:
    """Centimetres as millimetres."""
    return value * MM_PER_CM


def parse_length(text: str, unit: LengthUnit) -> float:
    """A written length as centimetres.

    Accepts ``92.5``, ``92,5``, ``14 3/8``, ``3/8`` and a unit of its own (``cm``, ``mm``, ``in``),
    which outranks ``unit``. Raises ``ValueError`` with the reason for anything else.
    """
    match = _LENGTH.fullmatch(text.strip())
    if match is None:
        raise ValueError("not a length: write a number such as 92.5, or inches such as 14 3/8")
    total = 0.0
    if match["whole"]:
        total = float(match["whole"].replace(",", "."))
        if match["mixed"] and not total.is_integer():
            raise ValueError("a fraction follows a whole number only, such as 14 3/8")
    for part in (match["mixed"], match["fraction"]):
        if part:
            if part.endswith("/0") or int(part.split("/")[1]) == 0:
                raise ValueError("a fraction cannot be over nought")
            total += float(Fraction(part))
    if match["sign"]:
        total = -total
    named = match["unit"]
    if named is None:
        return to_cm(total, unit)
    return total * _SUFFIX.get(named, CM_PER_INCH)


def format_length(value: float, unit: LengthUnit, *, places: int = 1) -> str:
    """Centimetres for a maker to read: ``37.4 cm``, or inches to the sixteenth: ``14 3/4 in``."""
    if unit is LengthUnit.CM:
        return f"{round(value, places) + 0.0:.{places}f} cm"
    return f"{format_inches(value)} in"


def format_inches(value: float) -> str:
    """Centimetres as inches to the nearest sixteenth, without the unit: ``14 3/4``."""
    sixteenths = round(value / CM_PER_INCH * 16)
    sign = "-" if sixteenths < 0 else ""
    whole, rest = divmod(abs(sixteenths), 16)
    if rest == 0:
        return f"{sign}{whole}"
    fraction = Fraction(rest, 16)
    lead = f"{whole} " if whole else ""
    return f"{sign}{lead}{fraction.numerator}/{fraction.denominator}"


_PLAIN = r"(?<![\w.])(-?\d+(?:\.\d+)?)"
_SAID = re.compile(rf"(?:{_PLAIN} to )?{_PLAIN} cm\b")


def sentence_in(text: str, unit: LengthUnit) -> str:
    """A sentence for people, its centimetres in ``unit``: inside, sentences speak centimetres
    (``4 cm``, ``2 to 4 cm``).

    Inches come to a hundredth, because such sentences tell exact amounts.
    """
    if unit is LengthUnit.CM:
        return text

    def inches(found: re.Match[str]) -> str:
        amounts = (float(amount) / CM_PER_INCH for amount in found.groups() if amount)
        return " to ".join(f"{amount:.2f}" for amount in amounts) + " in"

    return _SAID.sub(inches, text)
