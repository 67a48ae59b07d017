"""Units: centimetres and radians inside; everything else only at the border.

The numbers 10, 2.54, 72 and 96 appear here and nowhere else.
"""

from __future__ import annotations

import math
import re
import unicodedata
from enum import StrEnum
from fractions import Fraction

MM_PER_CM = 10.0
CM_PER_INCH = 2.54
INCHES_PER_YARD = 36
POINTS_PER_CM = 72.0 / CM_PER_INCH
CSS_PIXELS_PER_CM = 96.0 / CM_PER_INCH
_HAIR = 1e-6


class LengthUnit(StrEnum):
    """The units a maker may write lengths in."""

    CM = "cm"
    INCH = "in"


_NUMBER = r"\d{1,6}(?:[.,]\d{1,6})?"
_LENGTH = re.compile(
    rf"(?P<sign>-)?\s*(?:(?P<whole>{_NUMBER})(?:(?:\s+|-)(?P<mixed>\d{{1,3}}/\d{{1,3}}))?"
    rf"|(?P<fraction>\d{{1,3}}/\d{{1,3}}))"
    rf"\s*(?P<unit>cm|mm|in|inch|inches|\"|″|”)?",
)
#: Fractions that a keyboard or a word processor sets as one sign.
FRACTIONS = {
    sign: unicodedata.normalize("NFKC", sign).replace("⁄", "/") for sign in "½¼¾⅛⅜⅝⅞⅓⅔⅕⅖⅗⅘⅙⅚"
}
_ONE_SIGN = re.compile(rf"(?:(?<=\d)-)?([{''.join(FRACTIONS)}])")
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

    Accepts ``92.5``, ``92,5``, ``14 3/8``, ``14-3/8``, ``14⅜``, ``3/8`` and a unit of its own
    (``cm``, ``mm``, ``in``), which outranks ``unit``. Raises ``ValueError`` with the reason for
    anything else.
    """
    plain = _ONE_SIGN.sub(lambda sign: f" {FRACTIONS[sign[1]]} ", text)
    match = _LENGTH.fullmatch(plain.strip())
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
                raise ValueError("a fraction cannot be over 0")
            total += float(Fraction(part))
    if match["sign"]:
        total = -total
    named = match["unit"]
    if named is None:
        return to_cm(total, unit)
    return total * _SUFFIX.get(named, CM_PER_INCH)


class Rounding(StrEnum):
    """Which way a length is rounded when it is written out."""

    NEAREST = "nearest"
    UP = "up"
    DOWN = "down"


#: As many decimals as a length needs, two at most: for limits, which are round numbers.
SHORT = -1
#: The finest fraction of an inch that is written, and the finest that a tape measure shows.
SIXTEENTH, EIGHTH = 16, 8
#: Lengths that a sixteenth tells too roughly (inches) come as hundredths of an inch.
SMALL_INCHES = 1 / 8


def format_length(
    value: float,
    unit: LengthUnit,
    *,
    places: int = 1,
    rounding: Rounding = Rounding.NEAREST,
    tape: bool = False,
) -> str:
    """Centimetres for a maker to read: ``37.4 cm``, or inches to the sixteenth: ``14 3/4 in``.

    For a ``tape`` measure inches come to the eighth. Under an eighth of an inch what is no
    sixteenth is written in hundredths, ``0.04 in``.
    """
    return f"{_amount(value, unit, places, rounding, tape)} {unit.value}"


def format_small(value: float, unit: LengthUnit) -> str:
    """A small difference (cm) in decimals, as many as it needs to be seen: ``0.03 in``."""
    amount = from_cm(value, unit)
    places = (
        2 if abs(amount) >= 0.01 or not amount else min(6, 1 - math.floor(math.log10(abs(amount))))
    )
    return f"{amount:.{places}f} {unit.value}"


def format_span(
    low: float, high: float, unit: LengthUnit, *, places: int = 1, tape: bool = False
) -> str:
    """Two lengths (cm) for a maker to read, ``2 to 4 cm``, each rounded inwards; to the nearest
    where they lie too close together for that."""
    ways = (Rounding.UP, Rounding.DOWN)
    step = 1.0 / (EIGHTH if tape else SIXTEENTH)
    if unit is LengthUnit.CM:
        step = 10.0 ** -(places if places >= 0 else 2)
    if from_cm(high - low, unit) < 2.0 * step:
        ways = (Rounding.NEAREST, Rounding.NEAREST)
    ends = [
        _amount(cm, unit, places if cm else SHORT, way, tape)
        for cm, way in zip((low, high), ways, strict=True)
    ]
    return f"{' to '.join(dict.fromkeys(ends))} {unit.value}"


def format_cloth(value: float, unit: LengthUnit) -> str:
    """So much cloth (cm) as it is bought: ``230 cm``, or yards and inches up to the next eighth of
    a yard: ``2 5/8 yd (94 1/2 in)``."""
    if unit is LengthUnit.CM:
        return format_length(value, unit, places=0, rounding=Rounding.UP)
    yards = _whole(value / (INCHES_PER_YARD * CM_PER_INCH) * EIGHTH, Rounding.UP) / EIGHTH
    inches = format_inches(yards * INCHES_PER_YARD * CM_PER_INCH)
    return f"{format_inches(yards * CM_PER_INCH, finest=EIGHTH)} yd ({inches} in)"


def format_inches(
    value: float, *, rounding: Rounding = Rounding.NEAREST, finest: int = SIXTEENTH
) -> str:
    """Centimetres as inches to the nearest sixteenth, without the unit: ``14 3/4``."""
    steps = _whole(value / CM_PER_INCH * finest, rounding)
    sign = "-" if steps < 0 else ""
    whole, rest = divmod(abs(steps), finest)
    if rest == 0:
        return f"{sign}{whole}"
    fraction = Fraction(rest, finest)
    lead = f"{whole} " if whole else ""
    return f"{sign}{lead}{fraction.numerator}/{fraction.denominator}"


def _amount(value: float, unit: LengthUnit, places: int, rounding: Rounding, tape: bool) -> str:
    if unit is LengthUnit.CM:
        return _decimal(value, places, rounding)
    inches = value / CM_PER_INCH
    rough = abs(inches * SIXTEENTH - round(inches * SIXTEENTH)) > 0.02
    if not tape and 0.005 <= abs(inches) < SMALL_INCHES and rough:
        return _decimal(inches, 2, rounding)
    return format_inches(value, rounding=rounding, finest=EIGHTH if tape else SIXTEENTH)


def _decimal(value: float, places: int, rounding: Rounding) -> str:
    if places == SHORT:
        return _decimal(value, 2, rounding).rstrip("0").rstrip(".")
    scale = 10.0**places
    if rounding is not Rounding.NEAREST:
        value = _whole(value * scale, rounding) / scale
    return f"{round(value, places) + 0.0:.{places}f}"


def _whole(value: float, rounding: Rounding) -> int:
    """A whole number; what is whole but for the last digits of a float is not rounded away."""
    if rounding is Rounding.UP:
        return math.ceil(value - _HAIR)
    if rounding is Rounding.DOWN:
        return math.floor(value + _HAIR)
    return round(value)
