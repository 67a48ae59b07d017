"""What the error budget of an order costs, in drafts: `python scripts/bench_certainty.py`.

For every invented client: the time of the draft alone, and how many times that the budget takes,
first as the report has it, then with everything worked out by differences as `neckarc explain` has
it. The best of several rounds.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from drafting.library import data_folder
from garment.garment import Garment, make_garment
from garment.wishes import Commission
from workroom.card.card import open_card
from workroom.certainty.sure import certainty

_ROUNDS = 7
Result = TypeVar("Result")


def best(work: Callable[[Garment], object], orders: Sequence[Garment]) -> float:
    """The shortest time of several (seconds of the processor: other work does not count)."""
    return min(timed(lambda order=order: work(order))[0] for order in orders)


def timed(work: Callable[[], Result]) -> tuple[float, Result]:
    """How long it takes (seconds of the processor), and what comes out."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def varied(card: Commission, k: int) -> Commission:
    """The card, a hair changed, so that nothing kept from a draft before is of use."""
    changed = {key: value + 1e-7 * k for key, value in card.measurements.items()}
    return replace(card, measurements=changed)


def main() -> int:
    """Print the table."""
    print(f"{'client':18}{'draft, ms':>10}{'budget':>10}{'thorough':>10}   left open by the budget")
    for path in sorted((data_folder() / "clients").glob("*.toml")):
        card = open_card(path)
        left = len(certainty(make_garment(card)).open)
        cards = [varied(card, k) for k in range(1, _ROUNDS + 1)]
        rounds = [timed(lambda one=one: make_garment(one)) for one in cards]
        alone, orders = min(took for took, _ in rounds), [order for _, order in rounds]
        budget = best(certainty, orders)
        thorough = best(lambda order: certainty(order, thorough=True), orders[: 1 if left else 2])
        print(
            f"{path.stem:18}{1000 * alone:10.0f}{budget / alone:9.2f}x{thorough / alone:9.1f}x"
            f"   {left} numbers and checks"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
