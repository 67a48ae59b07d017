"""Twins of cards in the other unit, and a look for lengths that are spoken in the wrong unit or in
none."""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import tomli_w

from blocks.body.measures import measurements
from collars.registry import COLLARS
from drafting.units import CM_PER_INCH, LengthUnit
from garment.options import options

_LENGTHS = {
    ("garment", "button_stand"),
    ("garment", "seam_allowance"),
    ("neckline", "ease"),
    ("neckline", "facing"),
    ("neckline", "back_arc"),
    ("neckline", "front_arc"),
}


def inch_twin(text: str) -> str:
    """A card in centimetres as a maker in inches would write it: the same body and order."""
    card = copy.deepcopy(tomllib.loads(text))
    assert card.get("unit", "cm") == "cm"
    card["unit"] = "in"
    for path, table, key in list(_numbers(card, ())):
        if _is_length((*path, key), str(card.get("collar", {}).get("kind", "none"))):
            table[key] = round(table[key] / CM_PER_INCH, 9)
    return tomli_w.dumps(card)


def _numbers(table: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any, str]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _numbers(value, (*path, key))
        elif isinstance(value, list):
            for one in value:
                yield from _numbers(one, (*path, key))
        elif isinstance(value, int | float):
            yield path, table, key


def _is_length(path: tuple[str, ...], kind: str) -> bool:
    room, key = path[0], path[-1]
    if room == "measurements":
        return measurements()[key].unit == "cm" if key in measurements() else True
    if path in _LENGTHS or path[:2] in {("garment", "allowances"), ("neckline", "style")}:
        return True
    if room == "garment":
        row = options().get(path[1], {}).get(key)
        return row is not None and row.rule.unit == "cm"
    if room == "collar":
        rules = COLLARS[kind].parameters if kind in COLLARS else {}
        return key in rules and rules[key].unit == "cm"
    return room == "toile" and key == "amount"


# ---- the look -----------------------------------------------------------------------------------

_N = r"-?\d+(?:[.,]\d+)?"
_IN = rf"(?:-?\d+ \d+/\d+|-?\d+/\d+|{_N})"
_WRONG: Mapping[LengthUnit, re.Pattern[str]] = {
    LengthUnit.INCH: re.compile(r"\b(?:cm|mm)\b|(?:centi|milli)met|\ufdd0|\ufdd1", re.IGNORECASE),
    LengthUnit.CM: re.compile(rf"{_IN} in\b|\binch|\byd\b|\d[″”]|\ufdd0|\ufdd1"),
}
#: What may speak the other unit, and why.
_BOTH = re.compile(
    r"10 cm = 100 mm|square of 10 cm|^4 in$|(?:bar of|bar is) 4 in(?:ches)?"  # printed
    r"|inches: this"
    r"|19 (?:times )?in 20|\d+ in 100"  # chances
    r"|\"cm\" or \"in\""  # the card's own switch
    r"|(?:inches|centimetres) typed as (?:centimetres|inches)"  # a slip is named by both
    r"|from (?:inches|centimetres) into (?:inches|centimetres) twice"
    r"|Is it in (?:inches|centimetres|millimetres)\?"
)
_ONE = {LengthUnit.CM: _N, LengthUnit.INCH: _IN}
#: Numbers that are no lengths, and what they are.
_NO_LENGTH = tuple(
    re.compile(pattern)
    for pattern in (
        r"(?<![\d.])\d{4}-\d{2}-\d{2}(?![\d.])",  # a date
        rf"{_N}(?: to {_N})?\s?(?:%|°|degrees\b)",  # a share, an angle
        rf"{_N} times in 100(?:,? (?:instead of|not) \d+)?|\d+ times in 20|\bin (?:20|100)\b",
        r"\b(?:ISO|EN|ASTM|ANSI|CFR|\d+ CFR|TR-|items?|points?|vol\.|pp?\.|size|class) ?"
        r"[A-Z]?\d[\d./-]*"
        r"(?:(?:,| and) \d+)*",  # a standard or a place in a book
        r"\b(?:1[89]|20)\d\d\b",  # a year
        r"(?<![\d.,/])-?0(?![\d.,/])",  # nothing needs no unit
        r"\"[\d ,./½]+\"",  # how a number is typed
        r"^\s*\d+\. ",  # a step's number
        r"\(\d\)|\bcut \d+\b",  # how many are cut
        r"\b\d+ (?:times?|checks?|passed|failed|noted|pieces?|layers?|pages?|buttons?|"
        r"buttonholes?|women|years|sheets?|things?|halves|darts?|of \d+)\b",  # a count
    )
)


def wrong_units(text: str, unit: LengthUnit) -> list[str]:
    """Where a text speaks the other unit, or a length without any; each with what is round it."""
    plain = _BOTH.sub(" ", text)
    return [_round(plain, one) for one in _WRONG[unit].finditer(plain)]


def bare_lengths(text: str, unit: LengthUnit) -> list[str]:
    """Numbers of a sentence that have no unit and are no count, share, date or standard."""
    one = _ONE[unit]
    name = "cm" if unit is LengthUnit.CM else r"(?:in|yd)"
    left = _BOTH.sub(" ", text)
    left = re.sub(
        rf"{one}(?: ± {one})? {name}\b", " ", re.sub(rf"{one} to ({one} {name})", r"\1", left)
    )
    for pattern in _NO_LENGTH:
        left = pattern.sub(" ", left)
    return [
        _round(left, found) for found in re.finditer(r"(?<![\w/])-?\d+(?:[.,/]\d+)*(?![\w/])", left)
    ]


def _round(text: str, found: re.Match[str]) -> str:
    return text[max(0, found.start() - 40) : found.end() + 25].replace("\n", " ")
