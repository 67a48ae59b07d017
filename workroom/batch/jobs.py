"""From a row of a table to the work it asks for: a folder's name, and the cells that are filled."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from workroom.batch.columns import CARD, Column
from workroom.batch.table import Row, Table, cell
from workroom.folder_names import folded, folder_name

_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")


@dataclass(frozen=True, slots=True)
class Job:
    """One order to draft: ``name`` is its folder's, ``cells`` what the row fills in, by the key in
    a card, with the column's letter."""

    table: str
    line: int
    name: str
    cells: Mapping[tuple[str, ...], tuple[str, str]] = field(default_factory=dict)

    def place(self, key: tuple[str, ...]) -> str:
        """``file:line:column`` of what fills in a key; the row when nothing does."""
        row = f"{self.table}:{self.line}"
        return f"{row}:{self.cells[key][1]}" if key in self.cells else row

    def said(self, *key: str) -> str:
        """What stands in the cell of a key; empty without one."""
        return self.cells[key][0] if key in self.cells else ""


def jobs(table: Table, date: str = "") -> Iterator[Job | Row]:
    """A job a row, in the order of the table; a row that cannot be read comes as it is.

    ``date`` stands in for a row's own. Two orders never share a folder: the later one has its line
    in the name. What was named before is kept on the disk, so that memory stays the same.
    """
    with closing(sqlite3.connect("")) as taken:
        taken.execute("create table names (name text primary key) without rowid")
        for row in table.rows():
            if row.problem is not None:
                yield row
                continue
            job = _job(table, row, date)
            new = taken.execute("insert or ignore into names values (?)", (folded(job.name),))
            if new.rowcount == 0:  # no other name has a dot in it
                job = Job(job.table, job.line, f"{job.name}.line-{job.line}", job.cells)
            yield job


def _job(table: Table, row: Row, date: str) -> Job:
    cells = {}
    for column in table.columns:
        text = cell(row.cells, column.at)
        if text:
            cells[column.key] = (_tidy(column, text), column.letter)
    if date and ("date",) not in cells and CARD not in cells:
        cells["date",] = (date, "")
    job = Job(table.name, row.line, "", cells)
    if CARD in cells:
        name = folder_name(Path(job.said("card").replace("\\", "/")).stem)
    else:
        name = folder_name(*(job.said(key) for key in ("client", "date", "order")))
    return Job(job.table, job.line, name, cells)


def _tidy(column: Column, text: str) -> str:
    """A day as spreadsheets write it, where only one day can be meant, year first."""
    if column.key != ("date",):
        return text
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = found.groups()
    elif found := _DOTTED.fullmatch(text):
        day, month, year = found.groups()
    else:
        return text
    return f"{year}-{int(month):02}-{int(day):02}"
