"""What stands in the book, as plain values."""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar


@dataclass(frozen=True, slots=True)
class Client:
    """A client. ``version`` grows with every change of name or notes."""

    id: int
    name: str
    notes: str
    version: int


@dataclass(frozen=True, slots=True)
class MeasurementSet:
    """What was taken on one day, as it was written (numbers, or text such as ``14 3/8``), in
    ``unit``. Sets are never changed: what is taken anew is a new set."""

    id: int
    client: int
    date: datetime.date
    unit: str
    taken: Mapping[str, float | str]
    note: str


@dataclass(frozen=True, slots=True)
class Taken:
    """Measurements just taken, not in the book yet."""

    date: datetime.date
    values: Mapping[str, float | str]
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class BookOrder:
    """An order: its name, the measurement set it is drafted to, and what is asked for: the tables
    ``garment``, ``neckline`` and ``collar`` of a card, as written."""

    id: int
    client: int
    measured: int | None
    name: str
    asked: Mapping[str, Any]
    version: int


@dataclass(frozen=True, slots=True)
class Correction:
    """What was seen at a fitting, by its key, with its amount (cm), whether it still holds, and the
    day on which it was last withdrawn."""

    id: int
    client: int
    date: datetime.date
    seen: str
    amount: float
    in_force: bool
    withdrawn: datetime.date | None = None

    def __post_init__(self) -> None:  # older books say scye
        object.__setattr__(self, "seen", self.seen.replace("the scye", "the armhole"))


@dataclass(frozen=True, slots=True)
class NewlySeen:
    """What was just seen at a fitting, not in the book yet; the amount in cm."""

    date: datetime.date
    seen: str
    amount: float


@dataclass(frozen=True, slots=True)
class FittingChange:
    """What a fitting adds to a client's corrections and what it withdraws, by number, on ``day``.

    ``known`` are the numbers of all that held when the fitting began: where others hold by now,
    another window was there.
    """

    known: frozenset[int]
    new: tuple[NewlySeen, ...]
    withdrawn: frozenset[int]
    day: datetime.date


@dataclass(frozen=True, slots=True)
class Erased:
    """What went when a client was deleted."""

    name: str
    sets: int
    orders: int
    corrections: int

    def said(self) -> str:
        """For the maker."""
        counts = (
            (self.sets, "measurement set"),
            (self.orders, "order"),
            (self.corrections, "correction"),
        )
        told = ", ".join(f"{count} {thing}{'' if count == 1 else 's'}" for count, thing in counts)
        return f"Deleted {self.name}: {told}, and all notes."


# ---- Rows of the book's tables, read with care: what is damaged is named, and never taken for
# good

_Record = TypeVar("_Record")


class DamagedRowError(ValueError):
    """A row that cannot be read; the message names it."""


def text_as_kept(data: bytes) -> str:
    """A text of the book, bytes that are none kept apart for :func:`read` to find."""
    return data.decode("utf-8", "surrogateescape")


def read(table: str, row: sqlite3.Row) -> Any:
    """The record of a row of a table. Raises :class:`DamagedRowError`."""
    kind, parse = TABLES[table]
    try:
        for value in row:
            if isinstance(value, str):
                value.encode("utf-8")
        return parse(row)
    except (ValueError, TypeError, LookupError, AttributeError, RecursionError) as error:
        number = row[0] if isinstance(row[0], int) else "?"
        raise DamagedRowError(f"{kind} {number}") from error


def _typed(value: Any, kind: type[_Record]) -> _Record:
    if not isinstance(value, kind):
        raise TypeError(type(value))
    return value


def _packed(row: sqlite3.Row, column: str) -> Mapping[str, Any]:
    return _typed(json.loads(_typed(row[column], str)), dict)


def _day(row: sqlite3.Row, column: str = "date") -> datetime.date:
    return datetime.date.fromisoformat(_typed(row[column], str))


def _client(row: sqlite3.Row) -> Client:
    name, notes = _typed(row["name"], str), _typed(row["notes"], str)
    return Client(_typed(row["id"], int), name, notes, _typed(row["version"], int))


def _set(row: sqlite3.Row) -> MeasurementSet:
    taken = _packed(row, "taken")
    for value in taken.values():
        if not isinstance(value, str | int | float):
            raise TypeError(type(value))
    if row["unit"] not in ("cm", "in"):
        raise ValueError(row["unit"])
    client, note = _typed(row["client"], int), _typed(row["note"], str)
    return MeasurementSet(_typed(row["id"], int), client, _day(row), row["unit"], taken, note)


def _order(row: sqlite3.Row) -> BookOrder:
    measured = row["measured"]
    return BookOrder(
        _typed(row["id"], int),
        _typed(row["client"], int),
        None if measured is None else _typed(measured, int),
        _typed(row["name"], str),
        _packed(row, "asked"),
        _typed(row["version"], int),
    )


def _correction(row: sqlite3.Row) -> Correction:
    return Correction(
        id=_typed(row["id"], int),
        client=_typed(row["client"], int),
        date=_day(row),
        seen=_typed(row["seen"], str),
        amount=float(_typed(row["amount"], int | float)),  # type: ignore[arg-type]
        in_force=bool(_typed(row["in_force"], int)),
        withdrawn=_day(row, "withdrawn") if row["withdrawn"] else None,
    )


def _typing(row: sqlite3.Row) -> tuple[int, Mapping[str, Any]]:
    return _typed(row["version"], int), _packed(row, "content")


#: What a row of each table is called, and how it is read; whom a row belongs to comes before it.
TABLES: Mapping[str, tuple[str, Callable[[sqlite3.Row], Any]]] = {
    "client": ("client", _client),
    "measurement_set": ("measurement set", _set),
    "client_order": ("order", _order),
    "correction": ("correction", _correction),
    "typing": ("unsaved typing of order", _typing),
}


# ---- Whether all of a book can be read, and what can still be saved of one that is damaged

#: So many faults of the file are asked for, and so many numbers are tried where a table cannot be
#: walked through.
_MOST, _TRIED = 20, 20_000


def faults(connection: sqlite3.Connection) -> list[str]:
    """What cannot be read in a book; nothing when all is well."""
    found: list[str] = []
    try:
        for (said,) in connection.execute(f"PRAGMA integrity_check({_MOST})"):
            if said != "ok":
                lines = [line for line in said.splitlines() if not line.startswith("***")]
                found += [f"the file itself ({line})" for line in lines]
        for table, number, *_ in connection.execute("PRAGMA foreign_key_check"):
            kind = TABLES[table][0] if table in TABLES else table
            found.append(f"{kind} {number} belongs to nothing in the book")
    except sqlite3.Error as error:
        found.append(f"the file itself ({error})")
    for table, (kind, _) in TABLES.items():
        try:
            for row in connection.execute(f"SELECT * FROM {table}"):
                try:
                    read(table, row)
                except DamagedRowError as error:
                    found.append(f"{error} cannot be read")
        except sqlite3.Error as error:
            found.append(f"not every {kind} can be read ({error})")
    return found


def save_rows(old: sqlite3.Connection, new: sqlite3.Connection) -> list[str]:
    """Bring every row that can be read from a damaged book into a new, empty one. Says what was
    lost, and what was mended so that it could be kept."""
    said: list[str] = []
    new.execute("BEGIN IMMEDIATE")
    for table, (kind, _) in TABLES.items():
        columns = [row["name"] for row in new.execute(f"PRAGMA table_info({table})")]
        rows, broken = _rows(old, table, columns[0])
        if broken:
            said.append(f"not every {kind} could be read")
        for row in rows:
            values = {column: row[column] for column in columns if column in row.keys()}  # noqa: SIM118
            said += _save(new, table, values)
    new.execute("COMMIT")
    return said


def _save(new: sqlite3.Connection, table: str, values: dict[str, Any]) -> list[str]:
    kind, number = TABLES[table][0], next(iter(values.values()))
    said = []
    for column, value in values.items():
        if isinstance(value, str):
            whole = value.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
            if whole != value:
                values[column] = whole
                said.append(f"{kind} {number}: signs in its {column} were lost")
    owner = values.get("client")
    if owner is not None and not _there(new, "client", owner):
        new.execute(
            "INSERT INTO client (id, name) VALUES (?, ?)", (owner, f"Client {owner}, name lost")
        )
        said.append(f"client {owner}: name and notes were lost")
    if values.get("measured") is not None and not _there(
        new, "measurement_set", values["measured"]
    ):
        values["measured"] = None
        said.append(f"{kind} {number}: its measurements were lost")
    places = ", ".join("?" * len(values))
    try:
        new.execute("SAVEPOINT one")
        new.execute(
            f"INSERT INTO {table} ({', '.join(values)}) VALUES ({places})", tuple(values.values())
        )
        (row,) = new.execute(f"SELECT * FROM {table} WHERE rowid = last_insert_rowid()")
        read(table, row)
        new.execute("RELEASE one")
    except (sqlite3.Error, DamagedRowError, OverflowError):
        new.execute("ROLLBACK TO one")
        new.execute("RELEASE one")
        said.append(f"{kind} {number} was lost")
    return said


def _there(connection: sqlite3.Connection, table: str, number: object) -> bool:
    found = connection.execute(f"SELECT 1 FROM {table} WHERE id = ?", (number,)).fetchone()
    return found is not None


def _rows(connection: sqlite3.Connection, table: str, key: str) -> tuple[list[sqlite3.Row], bool]:
    """The rows that can be read, and whether others cannot: from the front, from the back, and in
    between one by one."""
    front, whole = _walked(connection, f"SELECT * FROM {table} ORDER BY {key}")
    if whole:
        return front, False
    back, _ = _walked(connection, f"SELECT * FROM {table} ORDER BY {key} DESC")
    found = {row[key]: row for row in (*front, *back)}
    first = max((row[key] for row in front), default=0) + 1
    last = min((row[key] for row in back), default=_TRIED)
    for number in range(first, min(last, first + _TRIED)):
        rows, _ = _walked(connection, f"SELECT * FROM {table} WHERE {key} = {number}")
        found |= {row[key]: row for row in rows}
    return [found[number] for number in sorted(found)], True


def _walked(connection: sqlite3.Connection, statement: str) -> tuple[list[sqlite3.Row], bool]:
    rows: list[sqlite3.Row] = []
    try:
        for row in connection.execute(statement):
            rows.append(row)
    except sqlite3.Error:
        return rows, False
    return rows, True
