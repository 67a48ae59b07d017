"""Chances as they are told against drafts made anew: `python scripts/chances.py [--draws N]`.

Twelve invented women, each drafted with a rise by number and with one worked out from her neck.
What was read off her stays, and so do the pieces that are cut from it. Her body is drawn as it may
be: each reading is off by its declared error, what was not taken departs from its estimate as women
do. Bodice, neckline and collar are drafted to that body, and the pieces are held against what the
checks ask for there. The draws are a scrambled Sobol sequence (A. B. Owen, Journal of Complexity
14, 1998). Exit 1 when a chance is off by more than 3 in 100.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path
from statistics import NormalDist

import numpy as np
from scipy.stats import qmc

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from blocks.bodice.checks import BUST_EASE_LEFT
from blocks.body.body import Body
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase
from collars.falls.from_shoulders import OUTER
from collars.parameters import resolve_parameters
from collars.stands.from_neck import ON_NECK, neck_at_top
from collars.stands.stand import stand_shape
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.pieces.checks import Check
from garment.bodice import make_bodice
from garment.garment import draft_collar, make_garment
from garment.wishes import Commission
from workroom.card.card import read_card_text
from workroom.certainty.drafts import moved_body
from workroom.certainty.inputs import Reading
from workroom.certainty.sure import certainty

#: Bust, waist, back waist length, stature; then what else was taken of each invented woman.
WOMEN: Mapping[str, Mapping[str, float]] = {
    "Ada": {"bust_girth": 82, "waist_girth": 64, "back_waist_length": 38.5, "stature": 160,
            "neck_girth": 31.0, "neck_base_girth": 35.0},
    "Bea": {"bust_girth": 86, "waist_girth": 70, "back_waist_length": 40.0, "stature": 168,
            "neck_girth": 31.8, "neck_base_girth": 36.2,
            "collar_top_girth": 33.0, "collar_top_height": 2.75},
    "Cleo": {"bust_girth": 90, "waist_girth": 71, "back_waist_length": 40.6, "stature": 171,
             "neck_girth": 32.4, "neck_base_girth": 36.4, "shoulder_slope": 22},
    "Dora": {"bust_girth": 93, "waist_girth": 78, "back_waist_length": 39.8, "stature": 163,
             "neck_base_girth": 37.0},
    "Elin": {"bust_girth": 96, "waist_girth": 80, "back_waist_length": 41.2, "stature": 166,
             "neck_girth": 33.6, "neck_base_girth": 38.0,
             "collar_top_girth": 34.9, "collar_top_height": 2.75, "neck_lean": 18},
    "Fay": {"bust_girth": 99, "waist_girth": 84, "back_waist_length": 41.0, "stature": 161,
            "neck_girth": 34.0, "neck_base_girth": 38.2,
            "collar_top_girth": 35.2, "collar_top_height": 2.75},
    "Gwen": {"bust_girth": 103, "waist_girth": 90, "back_waist_length": 42.0, "stature": 169,
             "neck_girth": 34.5, "neck_base_girth": 39.4},
    "Hana": {"bust_girth": 107, "waist_girth": 95, "back_waist_length": 41.5, "stature": 164,
             "neck_base_girth": 39.5,
             "collar_top_girth": 36.2, "collar_top_height": 2.75},
    "Ines": {"bust_girth": 112, "waist_girth": 100, "back_waist_length": 42.4, "stature": 165,
             "neck_girth": 35.6, "neck_base_girth": 40.2, "shoulder_slope": 18},
    "Jo": {"bust_girth": 118, "waist_girth": 108, "back_waist_length": 43.0, "stature": 170,
           "neck_girth": 36.4, "neck_base_girth": 41.0,
           "collar_top_girth": 37.4, "collar_top_height": 2.75, "neck_lean": 20},
    "Kaja": {"bust_girth": 88, "waist_girth": 72, "back_waist_length": 39.0, "stature": 158,
             "neck_girth": 32.6},
    "Lene": {"bust_girth": 91, "waist_girth": 76, "back_waist_length": 42.6, "stature": 178,
             "neck_girth": 32.0, "neck_base_girth": 37.2,
             "collar_top_girth": 33.5, "collar_top_height": 2.75, "neck_lean": 9},
}  # fmt: skip
WAYS = ("number", "neck")
#: The rise (cm) where none closes a collar to the neck, and how far a chance may be off.
USUAL, BOUND = 3.0, 0.03


@dataclass(frozen=True, slots=True)
class Row:
    """One check of one order: the chance told that it does no harm on her and the one drawn, and
    the same for its tolerance on paper; of how many draws."""

    check: str
    harmless: tuple[float, float]
    on_target: tuple[float, float]
    draws: int

    @property
    def worst(self) -> float:
        """How far told and drawn are apart at most."""
        return max(abs(told - drawn) for told, drawn in (self.harmless, self.on_target))


def card_of(name: str, way: str) -> Commission:
    """The card of an invented woman with a shirt collar: its rise by ``number``, the one that the
    check of a usual rise advises, or by her ``neck``, then with a deep fall on her shoulders."""
    if way == "neck":
        return _card(name, 'rise_by = "neck"', 'fall_rise_by = "shoulders"', "fall_back = 5.5")
    collar = make_garment(_card(name, 'rise_by = "rule"')).collar
    assert collar is not None
    return _card(name, f"rise = {collar.numbers.get('rise_for_neck', USUAL):.1f}")


def _card(name: str, *collar: str) -> Commission:
    taken = "\n".join(f"{key} = {value}" for key, value in WOMEN[name].items())
    return read_card_text(
        f'client = "{name}"\ndate = 2026-03-14\nunit = "cm"\n[measurements]\n{taken}\n'
        '[garment]\nmethod = "bust-proportional"\nbutton_stand = 1.5\n'
        '[neckline]\nfit = "both"\nease = 0.5\n[collar]\nkind = "two-piece shirt"\n'
        + "\n".join(collar),
        name,
    )


def told_and_drawn(card: Commission, draws: int, seed: int = 20260314) -> list[Row]:
    """Every check that is compared with her body, as told and as drawn."""
    order = make_garment(card)
    assert order.body is not None
    found = certainty(order)
    bodies = list(_targets(card, found.readings, draws, seed))
    cut = _comparable(order.checks, "measured", order.neckline, order.body)
    rows = []
    for check, one in zip(order.checks, found.checks, strict=True):
        offs = np.array([cut[check.name] - b[check.name] for b in bodies if check.name in b])
        if one.worn is not None and len(offs):
            high = inf if check.least else check.tolerance
            harmless = one.chance, _share(offs, one.worn.low, one.worn.high)
            on_target = one.on_target, _share(offs, -check.tolerance, high)
            rows.append(Row(check.name, harmless, on_target, len(offs)))
    return rows


def _targets(
    card: Commission, known: Mapping[str, Reading], draws: int, seed: int
) -> Iterator[dict[str, float]]:
    """What the checks ask for on her body as it may be; bodies that cannot be drafted are left out.

    The collar of these drafts rises by number, since a neck may ask for a rise that there is not:
    where the top edge lies and how long the line on the shoulders is does not depend on it.
    """
    normal = NormalDist()
    first = ("collar_top_girth", "neck_girth", "neck_base_girth", "shoulder_slope")
    roots = sorted(known, key=lambda root: first.index(root) if root in first else len(first))
    shares = qmc.Sobol(len(roots), seed=seed).random(draws)
    wishes = {**card.collar.values, "rise_by": "number", "fall_rise_by": "number"}
    plain = replace(card, collar=replace(card.collar, values=wishes))
    values, _ = resolve_parameters(card.collar.kind, wishes)
    for row in shares:
        moves = {
            root: known[root].sd * normal.inv_cdf(float(share))
            for root, share in zip(roots, row, strict=True)
        }
        body = moved_body(card.measurements, moves)
        try:
            bodice = make_bodice(card, {}, body)
            collar = draft_collar(
                plain, CollarBase(bodice.draft.neckline, bodice.back, bodice.front)
            )
        except DraftError:
            continue
        assert collar is not None
        line = bodice.draft.neckline
        found = _comparable((*bodice.checks, *collar.checks), "target", line, body)
        girth = neck_at_top(line, stand_shape(line, values))
        if girth is not None:
            found[ON_NECK] = girth + values.number("finger_ease")
        yield found


def _comparable(
    checks: Iterable[Check], side: str, neckline: Neckline, body: Body
) -> dict[str, float]:
    """What checks measure, or their targets, so that those of one order can be held against those
    of another: of the outer edge how much longer it is than the neckline, which is as it was cut;
    an ease that is left with the bust that it is left over."""
    more = {OUTER: -neckline.half, BUST_EASE_LEFT: body["bust_girth"]}
    return {check.name: float(getattr(check, side)) + more.get(check.name, 0.0) for check in checks}


def _share(offs: FloatArray, low: float, high: float) -> float:
    return float(np.mean((offs >= low) & (offs <= high)))


def _task(given: tuple[str, str, int]) -> list[Row]:
    name, way, draws = given
    return told_and_drawn(card_of(name, way), draws)


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("--draws", type=int, default=512)
    parser.add_argument("--every", action="store_true", help="print every check")
    parser.add_argument("--way", choices=WAYS, action="append", help="only these ways of rising")
    given = parser.parse_args()
    orders = [(name, way, given.draws) for name in WOMEN for way in given.way or WAYS]
    worst = 0.0
    print(f"{'':13}{'':48}  no harm on her     within tolerance")
    print(
        f"{'woman, rise':13}{'check':48}{'told':>8}{'drawn':>8}{'told':>10}{'drawn':>8}{'draws':>7}"
    )
    with ProcessPoolExecutor(2) as hands:
        for (name, way, _), rows in zip(orders, hands.map(_task, orders), strict=True):
            for row in rows:
                worst = max(worst, row.worst)
                pairs = (*row.harmless, *row.on_target)
                if given.every or not all(chance in (0.0, 1.0) for chance in pairs):
                    a, b, c, d = (f"{100 * chance:.1f}" for chance in pairs)
                    flag = " <<" if row.worst > BOUND else ""
                    print(
                        f"{name:5}{way:8}{row.check[:47]:48}{a:>8}{b:>8}{c:>10}{d:>8}{row.draws:7}{flag}"
                    )
    print(f"told and drawn apart by at most {100 * worst:.1f} in 100")
    return 0 if worst <= BOUND else 1


if __name__ == "__main__":
    sys.exit(main())
