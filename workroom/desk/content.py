"""What a page sends, made safe: plain tables of plain values, as a card has them.

The page may send work that is not finished (a number half typed), and that is kept as typed. What
no page sends (lists, nothings, numbers without end, tables in tables in tables) is refused.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationInfo
from pydantic_core import PydanticCustomError

from blocks.body.measures import measurements
from drafting.errors import NeckarcError, Problem
from workroom.book.book import ASKED
from workroom.card.shape import line

# ---- What can go wrong at the desk itself


class DeskError(NeckarcError, ValueError):
    """What the page sent cannot be used."""


#: Signs a name may have, a note may have, and any other text.
LONGEST_NAME, LONGEST_NOTE, LONGEST_TEXT = 120, 10_000, 200
_PLAIN = ("client", "date", "unit", "order", "notes")
_TABLES = (*ASKED, "measurements")
#: What was seen at fittings and holds for this client: shown in the draft, kept in the book.
FITTINGS = "toile"
_MOST_FITTINGS = 100
_DEEPEST = 3
_MOST_VALUES = 400
_MOST = 1e9


def read_json(body: bytes) -> dict[str, Any]:
    """A table from JSON. Raises :class:`DeskError`."""
    try:
        found = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise DeskError(Problem("this is not JSON")) from error
    if not isinstance(found, dict):
        raise DeskError(Problem("a table of values is wanted"))
    return found


def read_content(sent: Any) -> dict[str, Any]:
    """A card's content from what was sent, without what is empty. Raises :class:`DeskError`."""
    if not isinstance(sent, dict):
        raise DeskError(Problem("a table of values is wanted"))
    content: dict[str, Any] = {}
    fittings: list[dict[str, Any]] | None = None
    for key, value in sent.items():
        if key in _PLAIN:
            if not isinstance(value, str):
                raise DeskError(Problem("a text is wanted here", key=key))
            content[key] = value
        elif key in _TABLES:
            content[key] = value
        elif key == FITTINGS:
            fittings = _rows(value)
        else:
            raise DeskError(Problem("a card has no such part", key=str(key)[:60]))
    count = [0]
    kept: dict[str, Any] = {}
    for key, value in content.items():
        read = _value(value, key, 0, count)
        if key in _TABLES and not isinstance(read, dict | None):
            raise DeskError(Problem("a table is wanted here", key=key))
        if read is not None:
            kept[key] = read
    strange = [key for key in kept.get("measurements", {}) if key not in measurements()]
    if strange:
        raise DeskError(Problem("there is no measurement of this name", key=strange[0][:60]))
    return kept | ({} if fittings is None else {FITTINGS: fittings})


def _rows(sent: Any) -> list[dict[str, Any]]:
    """What was seen at fittings, row by row."""
    if not isinstance(sent, list) or len(sent) > _MOST_FITTINGS:
        raise DeskError(
            Problem(
                "a list of fittings is wanted", key=FITTINGS, accepted=f"up to {_MOST_FITTINGS}"
            )
        )
    rows = [_value(row, FITTINGS, 1, [0]) for row in sent]
    if not all(isinstance(row, dict | None) for row in rows):
        raise DeskError(Problem("a fitting is a table", key=FITTINGS))
    return [row for row in rows if row]


def text_line(given: object, key: str, longest: int, *, empty: bool = True) -> str:
    """One line of text that a card may carry, spaces made single. Raises :class:`DeskError`."""
    if not isinstance(given, str):
        raise DeskError(Problem("a text is wanted here", key=key))
    return _read(" ".join(given.split()), key, longest, several=False, empty=empty)


def text_lines(given: object, key: str, longest: int) -> str:
    """Several lines of text that a card may carry. Raises :class:`DeskError`."""
    if not isinstance(given, str):
        raise DeskError(Problem("a text is wanted here", key=key))
    plain = given.replace("\r\n", "\n").replace("\r", "\n")
    return _read(plain, key, longest, several=True, empty=True)


def _read(text: str, key: str, longest: int, *, several: bool, empty: bool) -> str:
    try:
        return str(line(longest, several=several, empty=empty)(text, _NO_CONTEXT))
    except PydanticCustomError as error:
        told = error.context or {}
        accepted = told.get("accepted", "") or f"1 to {longest} signs"
        problem = Problem(str(told.get("said", error)), key=key, accepted=accepted)
        raise DeskError(problem) from error


_NO_CONTEXT: ValidationInfo[Any] = None  # type: ignore[assignment]  # texts need none


def _value(value: Any, key: str, depth: int, count: list[int]) -> Any:
    """A value as a card may have it; ``None`` for an empty one."""
    count[0] += 1
    if count[0] > _MOST_VALUES:
        raise DeskError(Problem("this is more than any card has", accepted=f"{_MOST_VALUES} lines"))
    match value:
        case bool():
            return value
        case int() | float():
            if not abs(value) <= _MOST:  # not a number is not within it either
                raise DeskError(Problem("this number is too large", key=key[:60]))
            return value
        case str():
            return _text(value, key)
        case Mapping():
            if depth >= _DEEPEST:
                raise DeskError(Problem("no card has tables so deep", key=key[:60]))
            inside = {
                _text(name, key): _value(one, name, depth + 1, count)
                for name, one in value.items()
                if name
            }
            return {name: one for name, one in inside.items() if one is not None} or None
        case None:
            return None
    raise DeskError(Problem("this cannot stand on a card", key=key[:60]))


def _text(value: str, key: str) -> Any:
    longest = LONGEST_NOTE if key == "notes" else LONGEST_TEXT
    if len(value) > longest:
        raise DeskError(
            Problem(
                f"this is {len(value)} signs long", key=key[:60], accepted=f"up to {longest} signs"
            )
        )
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        raise DeskError(Problem("this text has half a sign in it", key=key[:60])) from None
    return value or None


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is not a number")
