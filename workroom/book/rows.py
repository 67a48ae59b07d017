"""Rows of the book's tables, read with care: what is damaged is named, and never taken for good."""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from workroom.book.records import BookOrder, Client, Correction, MeasurementSet

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
