"""The book's file: an SQLite database with a write-ahead log, and its migrations from day one.

A book of an older version is brought up to date in one transaction when it is opened; one of a
newer version is left alone. SQLite is told to wait for the disk with every save, so that what was
acknowledged outlives a pulled plug.
"""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import closing
from pathlib import Path

from drafting.errors import Problem, SheetError
from workroom.book.errors import REPAIR, BookError, StrangeBookError, book_error, damaged
from workroom.book.place import keep_private
from workroom.book.records import text_as_kept
from workroom.folder.folder import new_file

#: Marks a file as one of ours (SQLite's application id): "NARC".
APPLICATION = 0x4E415243
#: What every SQLite file begins with.
BEGINNING = b"SQLite format 3\0"
#: Seconds to wait for another window that is saving.
PATIENCE = 5.0

#: Each step brings a book one version up. Never change one that was released; add another.
MIGRATIONS: tuple[str, ...] = (
    """
    CREATE TABLE client (
        id INTEGER PRIMARY KEY,
        name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 120),
        notes TEXT NOT NULL DEFAULT '' CHECK (length(notes) <= 10000),
        version INTEGER NOT NULL DEFAULT 1
    );
    CREATE TABLE measurement_set (
        id INTEGER PRIMARY KEY,
        client INTEGER NOT NULL REFERENCES client(id) ON DELETE CASCADE,
        date TEXT NOT NULL,
        unit TEXT NOT NULL CHECK (unit IN ('cm', 'in')),
        taken TEXT NOT NULL,
        note TEXT NOT NULL DEFAULT ''
    );
    CREATE INDEX measurement_set_of ON measurement_set(client, date, id);
    CREATE TABLE client_order (
        id INTEGER PRIMARY KEY,
        client INTEGER NOT NULL REFERENCES client(id) ON DELETE CASCADE,
        measured INTEGER REFERENCES measurement_set(id),
        name TEXT NOT NULL,
        asked TEXT NOT NULL,
        version INTEGER NOT NULL DEFAULT 1
    );
    CREATE INDEX order_of ON client_order(client, id);
    CREATE TABLE correction (
        id INTEGER PRIMARY KEY,
        client INTEGER NOT NULL REFERENCES client(id) ON DELETE CASCADE,
        date TEXT NOT NULL,
        seen TEXT NOT NULL,
        amount REAL NOT NULL,
        in_force INTEGER NOT NULL DEFAULT 1
    );
    CREATE INDEX correction_of ON correction(client, date, id);
    """,
    # what was typed at the desk and not saved: kept here and nowhere else, and erased with her
    """
    CREATE TABLE typing (
        client_order INTEGER PRIMARY KEY REFERENCES client_order(id) ON DELETE CASCADE,
        version INTEGER NOT NULL,
        content TEXT NOT NULL
    );
    """,
    # the day a correction was withdrawn; it stays in the book
    """
    ALTER TABLE correction ADD COLUMN withdrawn TEXT;
    """,
)


def opened(path: Path) -> sqlite3.Connection:
    """The book at ``path``, made when there is none, brought up to date, and closed to all others.

    Raises :class:`BookError` when it is no book, is of a newer version, is damaged at first sight
    or cannot be opened. What is damaged deeper, ``soundness`` finds.
    """
    connection: sqlite3.Connection | None = None
    try:
        if not os.path.lexists(path):
            _make(path)
        keep_private(path)
        if path.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        if path.stat().st_size == 0:  # SQLite would make a new book of it
            raise damaged(path, ["the file is empty"])
        connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
        _ready(connection)
        _check_kind(connection, path)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        _migrate(connection)
    except (OSError, sqlite3.Error) as error:
        if connection is not None:
            connection.close()
        if getattr(error, "sqlite_errorname", "") == "SQLITE_NOTADB":
            raise _strange(path) from error
        raise book_error(error, path, "the client book cannot be opened") from error
    return connection


def version_of(connection: sqlite3.Connection) -> int:
    """How many migrations a book has seen."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _make(path: Path) -> None:
    """A new book, whole from the first moment. Raises :class:`BookError`."""
    if not path.parent.is_dir():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        with new_file(path) as making:
            making.touch(mode=0o600)  # personal data: for this user's eyes
            with closing(sqlite3.connect(making, isolation_level=None)) as connection:
                _ready(connection)
                _migrate(connection)
    except SheetError as error:
        if not path.exists():  # else another was quicker
            raise BookError(error.problems) from error


def _ready(connection: sqlite3.Connection) -> None:
    connection.row_factory = sqlite3.Row
    connection.text_factory = text_as_kept
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON")  # what is deleted is overwritten


def _strange(path: Path) -> StrangeBookError:
    """What to say of a file that is no database. SQLite tells: a file of ours that was opened on
    the same book and closed again would take this process's locks on it away (SQLite, How To
    Corrupt An SQLite Database File, 2.2)."""
    return StrangeBookError(
        Problem(
            "this file is not a client book, or its beginning is damaged",
            place=str(path),
            advice=REPAIR,
        )
    )


def _check_kind(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if int(connection.execute("PRAGMA application_id").fetchone()[0]) != APPLICATION:
        raise StrangeBookError(
            Problem(
                "this is some other database, not a client book",
                place=str(path),
                advice="It was left as it is.",
            )
        )
    found = version_of(connection)
    if found > len(MIGRATIONS):
        raise StrangeBookError(
            Problem(
                "this book was kept by a newer Neckarc",
                place=str(path),
                got=f"version {found}",
                accepted=f"up to version {len(MIGRATIONS)}",
                advice="Bring Neckarc up to date; the book was left as it is.",
            )
        )
    if found < 1:
        raise damaged(path, ["its version"])


def _migrate(connection: sqlite3.Connection) -> None:
    if version_of(connection) == len(MIGRATIONS):
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        for number in range(version_of(connection), len(MIGRATIONS)):
            for statement in MIGRATIONS[number].split(";"):
                if statement.strip():
                    connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
