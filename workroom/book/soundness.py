"""Whether all of a book can be read, and what can still be saved of one that is damaged.

SQLite's own check sees pages, indices and rules; every row is then read as the book reads it. A
letter that became another letter is seen by neither.
"""

from __future__ import annotations

import sqlite3
from typing import Any

from workroom.book.rows import TABLES, DamagedRowError, read

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
