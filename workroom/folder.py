"""Files and folders written whole or not at all.

Everything is written beside its place, flushed to the disk and then renamed, and the folder it
lies in is flushed too. What was there before is whole until the new is, and stays when it fails.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from enum import Enum, auto
from pathlib import Path

from drafting.errors import Problem, SheetError
from workroom.exchange import exchange, flush_folder

#: What is being made, and what waits to be put back, carries one of these before its name.
MAKING, PUT_AWAY = ".making-", ".was-"
_MOST = 1000
_WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EFBIG: "this file is larger than may be written here",
    errno.EACCES: "you may not write here",
    errno.EPERM: "you may not write here",
    errno.EROFS: "this disk can only be read",
    errno.ENAMETOOLONG: "this name is too long",
    errno.ENOENT: "the folder is not there, or not any more",
    errno.ENOTDIR: "there is a file where a folder should be",
    errno.EEXIST: "there is a file where a folder should be",
    errno.EIO: "the disk does not answer",
}


class Taken(Enum):
    """What to do about a folder that is there already: take the ``NEXT`` number, ``SWAP`` it for
    the new one, or ``KEEP`` it and write nothing."""

    NEXT = auto()
    SWAP = auto()
    KEEP = auto()


def next_number(place: Path) -> Taken:
    """Never touch what is there."""
    return Taken.NEXT


def swap(place: Path) -> Taken:
    """Put the new one in its place."""
    return Taken.SWAP


def folder_name(*parts: str) -> str:
    """A plain name for a folder from words a person wrote: letters, digits and dashes."""
    words = []
    for part in parts:
        plain = unicodedata.normalize("NFKD", part).encode("ascii", "ignore").decode()
        plain = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")
        if plain:
            words.append(plain[:40])
    return "-".join(words) or "order"


def write_folder(
    parent: Path,
    name: str,
    files: Mapping[str, bytes],
    *,
    taken: Callable[[Path], Taken] = next_number,
    sign: str = "-",
) -> Path:
    """Write files into a folder of that ``name``, and say where it lies.

    ``taken`` says what becomes of a folder that is there already; a numbered one has ``sign``
    before its number. Raises :class:`SheetError` when it cannot be done: then nothing is left
    behind, and what was there is as it was.
    """
    with _told(parent, "Choose another folder with --into."), _folders(parent):
        _put_back(parent, name)
        with made_beside(parent) as making:
            for file, content in files.items():
                _write(making / file, content)
            making.chmod(0o755)
            flush_folder(making)
            place = _place(making, parent, name, taken, sign)
        flush_folder(parent)
    return place


def write_file(path: Path, content: bytes) -> None:
    """Write one new file whole. Raises :class:`SheetError` when it exists or cannot be written."""
    with _told(path):
        if os.path.lexists(path):
            raise SheetError(
                Problem(
                    "there is a file of this name already", place=str(path), advice="Rename one."
                )
            )
        with made_beside(path.parent) as making:
            _write(making / "file", content)
            _into_free(making / "file", path)
        flush_folder(path.parent)


@contextmanager
def replaced_file(path: Path) -> Iterator[Path]:
    """A file to write into; at the end it takes the place of ``path`` in one step.

    Raises :class:`SheetError` when that cannot be done. When the work inside fails, ``path`` is as
    it was and nothing is left behind.
    """
    with _told(path), made_beside(path.parent) as making:
        yield making / "file"
        with (making / "file").open("rb+") as file:
            os.fsync(file.fileno())
        (making / "file").replace(path)
        flush_folder(path.parent)


@contextmanager
def made_beside(parent: Path) -> Iterator[Path]:
    """A hidden folder in ``parent`` to make things in; gone at the end, whatever happens."""
    making = Path(tempfile.mkdtemp(prefix=MAKING, dir=parent))
    try:
        yield making
    finally:
        shutil.rmtree(making, ignore_errors=True)


def tidy(parent: Path) -> None:
    """Take away what was being made in ``parent`` when its maker was stopped, and put back what was
    put away. Only for a folder that nobody else is writing into. Raises :class:`SheetError`."""
    with _told(parent):
        for left in [*parent.glob(f"{MAKING}*")]:
            shutil.rmtree(left, ignore_errors=True)
        for left in [*parent.glob(f"{PUT_AWAY}*")]:
            _put_back(parent, left.name.removeprefix(PUT_AWAY))


def cannot(place: Path, error: OSError, advice: str = "") -> SheetError:
    """What to say when something cannot be written."""
    said = _WORDS.get(error.errno or 0, "")
    reason = error.strerror or str(error)
    return SheetError(
        Problem(
            f"this cannot be written: {f'{said} ({reason})' if said else reason}",
            place=str(place),
            advice=f"Nothing was written; what was there is as it was. {advice}".strip(),
        )
    )


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _place(
    making: Path, parent: Path, name: str, taken: Callable[[Path], Taken], sign: str
) -> Path:
    for number in range(1, _MOST):
        place = parent / (name if number == 1 else f"{name}{sign}{number}")
        if not os.path.lexists(place):
            with suppress(FileExistsError, NotADirectoryError):
                return _renamed(making, place)
        todo = taken(place)
        if todo is Taken.KEEP:
            return place
        if todo is Taken.SWAP:
            _swap(making, place)
            return place
    raise OSError(f"there are too many folders called {name}")


def _renamed(making: Path, place: Path) -> Path:
    try:
        return making.rename(place)
    except OSError as error:
        if error.errno == errno.ENOTEMPTY:  # another was quicker
            raise FileExistsError(error.errno, error.strerror) from error
        raise


def _swap(making: Path, place: Path) -> None:
    """``making`` in the place of ``place``: in one step where the system can, else in two."""
    if place.is_symlink() or not place.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "no folder to put another in the place of")
    if exchange(making, place):
        return  # the old one goes with what was being made
    away = place.with_name(f"{PUT_AWAY}{place.name}")
    place.rename(away)
    try:
        making.rename(place)
    except OSError:
        away.rename(place)
        raise
    flush_folder(place.parent)
    shutil.rmtree(away, ignore_errors=True)


def _put_back(parent: Path, name: str) -> None:
    """Put back a folder that was put away by a swap that never ended."""
    away, place = parent / f"{PUT_AWAY}{name}", parent / name
    if not away.is_dir():
        return
    if os.path.lexists(place):
        shutil.rmtree(away, ignore_errors=True)
    else:
        away.rename(place)


def _into_free(made: Path, path: Path) -> None:
    """Name a file ``path`` unless there is one."""
    try:
        os.link(made, path)
    except FileExistsError:
        raise
    except OSError:  # a disk that knows no second names
        made.rename(path)


@contextmanager
def _folders(parent: Path) -> Iterator[None]:
    """The folders down to ``parent``; those that had to be made are gone again after a failure."""
    made: list[Path] = []
    try:
        for folder in reversed([parent, *parent.parents]):
            if not folder.is_dir():
                folder.mkdir(exist_ok=True)
                made.append(folder)
        yield
    except BaseException:
        for folder in reversed(made):
            with suppress(OSError):
                folder.rmdir()
        raise


@contextmanager
def _told(place: Path, advice: str = "") -> Iterator[None]:
    try:
        yield
    except SheetError:
        raise
    except OSError as error:
        raise cannot(place, error, advice) from error
