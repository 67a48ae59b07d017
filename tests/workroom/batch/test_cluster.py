"""The same rows on a Dask scheduler with workers in processes of their own, one of them killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.workroom.batch.tables import finished_in, left, many
from workroom.batch.run import run_batch
from workroom.batch.table import open_table
from workroom.commands import neckarc

ROOT = Path(__file__).resolve().parents[3]
ROWS = 24


@contextmanager
def started(*words: str) -> Iterator[subprocess.Popen[bytes]]:
    """A process that is ended at the end."""
    process = subprocess.Popen(
        [sys.executable, *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def until(true: object) -> None:
    end = time.monotonic() + 90
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end, "nothing happens"
        time.sleep(0.02)


def test_a_cluster_that_loses_a_worker_half_way(tmp_path: Path) -> None:
    orders, into = many(tmp_path / "orders.csv", ROWS), tmp_path / "out"
    told = tmp_path / "scheduler.json"
    with ExitStack() as stack:
        command = "from distributed.cli.{0} import main; main()"
        same = ("--no-dashboard", "--scheduler-file", str(told))
        scheduler = command.format("dask_scheduler")
        stack.enter_context(started("-c", scheduler, "--host", "127.0.0.1", "--port", "0", *same))
        worker = ("-c", command.format("dask_worker"), "--no-nanny", "--nthreads", "1", *same)
        scratch = [("--local-directory", str(tmp_path / name)) for name in ("a", "b")]
        workers = [stack.enter_context(started(*worker, *where)) for where in scratch]
        until(lambda: told.exists() and told.read_text().strip().endswith("}"))
        address = json.loads(told.read_text())["address"]
        words = ["batch", str(orders), "--into", str(into), "--papers", "checks"]
        batch = stack.enter_context(started("-m", "workroom", *words, "--scheduler", address))
        until(lambda: finished_in(into) >= 2)
        os.kill(workers[0].pid, signal.SIGKILL)
        at_the_kill = finished_in(into)
        assert batch.wait(timeout=120) == 0
        assert workers[1].poll() is None
    run_batch(open_table(orders), tmp_path / "undisturbed", cores=1, kinds=("checks",))

    assert at_the_kill < ROWS
    assert left(into) == left(tmp_path / "undisturbed")


@pytest.mark.parametrize("address", ["nonsense", "tcp://127.0.0.1:1"])
def test_nobody_at_the_address(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("workroom.batch.cluster._PATIENCE", 0.5)
    orders = many(tmp_path / "orders.csv", 1)
    words = ["batch", str(orders), "--into", str(tmp_path / "out"), "--scheduler", address]
    result = CliRunner().invoke(neckarc, words)

    assert result.exit_code == 2
    assert "no scheduler answers" in result.output
    assert not (tmp_path / "out").exists()


def test_without_the_library_it_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    orders = many(tmp_path / "orders.csv", 1)
    words = ["batch", str(orders), "--into", str(tmp_path / "out"), "--scheduler", "tcp://a:1"]
    result = CliRunner().invoke(neckarc, words)

    assert result.exit_code == 2
    assert "neckarc[cluster]" in result.output
