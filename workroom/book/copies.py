"""Copies of the book: made, put in its place, and saved out of a damaged one.

Each is for this user's eyes only, looked through before it is trusted, and there whole or not at
all. A book whose place another takes is put aside, never thrown away.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

from drafting.errors import Problem, SheetError
from workroom.book.book import Book
from workroom.book.errors import (
    BookDamagedError,
    BookError,
    StrangeBookError,
    book_error,
)
from workroom.book.place import ASIDE, BESIDE, aside_name, put_aside
from workroom.book.records import text_as_kept
from workroom.book.schema import BEGINNING
from workroom.folder.folder import made_beside, new_file, tidy


def copy_book(book: Book, into: Path) -> None:
    """A whole copy of a sound book in a new file. Raises :class:`BookError` when the book is
    damaged or the copy cannot be written."""
    book.check()
    with _said_of_books(into), new_file(into) as making:
        _whole(book, making)


def restore_book(source: Path, place: Path) -> list[str]:
    """Put a copy in the book's place; the book that was there is put aside. Says what became of it.

    The copy itself is not touched. Raises :class:`BookError` when it is none, is damaged, or cannot
    be put there: then the book is as it was.
    """
    if not source.exists():
        raise BookError(Problem("there is no such copy", place=str(source)))
    if place.exists() and source.samefile(place):
        raise BookError(Problem("this is the book itself, not a copy of it", place=str(source)))
    with _said_of_books(place), _beside(place) as making:
        taken = _private_copy(source, making / "source.db")
        try:
            with Book(taken) as copy:
                copy.check()
                _whole(copy, making / "whole.db")
        except BookError as error:
            raise _of(source, error) from error
        return _put(making / "whole.db", place)


def mend_book(place: Path) -> list[str]:
    """Save what can still be read of a damaged book into a new one, and put the damaged one aside.
    Says what was saved and lost.

    Raises :class:`BookError` when nothing can be read, or the book is some other file: it is as it
    was.
    """
    if not place.exists():
        raise BookError(Problem("there is no book", place=str(place)))
    try:
        with Book(place) as book:
            book.check()
        return ["The book is sound; there is nothing to mend."]
    except BookDamagedError:
        pass
    except StrangeBookError:
        if _begins_well(place):
            raise
    with _said_of_books(place), _beside(place) as making:
        rest = _private_copy(place, making / "rest.db")
        if not _begins_well(rest):
            with rest.open("rb+") as file:
                file.write(BEGINNING)
        with Book(making / "new.db") as new:
            with closing(sqlite3.connect(rest, isolation_level=None)) as old:
                old.row_factory, old.text_factory = sqlite3.Row, text_as_kept
                old.execute("PRAGMA writable_schema = ON")  # else one cut short is not read at all
                lost = new.take_rows(old)
            saved = len(new.clients())
            if not saved:
                raise BookError(
                    Problem(
                        "nothing in this book can be read any more",
                        place=str(place),
                        advice="It was left as it is. Put a copy in its place: "
                        "neckarc book restore COPY.",
                    )
                )
            new.check()
            _whole(new, making / "whole.db")
        said = [f"Saved {saved} client{'' if saved == 1 else 's'} with what could be read of them."]
        said += [f"  {line}" for line in lost] or ["  Nothing was lost."]
        return said + _put(making / "whole.db", place)


def still_named(book: Path, name: str) -> list[str]:
    """What to say, after a client was erased, of each book that was put aside."""
    said = []
    for path in put_aside(book):
        found = any(name.encode() in file.read_bytes() for file in _with_beside(path))
        said.append(
            f"{path} {'still holds her' if found else 'may hold her'}: it was put aside when the "
            "book was restored or mended. Delete it when you need it no more."
        )
    return said


def _put(whole: Path, place: Path) -> list[str]:
    """A sound copy in the book's place. A sound book there is overwritten in one transaction, which
    whoever has it open sees; any other file is put aside as it is."""
    if not os.path.lexists(place):
        with new_file(place) as making:
            shutil.copyfile(whole, making, follow_symlinks=False)
            making.chmod(0o600)
        return [f"Restored {place}"]
    try:
        with Book(place) as old:
            old.check()
            kept = aside_name(place, ASIDE[0])
            with new_file(kept) as making:
                _whole(old, making)
            with Book(whole) as copy:
                copy.copy_into(place)
            old.check()
        return [f"Restored {place}; the book before is {kept}"]
    except (BookDamagedError, StrangeBookError):
        kept = aside_name(place, ASIDE[1])
    for file in _with_beside(place):
        file.rename(kept.with_name(kept.name + file.name.removeprefix(place.name)))
    with new_file(place) as making:
        shutil.copyfile(whole, making)
        making.chmod(0o600)
    return [
        f"Restored {place}; the damaged book is {kept}. Whoever is erased from now on may still be "
        "in that file: delete it when you need it no more."
    ]


def _whole(book: Book, path: Path) -> None:
    """All of a book in one plain file, which needs no other beside it, looked through again."""
    path.touch(mode=0o600)
    book.copy_into(path)
    try:
        with closing(sqlite3.connect(path, isolation_level=None)) as copy:
            copy.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.Error as error:
        raise book_error(error, path, "the copy failed") from error


def _private_copy(source: Path, path: Path) -> Path:
    """The bytes of a book that may lie where nothing can be written, for this user's eyes."""
    try:
        for file in _with_beside(source):
            if not file.name.endswith(BESIDE[1]):
                copy = path.with_name(path.name + file.name.removeprefix(source.name))
                copy.touch(mode=0o600)
                shutil.copyfile(file, copy)
    except OSError as error:
        raise book_error(error, source, "this cannot be read") from error
    return path


def _with_beside(path: Path) -> list[Path]:
    names = (path.name, *(path.name + end for end in BESIDE))
    return [file for file in (path.with_name(name) for name in names) if file.is_file()]


def _begins_well(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(BEGINNING)) == BEGINNING


def _of(source: Path, error: BookError) -> BookError:
    """What is wrong with a copy, said of the file the maker knows."""
    advice = "The book was left as it is. Take another copy."
    return type(error)([replace(p, place=str(source), advice=advice) for p in error.problems])


@contextmanager
def _beside(place: Path) -> Iterator[Path]:
    """A folder beside the book, for this user's eyes, gone at the end; what a killed one left goes
    too."""
    place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    tidy(place.parent)
    with made_beside(place.parent) as making:
        yield making


@contextmanager
def _said_of_books(path: Path) -> Iterator[None]:
    try:
        yield
    except BookError:
        raise
    except SheetError as error:
        raise BookError(error.problems) from error
    except OSError as error:
        raise book_error(error, path, "this cannot be done") from error
