"""What is wrong with a card, in a maker's words: where, what stands there, what may stand there."""

from __future__ import annotations

import codecs
import datetime
import math
import os
import re
import stat
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from drafting.errors import CardError, DataError, Problem
from drafting.library import TomlText, read_toml

# ---- A client card on disk: bytes to text, and text to TOML with plain words for what goes
# wrong

#: A card is a page or two; anything longer than this many bytes is some other file.
MAX_BYTES = 1_000_000
_QUOTE_NUMBER = 'Put a number with a comma or a fraction in quotation marks: "92,5" or "14 3/8".'
_ADVICE: tuple[tuple[str, str], ...] = (
    (r"[“”„«»‘’]", 'Use straight quotation marks: ".'),
    (r"=\s*[\d.]*\s*\d+\s*[,/]\s*\d", _QUOTE_NUMBER),
    (r"=\s*[\d.,]+\s*(cm|mm|in|\"|″|°)", 'Put a number with its unit in quotation marks: "92 cm".'),
    (r"=\s*(#.*)?$", "Write the value after the =, or put # in front of the line."),
    (r"=\s*[^\W\d]", 'Put text in quotation marks: key = "text".'),
    (r"=\s*\"[^\"]*$", "Close the quotation marks."),
    (r"^[^=]*$", "A line is key = value or a [heading]; a remark starts with #."),
)
_TWICE = re.compile(r"overwrite|declare|mutate|twice|duplicate", re.IGNORECASE)


def read_text(path: Path) -> str:
    """The text of the card at ``path``: UTF-8, or UTF-16 with its mark.

    Raises :class:`CardError` when it is missing, no plain file, locked, too large or no text.
    """
    return decode(read_bytes(path), printable(path.name))


def read_bytes(path: Path) -> bytes:
    """The bytes of the card at ``path``.

    Raises :class:`CardError` when it is missing, no plain file, locked or too large.
    """
    name = printable(path.name)
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise CardError(Problem("this is a folder, not a card", name))
        if not stat.S_ISREG(found.st_mode):
            raise CardError(Problem("this is not a plain file", name))
        if found.st_size <= MAX_BYTES:
            with path.open("rb") as file:
                return file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise CardError(
            Problem("there is no such card", name, advice=_did_you_mean(path))
        ) from None
    except PermissionError:
        raise CardError(Problem("the permissions of this card forbid reading it", name)) from None
    except (OSError, ValueError) as error:
        if isinstance(error, CardError):
            raise
        reason = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else "name"
        raise CardError(Problem(f"this card cannot be opened ({reason})", name)) from error
    raise CardError(_too_large(name))


def decode(data: bytes, name: str) -> str:
    """The bytes of a card as text; raises :class:`CardError` when they are no text."""
    if len(data) > MAX_BYTES:
        raise CardError(_too_large(name))
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = 0 if wide else data[: error.start].count(b"\n") + 1
    advice = "Save the card again as UTF-8 text."
    said = "this is not text"
    if b"\0" in data[:4]:
        said = "this looks like UTF-16 without its mark"
    raise CardError(Problem(said, f"{name}:{line}" if line else name, advice=advice))


def read_card_toml(text: str, name: str) -> TomlText:
    """Parse the text of a card. Raises :class:`CardError` with the line where it is no TOML."""
    if len(text) > MAX_BYTES:
        raise CardError(_too_large(name))
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        said = "this is not plain text; it may be UTF-16 without its mark"
        raise CardError(
            Problem(said, f"{name}:{line}", advice="Save the card again as UTF-8 text.")
        )
    try:
        return read_toml(text, name)
    except DataError as error:
        raise CardError(_not_toml(text, name, error.problems[0])) from None
    except ValueError as error:
        # A whole number of thousands of digits is legal TOML but more than Python reads.
        raise CardError(Problem("a number in this card is far too long", name)) from error


def printable(text: str) -> str:
    """``text`` with everything that cannot be printed written as an escape."""
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape", "replace").decode("ascii")
        for sign in text
    )


def _too_large(name: str) -> Problem:
    return Problem("this file is too large for a card", name, accepted="up to 1 MB")


def _did_you_mean(path: Path) -> str:
    try:
        beside = [other.name for other in path.parent.glob("*.toml")]
    except (OSError, ValueError):
        return ""
    close = get_close_matches(path.name, beside, n=3)
    return f"Did you mean {printable(' or '.join(close))}?" if close else ""


def _not_toml(text: str, name: str, problem: Problem) -> Problem:
    reason = problem.said.removeprefix("this is not TOML: ")
    lines = text.split("\n")
    at = re.search(r":(\d+)$", problem.place)
    number = int(at[1]) if at else len(text.rstrip().split("\n"))
    line = lines[number - 1].strip()[:200] if number <= len(lines) else ""
    if _TWICE.search(reason):
        said, advice = "this key or heading is here twice", "Keep one of them."
    else:
        said = f"this line cannot be read: {re.sub(r' *[(]at .*[)]$', '', reason)}"
        advice = next((tip for pattern, tip in _ADVICE if re.search(pattern, line)), "")
    got = printable(line if len(line) <= 60 else f"{line[:57]}...")
    return Problem(printable(said), f"{name}:{number}", got=got, advice=advice)


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
