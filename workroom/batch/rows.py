"""One row of a table of orders, from its cells to its finished folder.

This is all the work there is in a batch: a process on this machine, or a worker of a cluster that
sees the same folder, does it for one row at a time and sends back a few words.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from drafting.errors import CardError, DraftError, NeckarcError, Problem, SheetError
from drafting.library import TomlText
from drafting.pieces.checks import Verdict
from garment.garment import Garment, make_garment
from garment.wishes import Commission
from workroom.batch.table import CARD, Column, Row, Table, cell
from workroom.card.card import card_from, known_collars, known_methods
from workroom.card.file import decode, printable, read_bytes, read_card_toml
from workroom.folder.folder import Taken, is_taken, write_folder
from workroom.folder.names import folded, folder_name
from workroom.folder.record import FILE, Owner, Record, owned_by, owner_of, record_bytes, record_in
from workroom.papers.booklets.report import version
from workroom.papers.papers import papers

# ---- From a row of a table to the work it asks for: a folder's name, and the cells that are
# filled

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


# ---- How a finished order is known: a small file in its folder tells from what it was made

#: Part of every mark: another one, and no order of before counts as finished.
_FORM = 1


@dataclass(frozen=True, slots=True)
class Account:
    """What the summary tells of a finished order."""

    client: str
    order: str
    date: str
    passed: int
    noted: int
    failed: tuple[str, ...]
    unusual: tuple[str, ...]


def mark_of(job: Job, card: bytes, papers: tuple[str, ...]) -> str:
    """The mark of an order; ``card`` is the card's file where the row names one."""
    told = {
        "form": _FORM,
        "version": version(),
        "cells": sorted((".".join(key), text) for key, (text, _) in job.cells.items())
        if not card
        else hashlib.sha256(card).hexdigest(),
        "papers": sorted(papers),
    }
    return hashlib.sha256(json.dumps(told).encode("utf-8")).hexdigest()


def account_of(order: Garment) -> Account:
    """The account of an order."""
    card = order.commission
    found = [check.verdict for check in order.checks]
    return Account(
        client=card.client,
        order=card.order,
        date=card.date.isoformat(),
        passed=found.count(Verdict.PASS),
        noted=found.count(Verdict.NOTE),
        failed=tuple(f"{c.name} ({c.where})" if c.where else c.name for c in order.failed),
        unusual=tuple(one.sentence(card.unit) for one in order.unusual),
    )


def finished_bytes(mark: str, owner: Owner, files: Mapping[str, bytes], account: Account) -> bytes:
    """The record that marks a folder with these files as finished."""
    return record_bytes(owner, files, {"mark": mark, "account": asdict(account)})


def finished(place: Path, mark: str) -> Account | None:
    """The account in a folder of this mark with all its files; ``None`` for any other."""
    record = record_in(place)
    if record is None or not _marked(record, mark) or not _whole(place, record):
        return None
    return _account(record.told)


def taken_by(mark: str, owner: Owner, replace: bool) -> Callable[[Path], Taken]:
    """What to do about a folder in the way of an order of this mark: keep one that is the order's
    own, swap one that was spoilt, swap what the same order left before it was changed only if it is
    to be replaced."""

    def what(place: Path) -> Taken:
        record = record_in(place)
        if record is not None and _marked(record, mark):
            if _whole(place, record):
                return Taken.KEEP
            if record.files:
                return Taken.SWAP
        if not replace:
            return Taken.NEXT
        return Taken.SWAP if owned_by(owner)(place) else Taken.OTHERS

    return what


def _marked(record: Record, mark: str) -> bool:
    return record.told.get("mark") == mark and _account(record.told) is not None


def _account(told: Mapping[str, Any]) -> Account | None:
    match told:
        case {"account": dict() as found}:
            try:
                account = Account(**found)
                return Account(
                    str(account.client),
                    str(account.order),
                    str(account.date),
                    int(account.passed),
                    int(account.noted),
                    tuple(map(str, account.failed)),
                    tuple(map(str, account.unusual)),
                )
            except (TypeError, ValueError):
                return None
    return None


def _whole(place: Path, record: Record) -> bool:
    try:
        return all((place / str(name)).stat().st_size > 0 for name in record.told["files"])
    except (OSError, ValueError):
        return False


#: Before the number of a folder whose name was taken: no other name of a batch has it.
SIGN = "."


@dataclass(frozen=True, slots=True)
class Setting:
    """What all rows share. ``into`` is where the folders go, ``table`` is the file of the
    orders, from whose folder cards' paths start, ``program`` the version that all must be drafted
    by."""

    into: Path
    table: Path
    kinds: tuple[str, ...] = ("all",)
    profiles: str = "drawing"
    replace: bool = False
    program: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a row. A refused one has ``reasons`` and no ``account``; ``fresh`` says that
    its folder was written now and was not there before; ``fault`` that Neckarc is to blame;
    ``said`` tells what was in the folder's way."""

    line: int
    folder: str = ""
    account: Account | None = None
    reasons: tuple[str, ...] = ()
    fresh: bool = False
    fault: bool = False
    client: str = ""
    order: str = ""
    date: str = ""
    said: tuple[str, ...] = ()


def draft_row(job: Job, setting: Setting) -> Outcome:
    """Draft a row's order and write its folder, unless that is there already.

    What is wrong with the row comes back in the outcome. Raises :class:`SheetError` when the
    folder cannot be written.
    """
    try:
        return _drafted(job, setting)
    except SheetError:
        raise
    except NeckarcError as error:
        return refused(job, error.problems)
    except Exception as error:
        said = f"this could not be drafted ({type(error).__name__}: {printable(str(error))[:200]})"
        advice = "This is a fault in Neckarc, not in your table. The other rows are not touched."
        return replace(refused(job, [Problem(said, job.place(()), advice=advice)]), fault=True)


def refused(job: Job, problems: Iterable[Problem]) -> Outcome:
    """The outcome of a row with problems."""
    words = (job.said(key) for key in ("client", "order", "date"))
    client, order, date = (printable(text)[:120] for text in words)
    reasons = tuple(str(problem) for problem in problems)
    return Outcome(job.line, reasons=reasons, client=client, order=order, date=date)


def row_card(job: Job) -> Commission:
    """The card that the cells of a row make. Raises :class:`CardError` with every mistake at its
    line and column."""
    toml = _RowText(job.table, _values(job.cells), "", job)
    try:
        return card_from(toml, collars=known_collars(), methods=known_methods())
    except CardError as error:
        raise CardError(sorted(error.problems, key=lambda p: _left_to_right(p.place))) from error


def _drafted(job: Job, setting: Setting) -> Outcome:
    if setting.program and setting.program != version():
        raise SheetError(
            Problem(
                "another version of Neckarc is at work here",
                got=version(),
                accepted=setting.program,
                advice="Install the same one on every machine.",
            )
        )
    written = _card_bytes(job, setting.table.parent) if CARD in job.cells else b""
    told = (*setting.kinds, setting.profiles)
    mark = mark_of(job, written, told)
    place, account = _already(setting.into, job.name, mark)
    if account is not None:
        return _done(job, place, account, fresh=False)
    card = _named_card(job, written) if CARD in job.cells else row_card(job)
    order = _order(job, card)
    files = papers(order, setting.profiles, setting.kinds)
    account = account_of(order)
    owner = owner_of(
        setting.table.parent / job.said("card") if CARD in job.cells else setting.table,
        setting.into,
        client=account.client,
        date=account.date,
        order=account.order,
    )
    files[FILE] = finished_bytes(mark, owner, files, account)
    taken = taken_by(mark, owner, setting.replace)
    done = write_folder(setting.into, job.name, files, taken=taken, sign=SIGN)
    return replace(_done(job, done.place, account, fresh=True), said=done.said)


def _done(job: Job, place: Path, account: Account, *, fresh: bool) -> Outcome:
    told = (account.client, account.order, account.date)
    return Outcome(job.line, place.name, account, (), fresh, False, *told)


def _already(into: Path, name: str, mark: str) -> tuple[Path, Account | None]:
    """The folder that holds this very order, whatever number it got."""
    place, number = into / name, 1
    while is_taken(into, place.name):
        account = finished(place, mark)
        if account is not None:
            return place, account
        number += 1
        place = into / f"{name}{SIGN}{number}"
    return place, None


def _order(job: Job, card: Commission) -> Garment:
    """The order; what cannot be drafted is said in the card's unit, at its cell."""
    try:
        return make_garment(card)
    except DraftError as error:
        said = [p.written(card.unit) for p in error.problems]
        raise DraftError([replace(p, place=p.place or _place(job, p.key)) for p in said]) from error


def _place(job: Job, key: str) -> str:
    parts = tuple(key.split("."))
    for path in (parts, ("measurements", *parts), ("collar", *parts), CARD):
        if path in job.cells:
            return job.place(path)
    return job.place(())


def _card_bytes(job: Job, base: Path) -> bytes:
    """The file of the card a row names. Raises :class:`CardError`."""
    others = [key for key in job.cells if key != CARD]
    if others:
        raise CardError(
            [
                Problem(
                    "a row with a card takes everything from the card",
                    job.place(key),
                    ".".join(key),
                    got=printable(job.said(*key))[:60],
                    advice="Leave this cell or the card empty.",
                )
                for key in others
            ]
        )
    try:
        return read_bytes(base / job.said("card"))
    except CardError as error:
        raise _at_row(job, error) from error


def _named_card(job: Job, written: bytes) -> Commission:
    path = Path(job.said("card"))
    name = printable(path.name)
    try:
        toml = read_card_toml(decode(written, name), name)
        return card_from(toml, collars=known_collars(), methods=known_methods())
    except CardError as error:
        raise _at_row(job, error) from error


def _at_row(job: Job, error: CardError) -> CardError:
    """The same mistakes of a card, the row that names it in front."""
    place = job.place(CARD)
    return CardError(
        [replace(p, place=f"{place}: {p.place}" if p.place else place) for p in error.problems]
    )


@dataclass(frozen=True, slots=True)
class _RowText(TomlText):
    """A row as if it had been read from a card; its places are cells."""

    job: Job

    def place(self, *keys: str) -> str:
        """``file:line:column`` of the deepest of ``keys`` that has a cell, else the row."""
        for end in range(len(keys), 0, -1):
            if keys[:end] in self.job.cells:
                return self.job.place(keys[:end])
        return self.job.place(())


def _values(cells: Mapping[tuple[str, ...], tuple[str, str]]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for key, (text, _) in cells.items():
        table = values
        for part in key[:-1]:
            table = table.setdefault(part, {})
        table[key[-1]] = text
    return values


def _left_to_right(place: str) -> tuple[int, str]:
    letter = place.rpartition(":")[2]
    return (len(letter), letter) if letter.isalpha() else (0, "")
