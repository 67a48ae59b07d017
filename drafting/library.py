"""The one reader of ``data/``: TOML as a maker reads it, with the line of every key.

In a checkout the folder lies beside the packages; in an installed copy inside this one.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from drafting.errors import DataError, Problem

_INSTALLED = Path(__file__).parent / "_data"
_CHECKOUT = Path(__file__).parent.parent / "data"
_TABLE = re.compile(r"^\s*\[(\[)?([^\]#]+)\](\])?\s*(#.*)?$")
_KEY = re.compile(r"^\s*((?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=")


@dataclass(frozen=True, slots=True)
class TomlText:
    """A parsed TOML text: ``values``, and ``lines`` from dotted key to line number (from 1)."""

    name: str
    values: dict[str, Any]
    lines: dict[str, int]

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
    except OSError as error:
        raise DataError(
            Problem("this data file cannot be read", place=path.name, advice="Install again.")
        ) from error
    return read_toml(text, path.name)


def read_toml(text: str, name: str) -> TomlText:
    """Parse TOML and find its lines. Raises :class:`DataError` with the line on bad TOML."""
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        place = f"{name}:{line[1]}" if line else name
        raise DataError(
            Problem(f"this is not TOML: {error}", place=place, advice="Mend that line.")
        ) from error
    except ValueError as error:
        raise DataError(Problem(f"this is not TOML: {error}", place=name)) from error
    except RecursionError as error:
        raise DataError(Problem("brackets are nested too deep", place=name)) from error
    return TomlText(name, values, _find_lines(text))


def _find_lines(text: str) -> dict[str, int]:
    lines: dict[str, int] = {}
    counts: dict[str, int] = {}
    table = ""
    quote = ""
    for number, line in enumerate(text.split("\n"), start=1):
        if quote:
            if quote in line:
                quote = ""
            continue
        heading = _TABLE.match(line)
        if heading:
            table = re.sub(r"\s*\.\s*", ".", heading[2].strip()).replace('"', "").replace("'", "")
            if heading[1]:
                index = counts.get(table, 0)
                counts[table] = index + 1
                table = f"{table}.{index}"
            lines.setdefault(table, number)
            continue
        key = _KEY.match(line)
        if key:
            name = re.sub(r"\s*\.\s*", ".", key[1]).strip("\"'")
            lines.setdefault(f"{table}.{name}" if table else name, number)
            for mark in ('"""', "'''"):
                if line.count(mark) % 2:
                    quote = mark
    return lines
