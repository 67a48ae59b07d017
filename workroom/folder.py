"""Files and folders written whole or not at all."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from drafting.errors import Problem, SheetError


def folder_name(*parts: str) -> str:
    """A plain name for a folder from words a person wrote: letters, digits and dashes."""
    words = []
    for part in parts:
        plain = unicodedata.normalize("NFKD", part).encode("ascii", "ignore").decode()
        plain = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")
        if plain:
            words.append(plain[:40])
    return "-".join(words) or "order"


def write_folder(parent: Path, name: str, files: Mapping[str, bytes]) -> Path:
    """Write files into a new folder; ``name`` gets a number when it is taken.

    The folder is made beside its place and renamed when all is in it. Raises :class:`SheetError`
    and leaves nothing behind when that cannot be done.
    """
    try:
        parent.mkdir(parents=True, exist_ok=True)
        making = Path(tempfile.mkdtemp(prefix=".making-", dir=parent))
    except OSError as error:
        raise _cannot(parent, error) from error
    try:
        for file, content in files.items():
            _write(making / file, content)
        making.chmod(0o755)
        return _place(making, parent, name)
    except OSError as error:
        raise _cannot(parent, error) from error
    finally:
        shutil.rmtree(making, ignore_errors=True)


def write_file(path: Path, content: bytes) -> None:
    """Write one new file whole. Raises :class:`SheetError` when it exists or cannot be written."""
    if path.exists():
        raise SheetError(
            Problem("there is a file of this name already", place=str(path), advice="Rename one.")
        )
    making = path.with_name(f".making-{os.getpid()}-{path.name}"[:200])
    try:
        _write(making, content)
        making.rename(path)
    except OSError as error:
        raise _cannot(path, error) from error
    finally:
        making.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _place(making: Path, parent: Path, name: str) -> Path:
    for number in range(1, 1000):
        place = parent / (name if number == 1 else f"{name}-{number}")
        if place.exists():
            continue
        try:
            return making.rename(place)
        except FileExistsError:
            continue
        except OSError:
            if not place.exists():
                raise
    raise OSError(f"there are too many folders called {name}")


def _cannot(place: Path, error: OSError) -> SheetError:
    return SheetError(
        Problem(
            f"this cannot be written: {error.strerror or error}",
            place=str(place),
            advice="Nothing was written. Choose another folder with --into.",
        )
    )
