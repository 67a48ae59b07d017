"""Folders and files appear whole or not at all, and what was there before stays when they fail."""

from __future__ import annotations

import contextlib
import errno
import os
import resource
import shutil
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drafting.errors import SheetError
from workroom.folder import folder
from workroom.folder.folder import (
    Taken,
    replaced_file,
    swap_own,
    tidy,
    write_file,
    write_folder,
)
from workroom.folder.locks import LOCKS, MAKING
from workroom.folder.record import FILE, Owner, owned_by, record_bytes

ANNA, EVE = (Owner("order", name, "2026-03-14", "", "card.toml", "0") for name in ("Anna", "Eve"))
swap = swap_own(owned_by(ANNA))


def recorded(files: dict[str, bytes], owner: Owner = ANNA) -> dict[str, bytes]:
    return {**files, FILE: record_bytes(owner, files)}


OLD = recorded({"a.txt": b"old", "b.txt": b"older"})
NEW = recorded({"a.txt": b"new", "c.txt": b"newer"})
#: What may go wrong while a folder is written, and a word of what is said about it.
FAULTS = {
    errno.ENOSPC: "disk is full",
    errno.EACCES: "may not write",
    errno.EROFS: "only be read",
    errno.EIO: "does not answer",
    errno.ENOENT: "not there",
    errno.EDQUOT: "used up",
}


def held(place: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in place.iterdir()}


def names(place: Path) -> list[str]:
    """All there is in a folder but its lock."""
    return sorted(path.name for path in place.iterdir() if path.name not in LOCKS)


def test_a_taken_name_gets_a_number_and_nothing_is_touched(tmp_path: Path) -> None:
    places = [write_folder(tmp_path, "anna", {"a.txt": bytes([k])}).place for k in range(3)]

    assert [place.name for place in places] == ["anna", "anna-2", "anna-3"]
    assert [(place / "a.txt").read_bytes() for place in places] == [b"\0", b"\1", b"\2"]


@pytest.mark.parametrize("in_one_step", [True, False])
def test_a_folder_is_swapped_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, in_one_step: bool
) -> None:
    if not in_one_step:
        monkeypatch.setattr(folder, "exchange", lambda one, other: False)
    write_folder(tmp_path, "anna", OLD)
    place = write_folder(tmp_path, "anna", NEW, taken=swap).place

    assert place.name == "anna"
    assert held(place) == NEW
    assert names(tmp_path) == ["anna"]


def test_a_folder_that_is_to_be_kept_is_kept(tmp_path: Path) -> None:
    write_folder(tmp_path, "anna", OLD)
    place = write_folder(tmp_path, "anna", NEW, taken=lambda place: Taken.KEEP).place

    assert held(place) == OLD
    assert names(tmp_path) == ["anna"]


def test_a_file_is_never_swapped_for_a_folder(tmp_path: Path) -> None:
    (tmp_path / "anna").write_text("mine")

    with pytest.raises(SheetError, match="file where a folder"):
        write_folder(tmp_path, "anna", NEW, taken=lambda place: Taken.SWAP)
    assert (tmp_path / "anna").read_text() == "mine"
    assert names(tmp_path) == ["anna"]


def test_a_link_to_nowhere_is_a_taken_name(tmp_path: Path) -> None:
    (tmp_path / "anna").symlink_to(tmp_path / "nowhere")

    assert write_folder(tmp_path, "anna", NEW).place.name == "anna-2"
    assert not (tmp_path / "nowhere").exists()


def spoil(monkeypatch: pytest.MonkeyPatch, step: str, number: int, at: int) -> None:
    """The ``at``-th call of a step of the writing fails with an error number."""
    real: Any = {"write": folder._write, "rename": Path.rename, "flush": folder.flush_folder}[step]
    calls = iter(range(1000))

    def failing(*given: Any) -> Any:
        if next(calls) == at:
            raise OSError(number, os.strerror(number))
        return real(*given)

    if step == "rename":
        monkeypatch.setattr(Path, "rename", failing)
    else:
        monkeypatch.setattr(folder, "_write" if step == "write" else "flush_folder", failing)


@pytest.mark.parametrize("number", FAULTS)
@pytest.mark.parametrize(
    ("step", "at"), [("write", 0), ("write", 1), ("rename", 0), ("rename", 1), ("flush", 0)]
)
def test_what_breaks_off_leaves_the_old_state(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, step: str, at: int
) -> None:
    """Wherever it breaks off, swapping in two steps: the folder's own flush, a file, a rename."""
    write_folder(tmp_path, "anna", OLD)
    monkeypatch.setattr(folder, "exchange", lambda one, other: False)
    with monkeypatch.context() as patched:
        spoil(patched, step, number, at)
        with pytest.raises(SheetError, match=FAULTS[number]) as caught:
            write_folder(tmp_path, "anna", NEW, taken=swap)

    assert len(caught.value.problems) == 1
    assert held(tmp_path / "anna") == OLD
    assert names(tmp_path) == ["anna"]


def test_folders_made_on_the_way_go_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "kept").mkdir()
    spoil(monkeypatch, "write", errno.ENOSPC, 1)

    with pytest.raises(SheetError, match="No space left"):
        write_folder(tmp_path / "kept" / "deep" / "deeper", "anna", NEW)
    assert [path.name for path in tmp_path.rglob("*")] == ["kept"]


@contextlib.contextmanager
def small_disk(place: Path) -> Iterator[None]:
    """A disk of 64 kB at a place; where none may be mounted, files that may not grow beyond it."""
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(place)]
    able = shutil.which("mount") and subprocess.run(mount, capture_output=True).returncode == 0
    if able:
        try:
            yield
        finally:
            subprocess.run(["umount", str(place)], check=True)
        return
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (64 * 1024, limit[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        signal.signal(signal.SIGXFSZ, handler)


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    with small_disk(tmp_path):
        write_folder(tmp_path, "anna", OLD)
        for taken in (swap, folder.next_number):
            with pytest.raises(SheetError, match=r"disk is full|larger than may be written"):
                write_folder(tmp_path, "anna", {"a.txt": b"1" * 200_000}, taken=taken)
            with pytest.raises(SheetError, match=r"disk is full|larger than may be written"):
                write_file(tmp_path / "card.toml", b"1" * 200_000)
        assert held(tmp_path / "anna") == OLD
        assert names(tmp_path) == ["anna"]
        assert held(write_folder(tmp_path, "anna", NEW, taken=swap).place) == NEW


def test_files_that_may_not_grow(tmp_path: Path) -> None:
    """A real limit of the system, not a made-up error."""
    write_folder(tmp_path, "anna", OLD)
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, limit[1]))
    try:
        with pytest.raises(SheetError, match="larger than may be written"):
            write_folder(tmp_path, "anna", {"a.txt": b"1" * 2000}, taken=swap)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        signal.signal(signal.SIGXFSZ, handler)
    assert held(tmp_path / "anna") == OLD
    assert names(tmp_path) == ["anna"]


def test_a_name_that_is_too_long(tmp_path: Path) -> None:
    for work in (
        lambda: write_folder(tmp_path, "a" * 300, NEW),
        lambda: write_folder(tmp_path / ("b" * 300), "anna", NEW),
        lambda: write_file(tmp_path / ("c" * 300), b"1"),
    ):
        with pytest.raises(SheetError, match="too long"):
            work()
    assert names(tmp_path) == []


def test_a_folder_that_vanishes_meanwhile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parent = tmp_path / "orders"
    real = folder._write

    def vanishing(path: Path, content: bytes) -> None:
        real(path, content)
        shutil.rmtree(parent)

    monkeypatch.setattr(folder, "_write", vanishing)
    with pytest.raises(SheetError, match="not there"):
        write_folder(parent, "anna", NEW)
    assert list(tmp_path.iterdir()) == []


def test_a_swap_that_was_killed_half_way_is_put_right(tmp_path: Path) -> None:
    """Between its two renames the old folder lies aside under another name."""
    write_folder(tmp_path, "anna", OLD)
    (tmp_path / "anna").rename(tmp_path / f"{folder.PUT_AWAY}anna")
    (tmp_path / f"{MAKING}abc").mkdir()
    (tmp_path / f"{MAKING}abc" / "a.txt").write_bytes(b"half")
    tidy(tmp_path)

    assert names(tmp_path) == ["anna"]
    assert held(tmp_path / "anna") == OLD
    (tmp_path / "anna").rename(tmp_path / f"{folder.PUT_AWAY}anna")
    assert write_folder(tmp_path, "anna", NEW).place.name == "anna-2"
    assert held(tmp_path / "anna") == OLD


def test_an_existing_file_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    write_file(path, b"mine")

    with pytest.raises(SheetError, match="already"):
        write_file(path, b"other")
    assert path.read_bytes() == b"mine"
    assert names(tmp_path) == ["card.toml"]


def test_a_file_is_replaced_only_by_a_whole_one(tmp_path: Path) -> None:
    path = tmp_path / "summary.csv"
    path.write_bytes(b"old")

    def broken() -> None:
        with replaced_file(path) as beside:
            beside.write_bytes(b"ha")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken()
    assert path.read_bytes() == b"old"
    with replaced_file(path) as beside:
        beside.write_bytes(b"new")
    assert path.read_bytes() == b"new"
    assert names(tmp_path) == ["summary.csv"]
