"""The client book: nothing is overwritten, nothing acknowledged is lost.

Every method is one transaction. Texts are parameters, never part of a statement.
"""

from __future__ import annotations

import datetime
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, cast

from drafting.errors import Problem
from workroom.book.errors import (
    BookConflictError,
    BookError,
    NotInBookError,
    book_error,
    damaged,
)
from workroom.book.records import (
    TABLES,
    BookOrder,
    Client,
    Correction,
    DamagedRowError,
    Erased,
    FittingChange,
    MeasurementSet,
    NewlySeen,
    Taken,
    faults,
    read,
    save_rows,
)
from workroom.book.schema import PATIENCE, opened

#: Tables of a card that say what is asked for.
ASKED = ("garment", "neckline", "collar")


def sound_book(path: Path) -> Book:
    """A book that was looked through. Raises :class:`BookError`, for a damaged one with the names
    of what cannot be read."""
    book = Book(path)
    try:
        book.check()
    except BookError:
        book.close()
        raise
    return book


class Book:
    """One open book. Use it in a ``with`` statement, or close it."""

    def __init__(self, path: Path) -> None:
        """Raises :class:`BookError` when it cannot be opened."""
        self.path = path
        self._connection = opened(path)

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    # ---- clients ----------------------------------------------------------------------------

    def clients(self) -> tuple[Client, ...]:
        """Everyone in the book, by name."""
        rows = self._all("SELECT * FROM client ORDER BY name COLLATE NOCASE, id")
        return tuple(self._read("client", row) for row in rows)

    def client(self, number: int) -> Client:
        """One client. Raises :class:`NotInBookError`."""
        return cast(Client, self._one("client", number))

    def add_client(self, name: str, notes: str = "") -> Client:
        """A new client."""
        with self._saving() as connection:
            cursor = connection.execute(
                "INSERT INTO client (name, notes) VALUES (?, ?)", (name.strip(), notes)
            )
        return self.client(_new(cursor))

    def change_client(self, was: Client, *, name: str, notes: str) -> Client:
        """Another name or other notes.

        Raises :class:`BookConflictError` when ``was`` is out of date.
        """
        with self._saving() as connection:
            changed = connection.execute(
                "UPDATE client SET name = ?, notes = ?, version = version + 1 "
                "WHERE id = ? AND version = ?",
                (name.strip(), notes, was.id, was.version),
            ).rowcount
            if not changed:
                self._stale("client", was.id, was.name)
        return self.client(was.id)

    def delete_client(self, number: int) -> Erased:
        """Really delete a client with all there is of her; says what went.

        The file's free pages are overwritten and the log is emptied, so that nothing of her is left
        in it. Raises :class:`NotInBookError`.
        """
        with self._saving() as connection:
            client = self.client(number)
            counts = [
                int(
                    connection.execute(
                        f"SELECT count(*) FROM {table} WHERE client = ?", (number,)
                    ).fetchone()[0]
                )
                for table in ("measurement_set", "client_order", "correction")
            ]
            connection.execute("DELETE FROM client_order WHERE client = ?", (number,))
            connection.execute("DELETE FROM client WHERE id = ?", (number,))
        self._all("PRAGMA wal_checkpoint(TRUNCATE)")
        return Erased(client.name, *counts)

    # ---- measurements -----------------------------------------------------------------------

    def add_measurements(
        self,
        client: int,
        date: datetime.date,
        taken: Mapping[str, float | str],
        unit: str = "cm",
        note: str = "",
    ) -> MeasurementSet:
        """A new dated set; older ones stay. Raises :class:`NotInBookError`."""
        with self._saving():
            self.client(client)
            number = self._add_set(client, Taken(date, taken, unit, note))
        return self.measurements(number)

    def measurements(self, number: int) -> MeasurementSet:
        """One set. Raises :class:`NotInBookError`."""
        return cast(MeasurementSet, self._one("measurement_set", number))

    def sets_of(self, client: int) -> tuple[MeasurementSet, ...]:
        """A client's sets, the latest first."""
        rows = self._all(
            "SELECT * FROM measurement_set WHERE client = ? ORDER BY date DESC, id DESC", (client,)
        )
        return tuple(self._read("measurement_set", row) for row in rows)

    # ---- orders -----------------------------------------------------------------------------

    def add_order(
        self, client: int, name: str, asked: Mapping[str, Any], measured: int | None = None
    ) -> BookOrder:
        """A new order.

        Raises :class:`NotInBookError`, and :class:`BookError` when the measurement set is another
        client's.
        """
        with self._saving() as connection:
            self.client(client)
            self._check_own(client, measured)
            cursor = connection.execute(
                "INSERT INTO client_order (client, measured, name, asked) VALUES (?, ?, ?, ?)",
                (client, measured, name, _packed(asked)),
            )
        return self.order(_new(cursor))

    def order(self, number: int) -> BookOrder:
        """One order. Raises :class:`NotInBookError`."""
        return cast(BookOrder, self._one("client_order", number))

    def orders_of(self, client: int) -> tuple[BookOrder, ...]:
        """A client's orders, the latest first."""
        rows = self._all("SELECT * FROM client_order WHERE client = ? ORDER BY id DESC", (client,))
        return tuple(self._read("client_order", row) for row in rows)

    def change_order(
        self,
        was: BookOrder,
        *,
        name: str,
        asked: Mapping[str, Any],
        measured: int | None = None,
        taken: Taken | None = None,
        fitting: FittingChange | None = None,
    ) -> BookOrder:
        """Save an order that was changed, to a measurement set there is or to measurements just
        ``taken``, which become a new set, and with it what a ``fitting`` changed of the client's
        corrections. What was typed into it and not saved is let go.

        Raises :class:`BookConflictError` when another window saved since ``was`` was read, or
        changed the corrections: nothing is overwritten, and nothing is added.
        """
        with self._saving() as connection:
            self._check_own(was.client, measured)
            if taken is not None:
                measured = self._add_set(was.client, taken)
            changed = connection.execute(
                "UPDATE client_order SET name = ?, asked = ?, measured = ?, version = version + 1 "
                "WHERE id = ? AND version = ?",
                (name, _packed(asked), measured, was.id, was.version),
            ).rowcount
            if not changed:
                self._stale("client_order", was.id, was.name)
            if fitting is not None:
                self._fit(was.client, fitting)
            connection.execute("DELETE FROM typing WHERE client_order = ?", (was.id,))
        return self.order(was.id)

    # ---- typed, not saved -------------------------------------------------------------------

    def keep_typing(self, order: int, version: int, content: Mapping[str, Any]) -> None:
        """Keep what was typed into an order of a version and not saved yet, in place of what was
        kept before. Raises :class:`NotInBookError`."""
        with self._saving() as connection:
            self.order(order)
            connection.execute(
                "INSERT OR REPLACE INTO typing (client_order, version, content) VALUES (?, ?, ?)",
                (order, version, _packed(content)),
            )

    def typing_of(self, order: int) -> tuple[int, Mapping[str, Any]] | None:
        """What was typed into an order and not saved, and into which version of it."""
        rows = self._all("SELECT * FROM typing WHERE client_order = ?", (order,))
        return self._read("typing", rows[0]) if rows else None

    def drop_typing(self, order: int) -> None:
        """Let go what was typed into an order and not saved."""
        with self._saving() as connection:
            connection.execute("DELETE FROM typing WHERE client_order = ?", (order,))

    # ---- corrections ------------------------------------------------------------------------

    def add_correction(
        self, client: int, date: datetime.date, seen: str, amount: float
    ) -> Correction:
        """Remember what was seen at a fitting."""
        with self._saving():
            self.client(client)
            number = self._add_seen(client, NewlySeen(date, seen, amount))
        return cast(Correction, self._one("correction", number))

    def corrections_of(self, client: int) -> tuple[Correction, ...]:
        """A client's corrections, in the order of their dates."""
        rows = self._all("SELECT * FROM correction WHERE client = ? ORDER BY date, id", (client,))
        return tuple(self._read("correction", row) for row in rows)

    def let_hold(self, correction: int) -> None:
        """Let a correction hold that was withdrawn. Raises :class:`NotInBookError`."""
        with self._saving() as connection:
            changed = connection.execute(
                "UPDATE correction SET in_force = 1 WHERE id = ?", (correction,)
            ).rowcount
            if not changed:
                raise _absent("correction", correction)

    def withdraw(self, correction: int, day: datetime.date) -> None:
        """Let a correction no longer hold; it stays in the book, with the day.

        Raises :class:`NotInBookError`.
        """
        with self._saving():
            self._withdraw(correction, day)

    # ---- as a whole -------------------------------------------------------------------------

    def check(self) -> None:
        """Look through the whole book. Raises :class:`BookDamagedError`, which names what cannot be
        read."""
        found = faults(self._connection)
        if found:
            raise damaged(self.path, found)

    def copy_into(self, path: Path) -> None:
        """Write all there is in the book over the file at ``path``, in one transaction. Raises
        :class:`BookError`."""
        try:
            with closing(sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)) as other:
                self._connection.backup(other)
        except (OSError, sqlite3.Error) as error:
            raise book_error(error, path, "the copy failed") from error

    def take_rows(self, damaged_book: sqlite3.Connection) -> list[str]:
        """Take what can be read of a damaged book into this one, which is empty. Says what was
        lost."""
        return save_rows(damaged_book, self._connection)

    # ---- inside -----------------------------------------------------------------------------

    @contextmanager
    def _saving(self) -> Iterator[sqlite3.Connection]:
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise book_error(error, self.path, "this could not be saved") from error
        except UnicodeEncodeError as error:
            raise BookError(
                Problem("this text has a sign that cannot be saved", got=repr(error.object)[:60])
            ) from error

    def _add_set(self, client: int, taken: Taken) -> int:
        cursor = self._connection.execute(
            "INSERT INTO measurement_set (client, date, unit, taken, note) VALUES (?, ?, ?, ?, ?)",
            (client, taken.date.isoformat(), taken.unit, _packed(taken.values), taken.note),
        )
        return _new(cursor)

    def _add_seen(self, client: int, one: NewlySeen) -> int:
        cursor = self._connection.execute(
            "INSERT INTO correction (client, date, seen, amount) VALUES (?, ?, ?, ?)",
            (client, one.date.isoformat(), one.seen, one.amount),
        )
        return _new(cursor)

    def _withdraw(self, correction: int, day: datetime.date) -> None:
        changed = self._connection.execute(
            "UPDATE correction SET in_force = 0, withdrawn = ? WHERE id = ?",
            (day.isoformat(), correction),
        ).rowcount
        if not changed:
            raise _absent("correction", correction)

    def _fit(self, client: int, fitting: FittingChange) -> None:
        holding = {one.id for one in self.corrections_of(client) if one.in_force}
        if holding != fitting.known or not fitting.withdrawn <= holding:
            raise BookConflictError(
                Problem(
                    "another window changed what holds from her fittings meanwhile; nothing was "
                    "overwritten",
                    advice="Load the page again and make your change once more.",
                )
            )
        for number in sorted(fitting.withdrawn):
            self._withdraw(number, fitting.day)
        for one in fitting.new:
            self._add_seen(client, one)

    def _all(self, statement: str, values: tuple[Any, ...] = ()) -> list[sqlite3.Row]:
        try:
            return self._connection.execute(statement, values).fetchall()
        except OverflowError:  # a number no row can have
            return []
        except sqlite3.Error as error:
            raise book_error(error, self.path, "the book cannot be read") from error

    def _one(self, table: str, number: int) -> Any:
        rows = self._all(f"SELECT * FROM {table} WHERE id = ?", (number,))
        if not rows:
            raise _absent(TABLES[table][0], number)
        return self._read(table, rows[0])

    def _read(self, table: str, row: sqlite3.Row) -> Any:
        try:
            return read(table, row)
        except DamagedRowError as error:
            raise damaged(self.path, [f"{error} cannot be read"]) from error

    def _check_own(self, client: int, measured: int | None) -> None:
        if measured is not None and self.measurements(measured).client != client:
            raise BookError(Problem("these measurements are another client's"))

    def _stale(self, table: str, number: int, name: str) -> None:
        """Why a change met no row: gone, or saved by another window."""
        if not self._all(f"SELECT 1 FROM {table} WHERE id = ?", (number,)):
            raise _absent(TABLES[table][0], number)
        raise BookConflictError(
            Problem(
                "another window saved this meanwhile; nothing was overwritten",
                key=name,
                advice="Load it again and make your change once more.",
            )
        )


def _absent(kind: str, number: int) -> NotInBookError:
    return NotInBookError(Problem(f"there is no such {kind} in the book", got=str(number)))


def _new(cursor: sqlite3.Cursor) -> int:
    assert cursor.lastrowid is not None
    return cursor.lastrowid


def _packed(values: Mapping[str, Any]) -> str:
    return json.dumps(dict(values), ensure_ascii=False, default=dict)
