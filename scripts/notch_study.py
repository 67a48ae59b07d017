"""Where the notches of a whole survey come to lie: how far off the cut line, how far along the seam
from what they mark.

Usage: python scripts/notch_study.py SURVEY.csv [--every N] [--collar KIND ...]

Each woman is drafted by both methods with every collar, the rest of the garment by turns. Then the
strokes are measured against the drawn lines alone: the outer end of each snip against the cut line,
and the place of the sew line nearest to it, which is what a maker reads a snip for, against the
marked place. Exit 1 if a notch lies off the cut line or tells a place farther than 2 mm from what
it marks. The CSV has the column names of the ANSUR II public file, as for population.py.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache, partial
from itertools import product
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from population import women

from blocks.bodice.methods import method_names
from blocks.body.body import Body
from collars.registry import COLLARS
from drafting.errors import DraftError
from garment.garment import make_garment
from garment.wishes import Commission
from tests.notch_places import lies
from workroom.card.card import read_card_text

#: Tables of a card, by turns: facings, lengths, necks, darts, allowances that differ.
GARMENTS = (
    "",
    '[garment.finish]\nfacing = "separate"\n',
    '[garment.finish]\nfacing = "cut on"\n[garment.length]\nto = "hip"\n',
    '[garment.darts]\nbust = "side"\n[garment.allowances]\nneckline = 0.6\ncollar = 0.6\n',
    '[garment.darts]\nbust = "waist"\nback = "ease"\n',
    '[garment.darts]\nbust = "shoulder"\nback = "neckline"\n[garment.length]\nto = "hip"\n',
    "[garment.allowances]\nneckline = 1.5\ncollar = 0.7\nfront_edge = 2.0\n",
    '[garment.darts]\nback = "scye"\n[garment.finish]\nfacing = "none"\n',
)
#: Necklines, by turns; a collar made for one of its own takes that.
NECKLINES = (
    'fit = "both"\n',
    "style = { front_lower = 3.0, side_widen = 2.0, back_lower = 1.0 }\n",
    'fit = "both"\n',
    'style = { shape = "v", front_lower = 9.0, side_widen = 0.5 }\n',
    'style = { shape = "square", front_lower = 4.0, side_widen = 1.5 }\n',
)


@dataclass
class Account:
    """What was measured: how many orders and notches, the worst of them, what was refused."""

    orders: int = 0
    notches: int = 0
    holes: int = 0
    off: float = 0.0
    along: float = 0.0
    worst: str = ""
    bad: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)

    def add(self, other: Account) -> None:
        """Take in another account."""
        self.orders += other.orders
        self.notches += other.notches
        self.holes += other.holes
        self.off = max(self.off, other.off)
        if other.along > self.along:
            self.along, self.worst = other.along, other.worst
        self.bad += other.bad
        self.refused += other.refused


@cache
def card(method: str, kind: str, garment: str, neckline: str) -> Commission:
    """A card that asks for a garment; its measurements are those of whoever it is drafted for."""
    return read_card_text(
        'client = "Ann"\ndate = 2026-01-02\n[measurements]\nbust_girth = 92\nwaist_girth = 74\n'
        "back_waist_length = 40\nneck_base_girth = 37\n"
        f'[garment]\nmethod = "{method}"\n{garment}[neckline]\n{neckline}'
        f'[collar]\nkind = "{kind}"\n',
        "card",
    )


def measured(numbered: tuple[int, Body], kinds: tuple[str, ...]) -> Account:
    """One woman by both methods with every collar."""
    number, body = numbered
    account = Account()
    for turn, (method, kind) in enumerate(product(method_names(), kinds)):
        garment = GARMENTS[(number + turn) % len(GARMENTS)]
        neckline = NECKLINES[(number + turn) % len(NECKLINES)]
        drafted = None
        for asked in (neckline, NECKLINES[0], ""):  # a collar may take no other neckline
            try:
                drafted = make_garment(card(method, kind, garment, asked), body)
                break
            except DraftError as error:
                said = error.problems[0].said
        if drafted is None:
            account.refused[said[:70]] += 1
            continue
        account.orders += 1
        for one in (one for piece in drafted.pieces for one in lies(piece)):
            account.notches += 1
            account.holes += one.hole
            account.off = max(account.off, one.off)
            if one.along > account.along:
                account.along, account.worst = one.along, f"{kind}, {one.piece}, {one.name}"
            if not one.good:
                account.bad[f"{kind}, {one.piece}, {one.name}"] += 1
    return account


def main() -> int:
    """Draft and measure them all, and print the account."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("survey", type=Path, help="CSV with the survey's own column names")
    parser.add_argument("--every", type=int, default=1, help="every n-th woman only")
    parser.add_argument("--collar", nargs="*", choices=list(COLLARS), help="these collars only")
    asked = parser.parse_args()
    bodies = list(enumerate(list(women(asked.survey))[:: asked.every]))
    whole = Account()
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        one = partial(measured, kinds=tuple(asked.collar or ("none", *COLLARS)))
        for account in pool.map(one, bodies, chunksize=4):
            whole.add(account)
    print(f"{len(bodies)} women, {whole.orders} orders, {whole.notches} notches, of which")
    print(f"{whole.holes} are drill holes in hollow corners; {sum(whole.bad.values())} are wrong")
    print(f"farthest off the cut line {10 * whole.off:.3f} mm")
    print(f"farthest from what it marks {10 * whole.along:.2f} mm: {whole.worst}")
    for name, number in whole.bad.most_common(20):
        print(f"    wrong on {number}: {name}")
    for reason, number in whole.refused.most_common(8):
        print(f"    refused {number}: {reason}")
    return 1 if whole.bad else 0


if __name__ == "__main__":
    sys.exit(main())
