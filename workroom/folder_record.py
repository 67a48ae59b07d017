"""Whose a folder is: a record in it of the order it was written for, and of every file in it.

Only what stands in the record, byte for byte as it was written, is Neckarc's to take away again.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path, PurePath
from typing import Any

from workroom.report import version

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
