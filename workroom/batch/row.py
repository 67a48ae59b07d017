"""One row of a table of orders, from its cells to its finished folder.

This is all the work there is in a batch: a process on this machine, or a worker of a cluster that
sees the same folder, does it for one row at a time and sends back a few words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from drafting.errors import CardError, DraftError, NeckarcError, Problem, SheetError
from drafting.library import TomlText
from workroom.batch.columns import CARD
from workroom.batch.finished import (
    Account,
    account_of,
    finished,
    finished_bytes,
    mark_of,
    taken_by,
)
from workroom.batch.jobs import Job
from workroom.card import card_from, known_collars, known_methods
from workroom.card_file import decode, printable, read_bytes, read_card_toml
from workroom.folder import is_taken, write_folder
from workroom.folder_record import FILE, owner_of
from workroom.order import Garment, make_garment
from workroom.papers import papers
from workroom.report import version
from workroom.wishes import Commission

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
