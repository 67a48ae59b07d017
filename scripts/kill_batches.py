"""Kill batches (SIGKILL) at random moments, run them again, and compare what they leave, to the
byte, with what a run leaves that nobody disturbed.

Usage: python scripts/kill_batches.py [--batches N] [--rows N] [--kills N] [--every N] ...

Bodies and orders are those of scripts/orders.py. With --every N only each N-th row is drafted
undisturbed and compared; of the others it is seen that they are there, once, with all their files.
Exit status 1 when anything differs. Linux only.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]

from batch_runs import Seen, finished, left, run, write_rows
from orders import orders

from workroom.batch.run import CSV, HTML
from workroom.folder.record import FILE

#: So many batches have the same table, so that it need not be drafted undisturbed for each.
_SHARED = 20


def main() -> int:
    """Kill, run again, compare, and print the figures."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("--batches", type=int, default=200)
    asked.add_argument("--rows", type=int, default=4, help="orders in each batch")
    asked.add_argument("--kills", type=int, default=1, help="how often each is killed")
    asked.add_argument("--every", type=int, default=1, help="compare each of so many rows")
    asked.add_argument("--cores", type=int, default=1)
    asked.add_argument("--papers", default="checks")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--folder", type=Path, help="where to work; it is emptied at the end")
    wish = asked.parse_args()
    with tempfile.TemporaryDirectory(dir=wish.folder) as folder:
        killing = _Killing(wish, Path(folder))
        for number in range(wish.batches):
            killing.one(number)
        print(killing.told())
    return 1 if killing.wrong else 0


class _Killing:
    def __init__(self, wish: argparse.Namespace, folder: Path) -> None:
        self._wish, self._folder = wish, folder
        self._chance = random.Random(wish.seed)
        self._wanted: dict[str, str] = {}
        self._each_row = 0.0
        self.wrong: list[str] = []
        self.killed = self.half = self.compared = self.orders = 0
        self.most = Seen()

    def one(self, number: int) -> None:
        """One batch: killed, run again, compared."""
        wish = self._wish
        table, into = self._folder / "orders.csv", self._folder / "out"
        if number % _SHARED == 0:
            self._undisturbed(table, wish.seed + number // _SHARED)
        hit = 0
        for kill in count():
            if hit == wish.kills or kill > 5 * wish.kills:
                break
            wanted = self._moment(hit)
            seen = self._watched(run(table, into, wish.cores, wish.papers, wanted))
            hit += seen.status == -signal.SIGKILL
            self.half += finished(into) not in (0, wish.rows) or any(into.glob(".making-*"))
            if wish.rows > 1000:
                print(f"killed with {finished(into)} orders there: {_figures(seen)}", flush=True)
        self.killed += hit
        seen = self._watched(run(table, into, wish.cores, wish.papers))
        if wish.rows > 1000:
            print(f"run to its end: {_figures(seen)}", flush=True)
        self._compare(number, into)
        shutil.rmtree(into)

    def _undisturbed(self, table: Path, seed: int) -> None:
        """The table, and what a run leaves of it (or of each so many of its rows)."""
        wish, into = self._wish, self._folder / "undisturbed"
        rows = list(orders(wish.rows, seed))
        write_rows(table, rows)
        some = table
        if wish.every > 1:  # of the same name, which the records tell
            (self._folder / "some").mkdir(exist_ok=True)
            some = write_rows(self._folder / "some" / table.name, rows[:: wish.every])
            into = some.parent / "undisturbed"
        begun = time.monotonic()
        run(some, into, wish.cores, wish.papers)
        self._each_row = (time.monotonic() - begun) / len(rows[:: wish.every])
        self._wanted = left(into)
        shutil.rmtree(into)

    def _moment(self, hit: int) -> Callable[[float], bool]:
        """When to kill: some time after so many orders are there, each time further on."""
        wish, chance, into = self._wish, self._chance, self._folder / "out"
        parts = [wish.rows * (hit + end) / wish.kills for end in (0, 1)]
        enough = int(chance.uniform(*parts))
        after, reached = chance.uniform(0.0, self._each_row), [0.0]
        looked = [-1.0]

        def now(since: float) -> bool:
            if not reached[0] and since - looked[0] > wish.rows / 20_000:
                looked[0] = since
                if finished(into) >= enough:
                    reached[0] = since
            return bool(reached[0] or enough == 0) and since - reached[0] >= after

        return now

    def _watched(self, seen: Seen) -> Seen:
        for name in ("parent_mb", "worker_mb", "all_mb"):
            setattr(self.most, name, max(getattr(self.most, name), getattr(seen, name)))
        return seen

    def _compare(self, number: int, into: Path) -> None:
        wish, found = self._wish, left(into)
        if wish.every > 1:  # its lines are numbered otherwise
            for name in (CSV, HTML):
                self._wanted.pop(name, None)
        some = {name: said for name, said in found.items() if name in self._wanted}
        differ = [name for name in self._wanted if some.get(name) != self._wanted[name]]
        if wish.every == 1:
            differ += sorted(set(found) - set(self._wanted))
        places = [path for path in into.iterdir() if path.is_dir()]
        for place in places:
            told = json.loads((place / FILE).read_bytes())
            names = {path.name for path in place.iterdir()}
            if names != {FILE, *told["files"]} or place.name.startswith("."):
                differ.append(f"{place.name}: {sorted(names)}")
        lines = (into / CSV).read_bytes().count(b"\n") - 1
        refused = (into / CSV).read_text(encoding="utf-8-sig").count(",refused,")
        if lines != wish.rows or len(places) != wish.rows - refused:
            differ.append(f"{lines} lines, {len(places)} folders, {refused} refused")
        self.wrong += [f"batch {number}: {name}" for name in differ]
        self.compared += len(some)
        self.orders += len(places)

    def told(self) -> str:
        """The figures in words."""
        wish = self._wish
        lines = [
            f"{wish.batches} batches of {wish.rows} orders ({wish.papers}, {wish.cores} processes) "
            f"killed {self.killed} times, {self.half} times with something half done; run again: "
            f"{self.orders} orders there, {self.compared} files compared, "
            f"{len(self.wrong)} things wrong",
            f"most memory: parent {self.most.parent_mb:.0f} MB, a worker "
            f"{self.most.worker_mb:.0f} MB, all together {self.most.all_mb:.0f} MB",
        ]
        return "\n".join(lines + self.wrong[:20])


def _figures(seen: Seen) -> str:
    return (
        f"{seen.seconds:.0f} s by the clock, {seen.cpu_seconds:.0f} s of the processor, "
        f"parent {seen.parent_mb:.0f} MB, worker {seen.worker_mb:.0f} MB, all {seen.all_mb:.0f} MB"
    )


if __name__ == "__main__":
    sys.exit(main())
