"""What is wrong with a card, in a maker's words: where, what stands there, what may stand there."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from drafting.errors import Problem
from drafting.library import TomlText
from workroom.card_file import printable

#: Advice for unknown keys costs time; a file with more mistakes than this is no card.
ADVISED = 200


def shape_problems(
    error: ValidationError, toml: TomlText, known: Mapping[str, Iterable[str]]
) -> list[Problem]:
    """Every mistake pydantic found. ``known`` holds the accepted keys of every table."""
    return [
        _problem(detail, toml, known if count < ADVISED else {})
        for count, detail in enumerate(error.errors(include_url=False))
        if detail["type"] != "missing" or not _misplaced(detail["loc"][-1], toml)
    ]


def unknown_key(
    key: str, table: str, toml: TomlText, known: Mapping[str, Iterable[str]], value: object
) -> Problem:
    """The problem of a key that means nothing in ``table`` (dotted; empty for the top)."""
    name = ".".join(part for part in table.split(".") if not part.isdecimal())
    here = sorted(known.get(name, ()))
    homes = [other for other, keys in known.items() if key in keys and other not in (name, "toile")]
    heading = f"[{table}]" if name == table else f"[[{name}]]"
    advice = did_you_mean(key, here)
    if homes and not (advice and table == "measurements"):  # "hip" there is the hip girth
        where = f"under [{homes[0]}]" if homes[0] else "at the top, above the first [heading]"
        advice = f"It belongs {where}."
    path = [*table.split("."), key] if table else [key]
    return Problem(
        f"this key means nothing under {heading}" if table else "this key means nothing here",
        toml.place(*path),
        dotted(path),
        got=shown(value),
        accepted=", ".join(here) if 0 < len(here) <= 12 and not homes else "",
        advice=advice,
    )


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A question that names up to three of ``known`` close to ``word``; empty if none is."""
    words = list(known)
    if len(word) > 60:
        return ""
    plain = "_".join(word.lower().replace("-", " ").replace("_", " ").split())
    close = [other for other in words if other == plain]
    close = close or get_close_matches(plain, words, n=3, cutoff=0.7)
    close = close or [other for other in words if len(plain) > 2 and other.startswith(plain)]
    close = close or get_close_matches(plain, words, n=3, cutoff=0.5)
    close = close or [other for other in words if len(plain) > 2 and plain in other]
    return f"Did you mean {' or '.join(close[:3])}?" if close else ""


def dotted(path: Iterable[str]) -> str:
    """A key with its tables, cut short and printable: ``garment.method``."""
    return ".".join(printable(part if len(part) <= 60 else f"{part[:57]}...") for part in path)


def shown(value: object) -> str:
    """A value as it stands in a card, cut short, nothing unprintable in it."""
    match value:
        case bool():
            return "true" if value else "false"
        case float() if not math.isfinite(value):
            return str(value)
        case int() | float():
            return f"{value:g}" if abs(value) < 1e12 else "a very large number"
        case str():
            text = value if len(value) <= 60 else f"{value[:57]}..."
            return f'"{printable(text)}"'
        case dict():
            return "a table"
        case list():
            return "a list"
        case datetime.date() | datetime.time():
            return value.isoformat()
    return type(value).__name__


def by_line(problems: Iterable[Problem]) -> list[Problem]:
    """Problems in the order of their lines; those of the whole file first."""

    def line(problem: Problem) -> int:
        _, _, number = problem.place.rpartition(":")
        return int(number) if number.isdecimal() else 0

    return sorted(problems, key=line)


def _misplaced(key: object, toml: TomlText) -> bool:
    """Whether a missing key stands in some table: that is told already, and enough."""
    return any(isinstance(table, dict) and key in table for table in toml.values.values())


def _problem(detail: Any, toml: TomlText, known: Mapping[str, Iterable[str]]) -> Problem:
    path = [str(part) for part in detail["loc"]]
    place, key = toml.place(*path), dotted(path)
    value = detail["input"]
    match detail["type"]:
        case "missing":
            return Problem("this is missing", place, key, advice=_MISSING.get(_plain(path), ""))
        case "extra_forbidden":
            return unknown_key(path[-1], ".".join(path[:-1]), toml, known, value)
        case "refused":
            parts = detail["ctx"]
            choices = parts["choices"]
            advice = parts["advice"]
            if choices and isinstance(value, str):
                advice = did_you_mean(value, choices)
            accepted = parts["accepted"] or ", ".join(f'"{word}"' for word in choices)
            return Problem(parts["said"], place, key, shown(value), accepted, advice)
    if path[:1] == ["toile"]:
        advice = "Write [[toile]] on a line of its own and date, seen and amount below."
        return Problem("a table is wanted here", place, key, shown(value), advice=advice)
    return Problem(
        "a table is wanted here",
        place,
        key,
        shown(value),
        advice=f"Write [{key}] on a line of its own and its keys below.",
    )


def _plain(path: list[str]) -> str:
    """A key with its tables, without the numbers of their rows."""
    return ".".join(part for part in path if not part.isdecimal())


_MISSING = {
    "client": 'Write client = "her name" at the top.',
    "date": "Write the day she was measured, such as date = 2026-03-14, at the top.",
    "toile.date": "Write the day of the fitting, such as date = 2026-03-14.",
    "toile.seen": 'Write what was seen, such as seen = "front neck too deep".',
}
