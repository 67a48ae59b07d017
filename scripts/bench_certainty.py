"""What the error budget of an order costs, in drafts: `python scripts/bench_certainty.py`.

For every invented client: the time of the draft alone, and how many times that the budget takes,
first as the report has it, then with everything worked out by differences as `neckarc explain` has
it. The best of several rounds.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from drafting.library import data_folder
from workroom.certainty.sure import certainty
from workroom.order import make_order, open_card

_ROUNDS = 7


def best(work: Callable[[], object], rounds: int) -> float:
    """The shortest time of several (seconds of the processor: other work does not count)."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> int:
    """Print the table."""
    print(f"{'client':18}{'draft, ms':>10}{'budget':>10}{'thorough':>10}   left open by the budget")
    for path in sorted((data_folder() / "clients").glob("*.toml")):
        card = open_card(path)
        order = make_order(card)
        left = len(certainty(order).open)
        alone = best(lambda card=card: make_order(card), _ROUNDS)
        budget = best(lambda order=order: certainty(order), _ROUNDS)
        thorough = best(lambda order=order: certainty(order, thorough=True), 1 if left else 2)
        print(
            f"{path.stem:18}{1000 * alone:10.0f}{budget / alone:9.2f}x{thorough / alone:9.1f}x"
            f"   {left} numbers and checks"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
