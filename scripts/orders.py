"""Write a table of orders from bodies like those of a public survey, for trying a batch.

Usage: python scripts/orders.py COUNT FILE.csv [--seed N]

The bodies are drawn from the distribution of data/survey/women.toml; the same seed gives the same
table. Methods and collars take turns.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from blocks.bodice.methods import method_names
from blocks.body.populations import survey
from collars.registry import COLLARS

#: No measurement is farther from the mean, in standard deviations.
FARTHEST = 2.8


def orders(count: int, seed: int) -> Iterator[dict[str, str]]:
    """The rows, one at a time."""
    known = survey()
    chance = np.random.default_rng(seed)
    mixed = np.linalg.cholesky(known.correlation)
    methods, collars = method_names(), ("none", *COLLARS)
    for number in range(count):
        apart = mixed @ chance.standard_normal(len(known.keys))
        apart /= max(1.0, float(np.abs(apart).max()) / FARTHEST)
        body = known.mean + known.sd * apart
        yield {
            "client": f"Client {number + 1}",
            "date": "2026-03-14",
            "order": f"Order {number + 1}",
            "method": methods[number % len(methods)],
            "collar": collars[number % len(collars)],
            **{key: f"{value:.1f}" for key, value in zip(known.keys, body, strict=True)},
        }


def main() -> int:
    """Write the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("count", type=int)
    parser.add_argument("file", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    with asked.file.open("w", newline="", encoding="utf-8") as file:
        writer: csv.DictWriter[str] | None = None
        for row in orders(asked.count, asked.seed):
            if writer is None:
                writer = csv.DictWriter(file, list(row))
                writer.writeheader()
            writer.writerow(row)
    return 0


if __name__ == "__main__":
    sys.exit(main())
