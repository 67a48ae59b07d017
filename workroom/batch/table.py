"""A table of orders as spreadsheets save it: read line by line, whatever its size.

UTF-8 or UTF-16; commas, semicolons or tabs; any ends of lines; a ``sep=`` line on top; cells in
quotation marks, with line breaks in them. A row that cannot be read is told and stops no other.
"""

from __future__ import annotations

import codecs
import csv
import re
import stat
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TextIO

from blocks.body.measures import measurements
from drafting.errors import CardError, Problem
from workroom.card.card import known_collars
from workroom.card.file import did_you_mean, printable
from workroom.card.needs import known_keys

# ---- What the columns of a table of orders may be called, and which place of a card each stands
# for

#: The column that names a card's file instead of telling what would stand in it.
CARD = ("card",)
_SHORT = {"method": ("garment", "method"), "collar": ("collar", "kind")}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its ``key`` in a card, and where it stands (from 0)."""

    key: tuple[str, ...]
    at: int

    @property
    def letter(self) -> str:
        """What a spreadsheet calls it: A, B, ..., AA."""
        return letters(self.at)


def letters(at: int) -> str:
    """What a spreadsheet calls the column at a place (from 0)."""
    name, rest = "", at + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        name = chr(ord("A") + digit) + name
    return name


@cache
def known_columns() -> Mapping[str, tuple[str, ...]]:
    """Every column's name, and its key in a card."""
    found: dict[str, tuple[str, ...]] = {"card": CARD}
    tables = known_keys()
    for key in tables[""]:
        if key not in tables and key != "collar":
            found[key] = (key,)
    for name, keys in tables.items():
        if name:
            for key in keys:
                found[f"{name}.{key}"] = (*name.split("."), key)
    for rules in known_collars().values():
        for key in rules:
            found[f"collar.{key}"] = ("collar", key)
    for key in measurements():
        found[key] = ("measurements", key)
    for name in [n for n in found if n in tables or _is_table(found[n], tables)]:
        del found[name]  # a whole table has no cell
    return MappingProxyType(found | _SHORT)


def read_columns(
    header: Sequence[str], place: str
) -> tuple[tuple[Column, ...], tuple[Problem, ...]]:
    """The columns of a header and what is wrong with it; ``place`` is its file and line.

    Empty ones, and those whose name starts with #, mean nothing and are left out.
    """
    known = known_columns()
    found: dict[tuple[str, ...], Column] = {}
    problems = []
    for at, written in enumerate(header):
        name = plain(written)
        if not name or name.startswith("#"):
            continue
        key = known.get(name)
        where = f"{place}:{letters(at)}"
        if key is None:
            problems.append(
                Problem(
                    "this column means nothing",
                    where,
                    got=printable(written[:60]),
                    advice=" ".join(
                        part
                        for part in (
                            did_you_mean(name, known),
                            "Put # in front of its name to leave it out.",
                        )
                        if part
                    ),
                )
            )
        elif key in found:
            problems.append(
                Problem(
                    "this column is here twice",
                    where,
                    name,
                    advice=f"It is column {found[key].letter} too.",
                )
            )
        else:
            found[key] = Column(key, at)
    if not problems and CARD not in found:
        for word in ("client", "date"):
            if (word,) not in found:
                problems.append(Problem("this column is missing", place, word))
    return tuple(found.values()), tuple(problems)


def plain(written: str) -> str:
    """A column's name as it is known, however its blanks and capitals were written."""
    return re.sub(r"[\s_-]+", "_", written.strip().lower())


def _is_table(key: tuple[str, ...], tables: Mapping[str, object]) -> bool:
    return ".".join(key) in tables


_DELIMITERS = (",", ";", "\t")
#: No line of a table of orders is longer (characters), and no cell runs over more lines.
_LONGEST, _MOST_LINES = 100_000, 40
_UNCLOSED = "unexpected end of data"
_SAVE = "Save the table again as CSV UTF-8."

#: Reads a header: the columns, and what is wrong with them; its second argument is its place.
ReadColumns = Callable[[Sequence[str], str], tuple[tuple[Column, ...], tuple[Problem, ...]]]


@dataclass(frozen=True, slots=True)
class Row:
    """A row: the line of the file it starts on, its cells as written, and what is wrong with it
    where it cannot be read (its cells are then empty)."""

    line: int
    cells: tuple[str, ...]
    problem: Problem | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table of orders that was looked through once. ``named`` are the places (from 0) of all
    columns with a name; ``count`` rows follow the header."""

    path: Path
    encoding: str
    delimiter: str
    header: int
    columns: tuple[Column, ...]
    named: frozenset[int]
    count: int

    @property
    def name(self) -> str:
        """What places in it are called after."""
        return printable(self.path.name)

    def rows(self) -> Iterator[Row]:
        """Every row below the header that is not empty, one at a time."""
        with _opened(self.path, self.encoding) as file:
            for row in _records(file, self.delimiter, self.name):
                if row.line > self.header and _said(row):
                    yield self._fitting(row)

    def _fitting(self, row: Row) -> Row:
        """A row with a cell where no named column is, refused: who knows what belongs where."""
        extra = [at for at, said in enumerate(row.cells) if said.strip() and at not in self.named]
        if row.problem or not extra:
            return row
        advice = "Every cell needs a column with a name."
        if self.delimiter == ",":
            advice += ' Numbers with a comma stand in quotation marks: "92,5".'
        place = f"{self.name}:{row.line}:{letters(extra[0])}"
        said = "this cell stands in no column"
        got = printable(row.cells[extra[0]][:60])
        return Row(row.line, (), Problem(said, place, got=got, advice=advice))


def open_table(
    path: Path, read: ReadColumns = read_columns, known: Container[str] | None = None
) -> Table:
    """Look a table through: is it text, what are its columns, how many rows has it.

    ``read`` tells what its columns are, those of orders when left out, and ``known`` holds the
    names by which its delimiter is found. Raises :class:`CardError` when it is missing, no plain
    file or no text, and with every column that means nothing.
    """
    name = printable(path.name)
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise CardError(Problem("this is not a table file", name))
        with path.open("rb") as raw:
            encoding = _encoding(raw.read(4))
        return _looked_through(path, encoding, name, read, known or known_columns())
    except CardError:
        raise
    except FileNotFoundError:
        raise CardError(Problem("there is no such file", name)) from None
    except OSError as error:
        raise CardError(Problem(f"this cannot be opened ({error.strerror})", name)) from error


def _looked_through(
    path: Path, encoding: str, name: str, read: ReadColumns, known: Container[str]
) -> Table:
    with _opened(path, encoding) as file:
        delimiter, start = _delimiter(file, name, known)
    with _opened(path, encoding) as file:
        header = next(
            (r for r in _records(file, delimiter, name) if r.line >= start and _said(r)), None
        )
    if header is None:
        raise CardError(Problem("this file is empty", name))
    if header.problem:
        raise CardError(header.problem)
    columns, problems = read(header.cells, f"{name}:{header.line}")
    if problems:
        raise CardError(problems)
    named = frozenset(at for at, written in enumerate(header.cells) if plain(written))
    table = Table(path, encoding, delimiter, header.line, columns, named, 0)
    return replace(table, count=sum(1 for _ in table.rows()))


def _delimiter(file: TextIO, name: str, known: Container[str]) -> tuple[str, int]:
    """The delimiter, and the line from which the header is to be looked for."""
    for number, line in _lines(file, name):
        text = line.strip()
        if text.lower().startswith("sep=") and len(text) == 5:
            return text[4], number + 1
        if text.strip(",;\t "):
            cells = {sign: next(csv.reader([line], delimiter=sign), []) for sign in _DELIMITERS}
            hits = {sign: sum(plain(cell) in known for cell in cells[sign]) for sign in cells}
            return max(_DELIMITERS, key=lambda sign: (hits[sign], len(cells[sign]))), number
    raise CardError(Problem("this file is empty", name))


def _records(file: TextIO, delimiter: str, name: str) -> Iterator[Row]:
    """Rows, each with the line it starts on."""
    held: list[tuple[int, str]] = []
    lines = _lines(file, name)
    while True:
        if not held:
            held = [*_taken(lines)]
        if not held:
            return
        row, used = _row(held, lines, delimiter, name)
        yield row
        del held[:used]


def _taken(lines: Iterator[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    one = next(lines, None)
    if one is not None:
        yield one


def _row(
    held: list[tuple[int, str]], lines: Iterator[tuple[int, str]], delimiter: str, name: str
) -> tuple[Row, int]:
    """The row that starts on the first line held, and how many lines it takes. More lines are
    taken on while a quotation mark stays open."""
    first = held[0][0]
    said = ""
    for used in range(1, _MOST_LINES + 1):
        if used > len(held):
            held += _taken(lines)
        if used > len(held):
            break
        if used > 1 and '"' not in held[used - 1][1]:
            continue  # nothing here closes it
        try:
            text = [line for _, line in held[:used]]
            return Row(first, tuple(next(csv.reader(text, delimiter=delimiter, strict=True)))), used
        except StopIteration:
            return Row(first, ()), used
        except csv.Error as error:
            said = str(error)
            if said != _UNCLOSED:
                said = said if used == 1 else _UNCLOSED  # closed by another row's mark
                break
    quotes = "a quotation mark opens in this row and is not closed"
    other = "the quotation marks in this row do not fit"
    problem = Problem(
        quotes if said == _UNCLOSED else other,
        f"{name}:{first}",
        advice='A quotation mark inside a cell is written twice: "".',
    )
    return Row(first, (), problem), 1


def _lines(file: TextIO, name: str) -> Iterator[tuple[int, str]]:
    number = 0
    while True:
        try:
            line = file.readline(_LONGEST)
        except UnicodeError:
            raise CardError(_no_text(file, name, number + 1)) from None
        if not line:
            return
        number += 1
        if len(line) >= _LONGEST:
            raise CardError(Problem("this line is far too long for an order", f"{name}:{number}"))
        yield number, line


def _no_text(file: TextIO, name: str, number: int) -> Problem:
    """Bytes are read some way ahead, so the line is the one found by reading once more."""
    if file.encoding.lower().startswith("utf-8"):
        with Path(file.name).open("rb") as raw:
            for count, line in enumerate(raw, start=1):
                try:
                    line.decode("utf-8")
                except UnicodeDecodeError:
                    number = count
                    break
    return Problem("this is not UTF-8 text", f"{name}:{number}", advice=_SAVE)


def _said(row: Row) -> bool:
    return row.problem is not None or any(cell.strip() for cell in row.cells)


def _encoding(start: bytes) -> str:
    """UTF-16 by its mark, or by the noughts between plain letters; else UTF-8."""
    if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    if start[1:2] == b"\0":
        return "utf-16-le"
    if start[:1] == b"\0":
        return "utf-16-be"
    return "utf-8-sig"


@contextmanager
def _opened(path: Path, encoding: str) -> Iterator[TextIO]:
    with path.open(encoding=encoding, newline="") as file:
        yield file


def cell(row: Sequence[str], at: int) -> str:
    """A cell as it is meant: blanks round it gone, and the ="..." that keeps noughts in place."""
    text = row[at].strip("\ufeff \t\r\n\u00a0\u202f") if at < len(row) else ""
    if len(text) > 2 and text.startswith('="') and text.endswith('"'):
        return text[2:-1].replace('""', '"')
    return text
