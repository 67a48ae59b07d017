"""What a maker put into an order's folder stays hers when the folder is written anew."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from workroom.folder_names import folded
from workroom.folder_record import FILE, digest_of, not_ours, record_in

#: What systems lay into folders by themselves; it stays without a word.
_SYSTEM = {".ds_store", "thumbs.db", "desktop.ini"}
#: A file of hers whose name a new one needs gets this before its ending.
_KEPT = ".kept"


def carry(old: Path, new: Path) -> tuple[str, ...]:
    """Give the new folder all that is in the old one and that Neckarc did not write, or that was
    changed since; the old folder is not touched. Says what it was."""
    record = record_in(old)
    written = set(record.files) if record is not None else set()
    hers: list[str] = []
    changed: list[str] = []
    for path in not_ours(old):
        if _same_file(path, new / path.name):
            continue
        name = _free(new, path.name)
        _copied(path, new / name)
        if path.name in written:
            changed.append(f"{path.name}, as {name}" if name != path.name else path.name)
        elif path.name.lower() not in _SYSTEM:
            hers.append(path.name if name == path.name else f"{path.name}, as {name}")
    said = []
    if hers:
        said.append(f"Yours in {old.name}, and kept: {'; '.join(hers)}.")
    if changed:
        said.append(f"Changed in {old.name} since it was written, and kept: {'; '.join(changed)}.")
    return tuple(said)


def cleared(old: Path, new: Path) -> bool:
    """Take away a folder whose place ``new`` took: files as they were written, and what the new one
    has as well. Whether nothing else was in it; what was is left in it, the record with it."""
    hers = set(not_ours(old))
    there = _Contents(new)
    for path in sorted(old.iterdir()):
        if path.name == FILE:
            continue
        if path not in hers or there.have(path):
            path.unlink()
        elif path.is_dir() and not path.is_symlink():
            _prune(path, there)
    if {path.name for path in old.iterdir()} - {FILE}:
        return False
    (old / FILE).unlink(missing_ok=True)
    old.rmdir()
    return True


class _Contents:
    """What a folder holds, by the file itself and by its bytes."""

    def __init__(self, folder: Path) -> None:
        self._files = [path for path in _all(folder) if path.is_file() and not path.is_symlink()]
        self._links = {path.readlink() for path in _all(folder) if path.is_symlink()}
        self._nodes = {(one.st_dev, one.st_ino) for one in (path.stat() for path in self._files)}

    def have(self, path: Path) -> bool:
        """Whether something else is here as well."""
        if path.is_symlink():
            return path.readlink() in self._links
        told = path.stat()
        if told.st_ino and (told.st_dev, told.st_ino) in self._nodes:
            return True
        alike = (one for one in self._files if one.stat().st_size == told.st_size)
        return path.is_file() and any(digest_of(one) == digest_of(path) for one in alike)


def _prune(folder: Path, there: _Contents) -> None:
    for path in sorted(folder.iterdir()):
        if path.is_dir() and not path.is_symlink():
            _prune(path, there)
        elif there.have(path):
            path.unlink()
    with suppress(OSError):  # something is left in it
        folder.rmdir()


def _all(folder: Path) -> Iterator[Path]:
    for path in folder.iterdir():
        yield path
        if path.is_dir() and not path.is_symlink():
            yield from _all(path)


def _free(folder: Path, name: str) -> str:
    """The name, or one like it, that nothing in a folder has."""
    taken = {folded(path.name) for path in folder.iterdir()}
    path, number, found = Path(name), 1, name
    while folded(found) in taken:
        found = f"{path.stem}{_KEPT}{f'-{number}' if number > 1 else ''}{path.suffix}"
        number += 1
    return found


def _copied(old: Path, new: Path) -> None:
    if old.is_symlink():
        new.symlink_to(old.readlink())
    elif old.is_dir():
        shutil.copytree(old, new, symlinks=True, copy_function=_linked)
    else:
        _linked(old, new)


def _linked(old: str | Path, new: str | Path) -> str:
    """A second name for the same file, so that what is still being written into it is not lost; a
    copy where the disk knows no second names."""
    try:
        os.link(old, new)
    except OSError:
        shutil.copy2(old, new)
        with open(new, "rb") as file:  # noqa: PTH123
            os.fsync(file.fileno())
    return str(new)


def _same_file(one: Path, other: Path) -> bool:
    if one.is_symlink() or not (one.is_file() and other.is_file()):
        return False
    return one.stat().st_size == other.stat().st_size and digest_of(one) == digest_of(other)
