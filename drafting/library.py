"""The one reader of ``data/``: TOML as a maker reads it, with the line of every key. A length in a
sentence stands in braces with its unit, ``{1.5 cm}`` or ``{7 to 9 cm}``, and stays a length.

In a checkout the folder lies beside the packages; in an installed copy inside this one.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property
from math import radians
from pathlib import Path
from types import MappingProxyType
from typing import Any

from drafting.errors import DataError, Problem
from drafting.sentences import read_sentence

_INSTALLED = Path(__file__).parent / "_data"
_CHECKOUT = Path(__file__).parent.parent / "data"
# No possessive quantifiers: Python 3.11.0 to 3.11.4 match them wrongly. Within a repeat no two
# branches start on the same sign, so that nothing is tried twice without them.
_WORD = re.compile(r"""[ \t]*(?:[\w-]+|"(?:[^"\\]|\\.)*"|'[^']*')[ \t]*""")
_GAP = re.compile(r"(?:\s|#[^\n]*)*")
_SCALAR = re.compile(
    r'''"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}'''
    r"""|'''(?:[^']|'{1,2}(?!'))*'{3,5}"""
    r'''|"(?:[^"\\]|\\.)*"'''
    r"""|'[^']*'"""
    r"|[^,\]}#\n]+",
    re.DOTALL,
)
# A key of so many steps (a.a.a...) costs the square of them in time and memory, gigabytes for a
# page of text. No table here is deeper than four. Each branch is tried once from each anchor.
_DEEPEST = 50
_STEP = r"""[ \t]*(?:[\w-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')[ \t]*"""
_TOO_DEEP = re.compile(rf"(?:^|[\[{{,])(?:{_STEP}\.){{{_DEEPEST}}}", re.MULTILINE)


@dataclass(frozen=True)
class TomlText:
    """A parsed TOML text: ``values``, and ``lines`` from dotted key to line number (from 1), which
    are looked for once they are asked for."""

    name: str
    values: dict[str, Any]
    text: str

    @cached_property
    def lines(self) -> dict[str, int]:
        """The line of every key."""
        return _Lines(self.text).found

    def place(self, *keys: str) -> str:
        """``file:line`` of the deepest of ``keys`` that stands in the text, else the file."""
        for end in range(len(keys), 0, -1):
            line = self.lines.get(".".join(keys[:end]))
            if line is not None:
                return f"{self.name}:{line}"
        return self.name


def data_folder() -> Path:
    """Where the data lies."""
    return _INSTALLED if _INSTALLED.is_dir() else _CHECKOUT


def data_names(folder: str) -> tuple[str, ...]:
    """Names (without ``.toml``) of the data files in a folder of ``data/``, sorted."""
    return tuple(sorted(path.stem for path in (data_folder() / folder).glob("*.toml")))


@cache
def read_data(name: str) -> TomlText:
    """A data file by its name without ``.toml``, e.g. ``methods/direct-measure``.

    Raises :class:`DataError` when it is missing or cannot be read.
    """
    path = data_folder() / f"{name}.toml"
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise DataError(
            Problem("this data file cannot be read", place=path.name, advice="Install again.")
        ) from error
    found = _parsed(text, path.name)
    return replace(found, values=_with_values(found.values))


def _with_values(value: Any) -> Any:
    """The same with every text read as a sentence."""
    if isinstance(value, dict):
        return {key: _with_values(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_with_values(one) for one in value]
    return read_sentence(value) if isinstance(value, str) else value


@cache
def read_figures(name: str) -> Mapping[str, float]:
    """Every figure of a data file's tables by its own name, in centimetres, radians and shares.

    Raises :class:`DataError` when the file is missing or cannot be read.
    """
    found: dict[str, float] = {}
    for table in read_data(name).values.values():
        for key, row in table.items():
            value = float(row["value"])
            found[key] = radians(value) if row["unit"] == "deg" else value
    return MappingProxyType(found)


def read_toml(text: str, name: str) -> TomlText:
    """Parse TOML and find its lines. Raises :class:`DataError` with the line on bad TOML."""
    found = _parsed(text, name)
    try:
        assert found.lines is not None  # at once: a stranger's text may be nested too deep for it
    except RecursionError as error:
        raise DataError(Problem("brackets are nested too deep", place=name)) from error
    return found


def _parsed(text: str, name: str) -> TomlText:
    if deep := _TOO_DEEP.search(text):
        line = text.count("\n", 0, deep.start()) + 1
        raise DataError(
            Problem(
                f"a key of more than {_DEEPEST} steps", f"{name}:{line}", advice="Mend that line."
            )
        )
    try:
        return TomlText(name, tomllib.loads(text), text)
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"\(at line (\d+)", str(error))
        place = f"{name}:{at[1]}" if at else name
        raise DataError(
            Problem(f"this is not TOML: {error}", place=place, advice="Mend that line.")
        ) from error
    except ValueError as error:  # legal TOML, but more digits than a whole number may have
        raise DataError(Problem("a number is far too long", place=name)) from error
    except RecursionError as error:
        raise DataError(Problem("brackets are nested too deep", place=name)) from error


class _Lines:
    """Walks a text that is known to be TOML and notes in ``found`` where every key stands.

    Items of an array are noted by their number, those on the array's own first line excepted.
    """

    def __init__(self, text: str) -> None:
        self.found: dict[str, int] = {}
        self._text, self._at = text, 0
        self._breaks = [match.start() for match in re.finditer("\n", text)]
        self._counts: dict[str, int] = {}
        table = ""
        while self._next():
            if self._next() == "[":
                table = self._heading()
            else:
                self._pair(table)

    def _next(self) -> str:
        """The next sign that is no space and no comment; empty at the end."""
        self._skip(_GAP)
        return self._text[self._at : self._at + 1]

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        self._at = match.end() if match else self._at + 1
        return match[0].strip() if match else ""

    def _line(self) -> int:
        return bisect_left(self._breaks, self._at) + 1

    def _keys(self) -> list[str]:
        keys = [_bare(self._skip(_WORD))]
        while self._text.startswith(".", self._at):
            self._at += 1
            keys.append(_bare(self._skip(_WORD)))
        return keys

    def _heading(self) -> str:
        line, brackets = self._line(), 2 if self._text.startswith("[[", self._at) else 1
        self._at += brackets
        path = ""
        keys = self._keys()
        for place, key in enumerate(keys, start=1):
            path = f"{path}.{key}" if path else key
            if place == len(keys):
                self.found.setdefault(path, line)
                if brackets == 2:
                    self._counts[path] = self._counts.get(path, 0) + 1
            if path in self._counts:
                path = f"{path}.{self._counts[path] - 1}"
        self.found.setdefault(path, line)
        self._at += brackets
        return path

    def _pair(self, table: str) -> None:
        line = self._line()
        path = ".".join([table, *self._keys()] if table else self._keys())
        self.found.setdefault(path, line)
        self._at += 1
        self._value(path)

    def _value(self, path: str) -> None:
        opening = self._next()
        if opening not in ("[", "{"):
            self._skip(_SCALAR)
            return
        first, index = self._line(), 0
        self._at += 1
        while (sign := self._next()) not in ("]", "}", ""):
            if sign == ",":
                self._at += 1
            elif opening == "{":
                self._pair(path)
            else:
                item = f"{path}.{index}"
                if self._line() != first:
                    self.found.setdefault(item, self._line())
                self._value(item)
                index += 1
        self._at += 1


def _bare(word: str) -> str:
    if word[:1] not in ("'", '"'):
        return word
    if "\\" in word and word[0] == '"':
        return str(tomllib.loads(f"key = {word}")["key"])
    return word[1:-1]
