"""Where the book lies, and who may read it: in the user's own data folder, or where
``NECKARC_BOOK`` says."""

from __future__ import annotations

import os
import stat
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from platformdirs import user_data_path

#: Names another file for the book.
VARIABLE = "NECKARC_BOOK"
#: SQLite's own files beside a book, by what comes after its name.
BESIDE = ("-wal", "-shm", "-journal")
#: Books that were put aside are called by this after the book's name, and a number.
ASIDE = ("-before-", "-damaged-")
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def book_path() -> Path:
    """The book of this user."""
    named = os.environ.get(VARIABLE)
    return Path(named) if named else _own_folder() / "clients.db"


def keep_private(path: Path) -> None:
    """Close a book to all others, SQLite's files beside it too, and its folder where that holds
    nothing else. On Windows the rights of the user's own folder hold."""
    if sys.platform == "win32":
        return
    for file in (path, *(path.with_name(path.name + end) for end in BESIDE)):
        _close(file)
    folder = path.parent
    if folder == _own_folder() or all(
        name.startswith((path.stem, "."))
        for name in os.listdir(folder)  # noqa: PTH208
    ):
        _close(folder)


def open_to_others(path: Path) -> bool:
    """Whether others on this machine may read a book: its disk may keep no rights."""
    return sys.platform != "win32" and path.exists() and bool(path.stat().st_mode & _OTHERS)


def put_aside(book: Path) -> Iterator[Path]:
    """The books that lie beside a book since it was restored or mended."""
    if book.parent.is_dir():
        for path in sorted(book.parent.iterdir()):
            if path.suffix == ".db" and path.name.startswith(
                tuple(book.stem + end for end in ASIDE)
            ):
                yield path


def aside_name(book: Path, why: str) -> Path:
    """A name beside the book that no file has."""
    number = 1
    while os.path.lexists(found := book.with_name(f"{book.stem}{why}{number}.db")):
        number += 1
    return found


def _own_folder() -> Path:
    return user_data_path("neckarc", appauthor=False)


def _close(path: Path) -> None:
    with suppress(OSError):  # not there, another's, or a disk without rights: see open_to_others
        mode = path.stat().st_mode
        if mode & _OTHERS:
            path.chmod(stat.S_IMODE(mode) & ~_OTHERS)
