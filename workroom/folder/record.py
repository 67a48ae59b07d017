"""What a maker put into an order's folder stays hers when the folder is written anew."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path, PurePath
from typing import Any

from workroom.folder.names import folded
from workroom.papers.booklets.report import version

# ---- Whose a folder is: a record in it of the order it was written for, and of every file in it

#: The file in which the record stands.
FILE = "order.json"
#: Records of form 1 name no owner, and tell nothing of the bytes.
FORM = 2
#: No such file is larger (bytes); anything longer is none of ours.
_MOST_BYTES = 200_000


@dataclass(frozen=True, slots=True)
class Owner:
    """What a folder was written for: ``kind`` is ``order``, or ``range`` with its size table;
    ``source`` the name of the card or table it came from, and ``place`` a hash of where that lies,
    seen from the folder's parent, so that two cards alike are told apart."""

    kind: str
    client: str
    date: str
    order: str
    source: str
    place: str

    def words(self) -> str:
        """For the maker."""
        return ", ".join(part for part in (self.client, self.date, self.order, self.source) if part)


@dataclass(frozen=True, slots=True)
class Record:
    """A record as it stands in a folder: its owner (``None`` in one of form 1), the hash of each
    file by its name (empty in form 1), and all that was told besides."""

    owner: Owner | None
    files: Mapping[str, str]
    told: Mapping[str, Any]

    def wrote(self, path: Path) -> bool:
        """Whether a file is as it was written; an empty one holds nothing of anybody's."""
        wanted = self.files.get(path.name, "")
        return bool(wanted) and (path.stat().st_size == 0 or digest_of(path) == wanted)


def owner_of(
    source: Path, into: Path, *, client: str, date: str, order: str, kind: str = "order"
) -> Owner:
    """The owner of a folder in ``into`` that is made from a card or table at ``source``."""
    there, here = source.resolve(), into.resolve()
    try:
        way = PurePath(os.path.relpath(there, here)).as_posix()
    except ValueError:  # on another drive
        way = there.as_posix()
    place = hashlib.sha256(way.encode(errors="surrogateescape")).hexdigest()[:16]
    name = source.name.encode(errors="replace").decode()
    return Owner(kind, client, date, order, name, place)


def record_bytes(
    owner: Owner, files: Mapping[str, bytes], more: Mapping[str, Any] | None = None
) -> bytes:
    """The record of a folder with these files; ``more`` is what else is to be told."""
    told = {
        "form": FORM,
        "written_by": f"Neckarc {version()}",
        "owner": asdict(owner),
        "files": {name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items())},
        **(more or {}),
    }
    return (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode("utf-8")


def record_in(place: Path) -> Record | None:
    """The record in a folder; ``None`` when there is none that can be read."""
    try:
        with (place / FILE).open("rb") as file:
            told = json.loads(file.read(_MOST_BYTES))
    except (OSError, ValueError, RecursionError):
        return None
    match told:
        case {"form": 2, "owner": dict() as owner, "files": dict() as files}:
            try:
                whose = Owner(**{str(key): str(value) for key, value in owner.items()})
            except TypeError:
                return None
            return Record(whose, {str(k): str(v) for k, v in files.items()}, told)
        case {"form": 1, "files": list()}:
            return Record(None, {}, told)
    return None


def owned_by(owner: Owner) -> Callable[[Path], bool]:
    """Whether a folder was written for this very order."""
    return partial(_is_owned, owner)


def _is_owned(owner: Owner, place: Path) -> bool:
    record = None if place.is_symlink() else record_in(place)
    return record is not None and record.owner == owner


def not_ours(place: Path) -> list[Path]:
    """All that lies in a folder and is not as Neckarc wrote it, by name."""
    record = record_in(place)
    if record is None:
        return sorted(place.iterdir())
    return [
        path
        for path in sorted(place.iterdir())
        if path.is_symlink() or not path.is_file() or not (path.name == FILE or record.wrote(path))
    ]


def digest_of(path: Path) -> str:
    """The hash of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


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
