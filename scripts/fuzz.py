"""Feed spoilt cards, tables, methods and accounts to Neckarc's own readers, and look for faults.

Usage: python scripts/fuzz.py [--count N] [--minutes M] [--seed S] [--state FILE] ...

A fault is anything but an answer in plain words: an exception that is no refusal, a warning, no
answer within some seconds of the processor, a file outside its folder, a number that is none in a
report, markup that came through a name, more memory than allowed. Every input is known by its seed
and number: --only NUMBER does it again. With --state a run that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import faulthandler
import json
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]

from fuzz_inputs import SHARES, spoilt
from fuzz_tries import Guard, Slow, Tries

#: Inputs, or seconds, between two looks at the memory.
_STEP, _LOOK = 100, 10.0
#: Inputs until everything is loaded that ever will be.
_WARM = 1000
#: Seconds by the clock after which even what hears no signal is ended, with its traceback.
_DEAD = 600.0


def main() -> int:
    """Run; exit status 1 when there was a fault."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("--count", type=int, default=1000, help="inputs in all")
    asked.add_argument("--minutes", type=float, default=0.0, help="stop after so many; 0: never")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--kinds", default=",".join(SHARES), help="only these, with commas")
    asked.add_argument("--every-paper", action="store_true", help="all papers of every order")
    asked.add_argument("--patience", type=float, default=5.0, help="seconds of the processor")
    asked.add_argument("--memory", type=float, default=3.0, help="address space, GB")
    asked.add_argument("--state", type=Path, help="where the counts are kept")
    asked.add_argument("--only", type=int, help="do this number again and show what it is")
    wish = asked.parse_args()
    sys.dont_write_bytecode = True
    warnings.simplefilter("error")
    limit = int(wish.memory * 2**30)
    resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
    with tempfile.TemporaryDirectory() as folder:
        run = _Run(wish, Path(folder))
        if wish.only is not None:
            return run.again(wish.only)
        run.all()
    print(run.told())
    return 1 if run.counts["faults"] else 0


class _Run:
    """The counts as they grow."""

    def __init__(self, wish: argparse.Namespace, folder: Path) -> None:
        self._wish = wish
        self._kinds = tuple(wish.kinds.split(","))
        self._guard = Guard(folder)
        self._tries = Tries(folder, wish.every_paper)
        self.counts: dict[str, Any] = {
            **{"seed": wish.seed, "done": 0, "faults": 0, "seconds": 0.0, "slowest": [0.0, -1]},
            **{"ended": {}, "found": {}, "warm_mb": 0, "end_mb": 0, "peak_mb": 0},
        }
        if wish.state and wish.state.exists():
            self.counts = json.loads(wish.state.read_text(encoding="utf-8"))
            if self.counts["seed"] != wish.seed:
                sys.exit("these counts are of another seed")

    def all(self) -> None:
        """Every input that is still to be done."""
        counts, wish = self.counts, self._wish
        ended, begun, number = Counter(counts["ended"]), time.monotonic(), counts["done"]
        first, so_far, told, kept = number, counts["seconds"], begun, begun
        while number < wish.count:
            self._one(number, ended)
            number += 1
            now = time.monotonic()
            if number % _STEP and number < wish.count and now - kept < _LOOK:
                continue
            kept = now
            counts |= {"done": number, "ended": dict(ended), "seconds": so_far + now - begun}
            self._weigh(number - first)
            self._keep()
            if now - told > 60:
                told = now
                print(self.told(), flush=True)
            if wish.minutes and counts["seconds"] > 60 * wish.minutes:
                break

    def again(self, number: int) -> int:
        """One input once more, and what it is."""
        kind, data = spoilt(self._wish.seed, number, self._kinds)
        print(f"{kind}, {len(data)} bytes:\n{data[:4000]!r}")
        with self._guard.over(self._wish.patience):
            print(self._tries.one(kind, data))
        return 0

    def _one(self, number: int, ended: Counter[str]) -> None:
        kind, data = spoilt(self._wish.seed, number, self._kinds)
        faulthandler.dump_traceback_later(_DEAD, exit=True)
        begun = time.process_time()
        try:
            with self._guard.over(self._wish.patience):
                how = self._tries.one(kind, data)
        except (Exception, Slow) as error:
            self._fault(error, number, kind)
            how = "FAULT"
            self._tries.tidy()
        took = round(time.process_time() - begun, 3)
        ended[f"{kind}: {how}"] += 1
        if took > self.counts["slowest"][0] and number > _WARM // 10:
            self.counts["slowest"] = [took, number]

    def _fault(self, error: BaseException, number: int, kind: str) -> None:
        """Note a fault once for every place it comes from."""
        self.counts["faults"] += 1
        frames = [f for f in traceback.extract_tb(error.__traceback__) if str(ROOT) in f.filename]
        where = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else "?"
        name = f"{kind} {type(error).__name__} {where}"
        if isinstance(error, AssertionError):
            name += f" {str(error)[:80]}"
        if name not in self.counts["found"]:
            self.counts["found"][name] = {"number": number, "said": str(error)[:500], "times": 0}
            print(f"FAULT in number {number}: {name}: {str(error)[:500]}", flush=True)
        self.counts["found"][name]["times"] += 1

    def _weigh(self, since: int) -> None:
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        pages = Path("/proc/self/statm")
        now = peak
        if pages.exists():
            now = int(pages.read_text().split()[1]) * resource.getpagesize() // 2**20
        self.counts["peak_mb"] = max(peak, self.counts["peak_mb"])
        self.counts["end_mb"] = now
        if since <= _WARM or not self.counts["warm_mb"]:
            self.counts["warm_mb"] = now

    def _keep(self) -> None:
        if self._wish.state:
            beside = self._wish.state.with_suffix(".new")
            beside.write_text(json.dumps(self.counts, indent=1), encoding="utf-8")
            beside.replace(self._wish.state)

    def told(self) -> str:
        """The counts in words."""
        c = self.counts
        lines = [
            f"{c['done']} inputs in {c['seconds'] / 60:.1f} minutes (seed {c['seed']}), "
            f"{c['faults']} faults of {len(c['found'])} sorts; "
            f"slowest {c['slowest'][0]:.2f} s (number {c['slowest'][1]}); memory {c['warm_mb']} MB "
            f"when warm, {c['end_mb']} MB at the end, {c['peak_mb']} MB at most"
        ]
        lines += [f"  {count:8} {how}" for how, count in sorted(c["ended"].items())]
        return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
