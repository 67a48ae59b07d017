"""The plug pulled at any moment: after a rerun every order is there, once, whole, and with the very
bytes of an undisturbed run. NECKARC_LONG=N kills N times as often."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.long import times
from tests.workroom.batch.tables import finished_in, left, many
from workroom.batch.run import run_batch
from workroom.batch.table import open_table
from workroom.folder.folder import swap_own, write_folder
from workroom.folder.locks import LOCKS
from workroom.folder.record import FILE, Owner, owned_by, record_bytes

ROOT = Path(__file__).resolve().parents[3]
ROWS, KILLS = 3, 30
#: Rows of a batch of several processes.
MANY = 16


def start(target: object, *given: object, **named: object) -> multiprocessing.process.BaseProcess:
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["workroom.batch.run"])
    process = context.Process(target=target, args=given, kwargs=named)  # type: ignore[arg-type]
    process.start()
    return process


def test_killed_at_random_and_run_again(tmp_path: Path) -> None:
    """Only those count that were still at work when they were killed; some batches are killed
    twice before they are run to their end."""
    orders = open_table(many(tmp_path / "orders.csv", ROWS))
    for name in ("cold", "undisturbed"):
        begun = time.perf_counter()
        start(run_batch, orders, tmp_path / name, cores=1, kinds=("checks",)).join()
        whole = time.perf_counter() - begun
    wanted = left(tmp_path / "undisturbed")
    assert finished_in(tmp_path / "undisturbed") == ROWS
    chance = random.Random(7 if times() == 1 else None)
    killed, half, number = 0, 0, 0
    while killed < KILLS * times():
        number += 1
        assert number < 10 * KILLS * times(), "they are always done before they are killed"
        into = tmp_path / f"batch-{number}"
        for _ in range(chance.choice((1, 2))):
            process = start(run_batch, orders, into, cores=1, kinds=("checks",))
            time.sleep(chance.uniform(0.0, whole))
            process.kill()
            process.join()
            killed += process.exitcode == -signal.SIGKILL
            half += finished_in(into) not in (0, ROWS) or any(into.glob(".making-*"))
        run_batch(orders, into, cores=1, kinds=("checks",))
        assert left(into) == wanted
    assert half > KILLS * times() // 10


def test_a_swap_killed_at_random_leaves_the_old_or_the_new(tmp_path: Path) -> None:
    """And a file of the maker's in either."""
    owner = Owner("order", "Anna", "2026-03-14", "", "anna.toml", "0")
    old, new = ({f"{k}.txt": text * 50_000 for k in range(4)} for text in (b"old", b"new"))
    for files in (old, new):
        files[FILE] = record_bytes(owner, files)
    taken = swap_own(owned_by(owner))
    write_folder(tmp_path, "anna", old)
    (tmp_path / "anna" / "my-notes.txt").write_bytes(b"mine")
    chance = random.Random(7 if times() == 1 else None)
    for _ in range(10 * times()):
        process = start(write_folder, tmp_path, "anna", new, taken=taken)
        time.sleep(chance.uniform(0.0, 0.15))
        process.kill()
        process.join()
        held = {path.name: path.read_bytes() for path in (tmp_path / "anna").iterdir()}
        assert held.pop("my-notes.txt") == b"mine"
        assert held in (old, new)
        write_folder(tmp_path, "anna", old, taken=taken)
        assert [path.name for path in tmp_path.iterdir() if path.name not in LOCKS] == ["anna"]


def test_what_a_lost_worker_left_half_written_is_gone_in_the_end(tmp_path: Path) -> None:
    """Once it lay there until the next run."""
    into = tmp_path / "out"

    def lost(_: object) -> None:
        (into / ".making-of-a-lost-worker").mkdir(exist_ok=True)
        (into / ".making-of-a-lost-worker" / "checks.txt").write_text("hal")

    orders = open_table(many(tmp_path / "orders.csv", 2))
    run_batch(orders, into, cores=1, kinds=("checks",), watch=lost)
    assert not [path for path in into.glob(".*") if path.name not in LOCKS]
    assert finished_in(into) == 2


def command(orders: Path, into: Path, cores: int) -> subprocess.Popen[bytes]:
    words = ["batch", str(orders), "--into", str(into), "--papers", "checks", "--cores", str(cores)]
    return subprocess.Popen(
        [sys.executable, "-m", "workroom", *words],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        # what is started in the background is deaf to Ctrl-C, and so are its children
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )


def wait_for(into: Path, count: int) -> None:
    end = time.monotonic() + 60
    while finished_in(into) < count:
        assert time.monotonic() < end, "nothing happens"
        time.sleep(0.02)


def children(pid: int) -> set[int]:
    """All processes below one, by /proc; where there is none, nothing."""
    found: set[int] = set()
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            words = stat.read_text().rpartition(")")[2].split()
            if int(words[1]) == pid:
                found |= {int(stat.parent.name)} | children(int(stat.parent.name))
    return found


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes]]:
    """A table, and what a batch of it leaves when nobody disturbs it."""
    base = tmp_path_factory.mktemp("undisturbed")
    orders = many(base / "orders.csv", MANY)
    run_batch(open_table(orders), base / "out", cores=1, kinds=("checks",))
    return orders, left(base / "out")


@pytest.mark.parametrize("how", ["the whole batch", "one worker", "politely"])
def test_a_batch_of_several_processes_killed(
    tmp_path: Path, undisturbed: tuple[Path, dict[str, bytes]], how: str
) -> None:
    """Killed whole, its workers end by themselves; a worker killed is replaced and the row done
    again; Ctrl-C says how to go on. In the end all is there."""
    table, wanted = undisturbed
    orders = tmp_path / table.name
    orders.write_bytes(table.read_bytes())
    batch = command(orders, tmp_path / "out", 2)
    wait_for(tmp_path / "out", 1)
    below = children(batch.pid)
    if how == "one worker":
        workers = {pid for pid in below if pid not in children_of_server(batch.pid, below)}
        os.kill(max(workers), signal.SIGKILL)
        said, _ = batch.communicate(timeout=120)
        assert batch.returncode == 0, said.decode()
    else:
        batch.send_signal(signal.SIGKILL if how == "the whole batch" else signal.SIGINT)
        said, _ = batch.communicate(timeout=60)
        assert batch.returncode == (-signal.SIGKILL if how == "the whole batch" else 130)
        assert how == "the whole batch" or b"Run the same command again" in said
        assert b"Traceback" not in said
        end = time.monotonic() + 20
        while any(Path(f"/proc/{pid}").exists() for pid in below):
            assert time.monotonic() < end, "workers outlive their batch"
            time.sleep(0.05)
        assert finished_in(tmp_path / "out") < MANY
        run_batch(open_table(orders), tmp_path / "out", cores=1, kinds=("checks",))
    assert left(tmp_path / "out") == wanted


def children_of_server(batch: int, below: set[int]) -> set[int]:
    """Those right below the batch: helpers that start workers, and do no row themselves."""
    direct = set()
    for pid in below:
        with contextlib.suppress(OSError):
            words = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
            if int(words[1]) == batch:
                direct.add(pid)
    return direct
