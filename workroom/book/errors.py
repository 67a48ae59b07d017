"""What can go wrong with the client book, and what is said of it."""

from __future__ import annotations

import errno
import sqlite3
from pathlib import Path

from drafting.errors import NeckarcError, Problem

#: What to do about a damaged book.
REPAIR = (
    "Nothing was changed. Put a copy in its place: neckarc book restore COPY. Without a copy, save "
    "what can still be read: neckarc book mend."
)
_STILL = "What was in the book before is still there."
#: SQLite's primary result codes (sqlite3.h), and what they say to a maker.
_SAID = {
    sqlite3.SQLITE_FULL: ("the disk is full", f"Make room and try again. {_STILL}"),
    sqlite3.SQLITE_READONLY: (
        "the book is write-protected",
        "Allow writing to the file and to its folder. Nothing was changed.",
    ),
    sqlite3.SQLITE_BUSY: (
        "another program is writing into the book",
        f"Wait a moment and try again. {_STILL}",
    ),
    sqlite3.SQLITE_LOCKED: (
        "another program is writing into the book",
        f"Wait a moment and try again. {_STILL}",
    ),
    sqlite3.SQLITE_PERM: ("you may not open the book", "May you read and write file and folder?"),
    sqlite3.SQLITE_AUTH: ("you may not open the book", "May you read and write file and folder?"),
    sqlite3.SQLITE_CANTOPEN: (
        "the book cannot be opened",
        "May you read and write this file and its folder?",
    ),
    sqlite3.SQLITE_IOERR: ("the disk does not answer", f"Is it still there? {_STILL}"),
}
_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_OF_FILES = {
    errno.ENOSPC: sqlite3.SQLITE_FULL,
    errno.EDQUOT: sqlite3.SQLITE_FULL,
    errno.EROFS: sqlite3.SQLITE_READONLY,
    errno.EACCES: sqlite3.SQLITE_PERM,
    errno.EPERM: sqlite3.SQLITE_PERM,
    errno.EIO: sqlite3.SQLITE_IOERR,
}


class BookError(NeckarcError, OSError):
    """The book cannot be opened, read or written; what was in it is still there."""


class BookDamagedError(BookError):
    """Something in the book cannot be read any more."""


class StrangeBookError(BookError):
    """A file that is no client book, or one of a newer Neckarc."""


class BookConflictError(NeckarcError, ValueError):
    """Another window saved meanwhile; nothing was overwritten."""


class NotInBookError(NeckarcError, LookupError):
    """There is no such client, order or measurement set in the book."""


def book_error(error: OSError | sqlite3.Error, path: Path, doing: str) -> BookError:
    """What to say of an error met while ``doing`` something with a book."""
    if isinstance(error, BookError):
        return error
    if isinstance(error, OSError):
        code = _OF_FILES.get(error.errno or 0, 0)
        reason = error.strerror or str(error)
    else:
        whole = getattr(error, "sqlite_errorcode", 0)
        code, reason = whole & 0xFF, str(error)
        lost = reason.startswith("no such ")  # a table or a column of it
        if lost or code in _DAMAGED or whole == sqlite3.SQLITE_IOERR_SHORT_READ:
            return damaged(path, [f"the file itself ({reason})"])
    if code in _SAID:
        said, advice = _SAID[code]
        return BookError(Problem(f"{doing}: {said} ({reason})", str(path), advice=advice))
    return BookError(Problem(f"{doing}: {reason}", str(path), advice=_STILL))


def damaged(path: Path, faults: list[str], most: int = 6) -> BookDamagedError:
    """What to say of a damaged book; ``faults`` is what cannot be read."""
    told = "; ".join(faults[:most])
    if len(faults) > most:
        told += f"; and {len(faults) - most} more"
    return BookDamagedError(
        Problem(f"the client book is damaged: {told}", place=str(path), advice=REPAIR)
    )
