"""A batch as a process of its own, watched from outside: what it costs, what it holds, what it
leaves. For the scripts that measure batches and that kill them. Reads /proc, so Linux only."""

from __future__ import annotations

import csv
import hashlib
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
_TICKS = os.sysconf("SC_CLK_TCK")
_BLINK = 0.25
_MB = 2**20


@dataclass
class Seen:
    """What was seen of a batch: seconds by the clock, seconds of the processor by process, the most
    that the parent, any worker, and all together held (MB; all together with what they share
    counted once), and how it ended."""

    seconds: float = 0.0
    cpu: dict[int, float] = field(default_factory=dict)
    parent_mb: float = 0.0
    worker_mb: float = 0.0
    all_mb: float = 0.0
    status: int | None = None

    @property
    def cpu_seconds(self) -> float:
        """Of all processes together."""
        return sum(self.cpu.values())


def write_rows(path: Path, rows: Iterable[dict[str, str]]) -> Path:
    """A table of orders; all rows have the columns of the first."""
    with path.open("w", newline="", encoding="utf-8") as file:
        writer: csv.DictWriter[str] | None = None
        for row in rows:
            if writer is None:
                writer = csv.DictWriter(file, list(row))
                writer.writeheader()
            writer.writerow(row)
    return path


def run(
    orders: Path, into: Path, cores: int, papers: str, stop: Callable[[float], bool] | None = None
) -> Seen:
    """Run ``neckarc batch`` and watch it. ``stop`` is asked every blink, with the seconds since the
    start, whether to kill it (SIGKILL, the parent alone: its workers have to notice)."""
    words = ["batch", str(orders), "--into", str(into), "--papers", papers, "--cores", str(cores)]
    seen, begun = Seen(), time.monotonic()
    batch = subprocess.Popen(
        [sys.executable, "-m", "workroom", *words],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    known: set[int] = set()
    looked = 0.0
    try:
        while batch.poll() is None:
            since = time.monotonic() - begun
            if since - looked > _BLINK:
                looked = since
                known |= _look(batch.pid, seen)
            if stop is not None and stop(since):
                batch.kill()
                batch.wait()
                break
            time.sleep(_BLINK / 20 if stop else _BLINK)
    finally:
        batch.kill()
        batch.wait()
    seen.seconds, seen.status = time.monotonic() - begun, batch.returncode
    end = time.monotonic() + 60
    while any(Path(f"/proc/{pid}").exists() for pid in known):
        assert time.monotonic() < end, "workers outlive their batch"
        time.sleep(0.02)
    return seen


def finished(into: Path) -> int:
    """How many folders of orders there are (hidden ones are not finished)."""
    with suppress(FileNotFoundError), os.scandir(into) as entries:
        return sum(entry.is_dir() and not entry.name.startswith(".") for entry in entries)
    return 0


def left(folder: Path) -> dict[str, str]:
    """Every file below a folder, hidden ones too, but locks, with a hash of its bytes."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".neckarc")
    }


def _look(pid: int, seen: Seen) -> set[int]:
    """Note what a process and all below it hold and have cost by now."""
    family = [pid, *below(pid)]
    together = 0.0
    for one in family:
        with suppress(OSError, ValueError, IndexError):
            words = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()
            seen.cpu[one] = (int(words[11]) + int(words[12])) / _TICKS
            held = int(words[21]) * resource.getpagesize() / _MB
            if one == pid:
                seen.parent_mb = max(seen.parent_mb, held)
            else:
                seen.worker_mb = max(seen.worker_mb, held)
            together += _share(one)
    seen.all_mb = max(seen.all_mb, together)
    return set(family)


def _share(pid: int) -> float:
    for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1]) / 1024
    return 0.0


def below(pid: int) -> list[int]:
    """All processes below one."""
    found: list[int] = []
    for tasks in Path(f"/proc/{pid}/task").glob("*/children"):
        with suppress(OSError):
            for child in map(int, tasks.read_text().split()):
                found += [child, *below(child)]
    return found
