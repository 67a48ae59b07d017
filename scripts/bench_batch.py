"""What a batch costs by its length: seconds a row, and memory, each beside that of 100 rows.

Usage: python scripts/bench_batch.py [ROWS ...] [--cores N] [--papers KIND] [--folder PLACE]

Without ROWS: 10, 100 and 1000; 10000 takes a quarter of an hour and more. Seconds are those of the
processor, of all processes together, so that other work on the machine counts little. What every
batch pays once to start is taken off by a batch of a single row. Linux only.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]

from batch_runs import Seen, run, write_rows
from orders import orders

#: What the others are compared with.
_REFERENCE = 100


def main() -> int:
    """Run the batches and print the table."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("rows", type=int, nargs="*", default=[10, 100, 1000])
    asked.add_argument("--cores", type=int, default=2)
    asked.add_argument("--papers", default="checks")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--folder", type=Path, help="where to work; it is emptied at the end")
    wish = asked.parse_args()
    with tempfile.TemporaryDirectory(dir=wish.folder) as folder:

        def batch(rows: int) -> Seen:
            table = write_rows(Path(folder) / "orders.csv", orders(rows, wish.seed))
            seen = run(table, Path(folder) / "out", wish.cores, wish.papers)
            shutil.rmtree(Path(folder) / "out")
            return seen

        batch(1)  # whatever has to be read from the disk once
        start = batch(1).cpu_seconds
        print(f"papers {wish.papers}, {wish.cores} processes; a batch of one row: {start:.1f} s")
        print(
            f"{'rows':>6}{'by the clock':>14}{'s a row':>10}{'ratio':>8}"
            f"{'parent':>10}{'a worker':>10}{'all':>10}{'ratio':>8}"
        )
        known: dict[int, Seen] = {}
        for rows in sorted({_REFERENCE, *wish.rows}, key=lambda n: (n != _REFERENCE, n)):
            known[rows] = seen = batch(rows)
            each, usual = ((known[n].cpu_seconds - start) / n for n in (rows, _REFERENCE))
            print(
                f"{rows:6}{seen.seconds:12.0f} s{each:10.4f}{each / usual:8.2f}"
                f"{seen.parent_mb:7.0f} MB{seen.worker_mb:7.0f} MB{seen.all_mb:7.0f} MB"
                f"{seen.all_mb / known[_REFERENCE].all_mb:8.2f}",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
