"""A client card on disk: bytes to text, and text to TOML with plain words for what goes wrong."""

from __future__ import annotations

import codecs
import os
import re
import stat
from difflib import get_close_matches
from pathlib import Path

from drafting.errors import CardError, DataError, Problem
from drafting.library import TomlText, read_toml

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
            raise CardError(Problem("this is no plain file", name))
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
    said = "these bytes are no text"
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
        said = "this is no plain text; it may be UTF-16 without its mark"
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
        said, advice = "this key or heading stands twice", "Keep one of the two."
    else:
        said = f"this line cannot be read: {re.sub(r' *[(]at .*[)]$', '', reason)}"
        advice = next((tip for pattern, tip in _ADVICE if re.search(pattern, line)), "")
    got = printable(line if len(line) <= 60 else f"{line[:57]}...")
    return Problem(printable(said), f"{name}:{number}", got=got, advice=advice)
