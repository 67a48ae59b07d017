"""Many write into one folder at once, and whoever clears it takes nothing that is being made.
NECKARC_LONG=N writes and kills N times as often."""

from __future__ import annotations

import multiprocessing
import random
import signal
import threading
import time
from pathlib import Path

import pytest

from drafting.errors import SheetError
from tests.long import times
from workroom.folder import folder
from workroom.folder.folder import replaced_file, swap_own, tidy, write_file, write_folder
from workroom.folder.locks import LOCKS, MAKING, alone_in, living_name
from workroom.folder.record import FILE, Owner, owned_by, record_bytes

WRITERS, FOLDERS = 3, 20
FILES = 6


def owner(number: int) -> Owner:
    return Owner("order", f"client {number}", "2026-03-14", "", "card.toml", str(number))


def content(number: int) -> dict[str, bytes]:
    files = {f"{k}.txt": f"{number}".encode() * 5000 for k in range(FILES)}
    return {**files, FILE: record_bytes(owner(number), files)}


def writes(into: Path, first: int) -> None:
    for number in range(first, first + FOLDERS):
        for _ in range(2):  # the second time its own is swapped
            taken = swap_own(owned_by(owner(number)))
            write_folder(into, f"order-{number}", content(number), taken=taken)


def sweeps(into: Path, stop: object) -> None:
    while not stop.is_set():  # type: ignore[attr-defined]
        tidy(into)


def held(place: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in place.iterdir()}


def left(into: Path) -> list[str]:
    return sorted(path.name for path in into.iterdir() if path.name not in LOCKS)


def test_many_drafts_beside_frequent_sweeps(tmp_path: Path) -> None:
    context = multiprocessing.get_context("forkserver")
    for round_ in range(times()):
        into = tmp_path / f"{round_}"
        into.mkdir()
        stop = context.Event()
        firsts = [1000 * k for k in range(WRITERS)]
        sweeper = context.Process(target=sweeps, args=(into, stop))
        writers = [context.Process(target=writes, args=(into, first)) for first in firsts]
        for process in (sweeper, *writers):
            process.start()
        for process in writers:
            process.join()
        stop.set()
        sweeper.join()
        assert [process.exitcode for process in (*writers, sweeper)] == [0] * (WRITERS + 1)
        numbers = [first + k for first in firsts for k in range(FOLDERS)]
        assert left(into) == sorted(f"order-{number}" for number in numbers)
        for number in numbers:
            assert held(into / f"order-{number}") == content(number)


def test_what_killed_writers_left_is_cleared_and_nothing_else(tmp_path: Path) -> None:
    context = multiprocessing.get_context("forkserver")
    chance = random.Random(7 if times() == 1 else None)
    half = 0
    for round_ in range(8 * times()):
        into = tmp_path / f"{round_}"
        into.mkdir()
        writers = [context.Process(target=writes, args=(into, first)) for first in (0, 1000)]
        for process in writers:
            process.start()
        end = time.monotonic() + 60
        while not left(into):
            assert time.monotonic() < end
            time.sleep(0.005)
        time.sleep(chance.uniform(0.0, 0.2))
        writers[0].kill()
        writers[0].join()
        half += any(path.is_dir() for path in into.glob(f"{MAKING}*"))
        tidy(into)
        writers[1].join()
        assert writers[0].exitcode in (-signal.SIGKILL, 0)
        assert writers[1].exitcode == 0
        tidy(into)
        assert all(name.startswith("order-") for name in left(into))
        for name in left(into):
            assert held(into / name) == content(int(name.removeprefix("order-")))
        assert len([name for name in left(into) if len(name) > 8]) >= FOLDERS
    assert half


def test_what_is_being_made_is_left_alone_and_a_dead_makers_is_not(tmp_path: Path) -> None:
    dead = tmp_path / f"{MAKING}dead"
    dead.mkdir()
    (dead / "a.txt").write_bytes(b"half")
    with living_name(tmp_path) as living:
        living.mkdir()
        (living / "a.txt").write_bytes(b"half")
        for _ in range(3):
            tidy(tmp_path)
        assert (living / "a.txt").read_bytes() == b"half"
        assert not dead.exists()
    with replaced_file(tmp_path / "summary.csv") as path:
        path.write_bytes(b"whole")
        tidy(tmp_path)
    assert (tmp_path / "summary.csv").read_bytes() == b"whole"
    tidy(tmp_path)
    assert left(tmp_path) == ["summary.csv"]


def test_a_draft_clears_what_a_dead_one_left(tmp_path: Path) -> None:
    (tmp_path / f"{MAKING}dead").mkdir()
    write_folder(tmp_path, "anna", {"a.txt": b"1"})
    assert left(tmp_path) == ["anna"]


def test_files_leave_no_lock_beside_them(tmp_path: Path) -> None:
    write_file(tmp_path / "card.toml", b"1")
    assert [path.name for path in tmp_path.iterdir()] == ["card.toml"]


def test_whoever_never_ends_is_told_of_and_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    holding, stop = threading.Event(), threading.Event()

    def hold() -> None:
        with alone_in(tmp_path):
            holding.set()
            stop.wait(60)

    thread = threading.Thread(target=hold)
    thread.start()
    assert holding.wait(60)
    try:
        patient = alone_in
        monkeypatch.setattr(folder, "alone_in", lambda place: patient(place, patience=0.1))
        with pytest.raises(SheetError, match="another Neckarc has been writing into this folder"):
            write_folder(tmp_path, "anna", {"a.txt": b"1"})
    finally:
        stop.set()
        thread.join()
    assert left(tmp_path) == []
