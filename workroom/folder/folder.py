"""Files and folders written whole or not at all.

Everything is written beside its place, flushed to the disk and then renamed, and the folder it
lies in is flushed too. What was there before is whole until the new is, and stays when it fails.
"""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache, partial
from pathlib import Path
from typing import Any

from drafting.errors import Problem, SheetError
from workroom.folder.locks import LOCKS, alone_in, dead, drop_locks, living_name, makings
from workroom.folder.names import folded
from workroom.folder.record import carry, cleared

# ---- What Python has no words for: two folders exchanged in one step, and a folder flushed

#: Names are looked up from the working folder (Linux, fcntl.h), and changed for each other
#: (Linux, renameat2(2)).
_HERE, _EXCHANGE = -100, 2
_CANNOT = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM}


def exchange(one: Path, other: Path) -> bool:
    """Give two folders each other's names in one step; ``False`` where the system cannot.

    Raises ``OSError`` when it can but may not.
    """
    call = _renameat2()
    if call is None:
        return False
    if call(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))


def flush_folder(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can."""
    if sys.platform == "win32":
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    except OSError as error:
        if error.errno not in _CANNOT:
            raise
    finally:
        os.close(opened)


@cache
def _renameat2() -> Any:
    if not sys.platform.startswith("linux"):
        return None
    return getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)


#: What waits to be put back, or to be cleared, carries this before its name.
PUT_AWAY = ".was-"
#: A folder from which not everything may be taken away is called by this after its name.
KEPT = ".kept"
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
    """What to do about a folder that is there already: take the ``NEXT`` number; the same, and say
    that this one is of ``OTHERS``; ``SWAP`` it for the new one; or ``KEEP`` it and write nothing.
    """

    NEXT = auto()
    OTHERS = auto()
    SWAP = auto()
    KEEP = auto()


@dataclass(frozen=True, slots=True)
class Written:
    """Where a folder lies, and what is to be said of others that were in its way."""

    place: Path
    said: tuple[str, ...] = ()


def next_number(place: Path) -> Taken:
    """Never touch what is there."""
    return Taken.NEXT


def swap_own(own: Callable[[Path], bool]) -> Callable[[Path], Taken]:
    """Put the new one in the place of its own old one; leave any other alone, and say so."""
    return partial(_own_or_others, own)


def _own_or_others(own: Callable[[Path], bool], place: Path) -> Taken:
    return Taken.SWAP if own(place) else Taken.OTHERS


def is_taken(parent: Path, name: str) -> bool:
    """Whether a name is taken, or would be on a disk that takes capitals for small letters."""
    if os.path.lexists(parent / name):
        return True
    alike = folded(name)
    return any(folded(other) == alike for other in _names(parent))


def write_folder(
    parent: Path,
    name: str,
    files: Mapping[str, bytes],
    *,
    taken: Callable[[Path], Taken] = next_number,
    sign: str = "-",
) -> Written:
    """Write files into a folder of that ``name``, and say where it lies.

    ``taken`` says what becomes of a folder that is there already; a numbered one has ``sign``
    before its number. From a folder that is swapped only what its record says Neckarc wrote goes;
    all else is carried over into the new one. Raises :class:`SheetError` when it cannot be done:
    then nothing is left behind, and what was there is as it was.
    """
    with _told(parent, "Choose another folder with --into."), _folders(parent):
        with made_beside(parent) as making:
            for file, content in files.items():
                _write(making / file, content)
            making.chmod(0o755)
            flush_folder(making)
            with alone_in(parent) as sure:
                said = _sweep(parent) if sure else _put_back(parent, name)
                written = _place(making, parent, name, taken, sign)
        flush_folder(parent)
    return Written(written.place, (*said, *written.said))


def write_file(path: Path, content: bytes) -> None:
    """Write one new file whole. Raises :class:`SheetError` when it exists or cannot be written."""
    with new_file(path) as making:
        _write(making, content)


@contextmanager
def new_file(path: Path) -> Iterator[Path]:
    """A file to write into; at the end it gets its name.

    Raises :class:`SheetError` when there is something of that name, or when it cannot be written;
    then nothing is left behind.
    """
    with _told(path):
        if os.path.lexists(path):
            raise SheetError(
                Problem(
                    "there is a file of this name already", place=str(path), advice="Rename one."
                )
            )
        with made_beside(path.parent) as making:
            yield making / "file"
            _flushed(making / "file")
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
        _flushed(making / "file")
        (making / "file").replace(path)
        flush_folder(path.parent)


@contextmanager
def made_beside(parent: Path) -> Iterator[Path]:
    """A hidden folder in ``parent`` to make things in, for this user's eyes; gone at the end,
    whatever happens."""
    with living_name(parent) as making:
        making.mkdir(mode=0o700)
        try:
            yield making
        finally:
            shutil.rmtree(making, ignore_errors=True)


def tidy(parent: Path) -> tuple[str, ...]:
    """Take away what was being made in ``parent`` by whoever was stopped, and put back what was put
    away; what is being made now is left alone. Says what else lay there. Raises
    :class:`SheetError`."""
    with _told(parent), alone_in(parent) as sure:
        return _sweep(parent) if sure else ()


def remove_if_empty(folder: Path) -> None:
    """Take away a folder in which there is nothing but locks."""
    with suppress(OSError):
        if all(name in LOCKS for name in _names(folder)):
            drop_locks(folder)
            folder.rmdir()


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


def _flushed(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _names(parent: Path) -> list[str]:
    try:
        with os.scandir(parent) as found:
            return [one.name for one in found]
    except FileNotFoundError:
        return []


def _place(
    making: Path, parent: Path, name: str, taken: Callable[[Path], Taken], sign: str
) -> Written:
    said: list[str] = []
    for number in range(1, _MOST):
        place = parent / (name if number == 1 else f"{name}{sign}{number}")
        if not is_taken(parent, place.name):
            with suppress(FileExistsError, NotADirectoryError):
                return Written(_renamed(making, place), tuple(said))
        todo = taken(place) if os.path.lexists(place) else Taken.NEXT
        if todo is Taken.KEEP:
            return Written(place, tuple(said))
        if todo is Taken.SWAP:
            return Written(place, (*said, *_swap(making, place)))
        if todo is Taken.OTHERS:
            said.append(f"{place.name} is not known to be this order's; it was left as it is.")
    raise OSError(f"there are too many folders called {name}")


def _renamed(making: Path, place: Path) -> Path:
    try:
        return making.rename(place)
    except OSError as error:
        if error.errno == errno.ENOTEMPTY:  # another was quicker
            raise FileExistsError(error.errno, error.strerror) from error
        raise


def _swap(making: Path, place: Path) -> tuple[str, ...]:
    """``making`` in the place of ``place``: in one step where the system can, else in two."""
    if place.is_symlink() or not place.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "no folder to put another in the place of")
    said = carry(place, making)
    flush_folder(making)
    away = place.with_name(f"{PUT_AWAY}{place.name}")
    making.rename(away)  # whichever of the two lies there when this is stopped, it may be cleared
    try:
        swapped = exchange(away, place)
        if not swapped:
            away.rename(making)
    except OSError:
        shutil.rmtree(away, ignore_errors=True)
        raise
    if not swapped:
        place.rename(away)
        try:
            making.rename(place)
        except OSError:
            away.rename(place)
            raise
    flush_folder(place.parent)
    return (*said, *_put_back(place.parent, place.name))


def _sweep(parent: Path) -> tuple[str, ...]:
    """Clear what was left by those that were stopped. Only while the folder's lock is held."""
    names = _names(parent)
    said: list[str] = []
    for making in sorted(makings(names, parent)):
        with dead(making) as gone:
            if gone:
                shutil.rmtree(making, ignore_errors=True)
    for name in sorted(names):
        if name.startswith(PUT_AWAY):
            said += _put_back(parent, name.removeprefix(PUT_AWAY))
    return tuple(said)


def _put_back(parent: Path, name: str) -> tuple[str, ...]:
    """Put back a folder that was put away by a swap that never ended; where it did, clear it."""
    away, place = parent / f"{PUT_AWAY}{name}", parent / name
    if not away.is_dir() or away.is_symlink():
        return ()
    if not os.path.lexists(place):
        away.rename(place)
        return ()
    return _cleared(away, place)


def _cleared(away: Path, place: Path) -> tuple[str, ...]:
    """Clear a folder that another took the place of. Where something in it is not Neckarc's to take
    away and is not in the new one, it stays, under a name that is said."""
    if cleared(away, place):
        return ()
    for number in range(1, _MOST):
        kept = place.with_name(f"{place.name}{KEPT}" + (f"-{number}" if number > 1 else ""))
        if not is_taken(place.parent, kept.name):
            away.rename(kept)
            return (f"Other files from {place.name} are kept in {kept.name}.",)
    raise OSError(f"there are too many folders called {place.name}{KEPT}")


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
            remove_if_empty(folder)
        raise


@contextmanager
def _told(place: Path, advice: str = "") -> Iterator[None]:
    try:
        yield
    except SheetError:
        raise
    except OSError as error:
        raise cannot(place, error, advice) from error
