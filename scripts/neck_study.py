"""How much a collar stand should rise on the women of a public body survey, reckoned from each
neck, beside the rule of thumb.

Usage: python scripts/neck_study.py SURVEY.csv [--every N] [--method NAME] [--to PICTURE.png]

A band 3 high all round on a fitted neckline, 1.5 of room at its closed top edge, drafted as a card
with rise_by = "neck" would be. The CSV carries the column names of the ANSUR II public file (US
Army 2010-12); the girth at the collar's top and the lean, which it has not, are estimated by the
rules of data/measurements.toml, and what another girth there makes of the rise is told too. Exit
status 1 when a closed top edge is not the neck there and its room to 0.01 cm, or anything went
wrong.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "scripts"))

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from population import women

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import Body
from blocks.neck.surface import neck_surface
from blocks.neckline.neckline import Neckline
from collars.stands import band
from collars.stands.stand import StandShape, top_length
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.tolerances import SEAM

HEIGHT, ROOM = 3.0, 1.5
#: Two rules of thumb; common practice has 1 to 2.5.
RULES = (1.5, 2.5)
#: From here on a maker sees or feels it, either way.
OFF = 0.5
#: How much more the girth at the top might be taped than it is estimated.
MORE = (-0.9, -0.45, 0.45, 0.9)
WISHES = {"stand_back": HEIGHT, "finger_ease": ROOM, "ends": "meet"}


@dataclass(frozen=True)
class Woman:
    """One neck: the ``rise`` reckoned from it (as it is, and bent no sooner than at the shoulder),
    how much looser or tighter (less than nothing) than asked each of ``RULES`` closes, and by how
    much the drafted top edge misses the neck and its room."""

    rise: float
    from_shoulder: float
    looser: tuple[float, ...]
    miss: float


def fitted(body: Body, method: str) -> Neckline:
    """The block's neckline, fitted in proportion, else by what fits."""
    plain = draft_bodice(body, BlockWish(method))
    cures = {cure.key: cure for cure in plain.fit.corrections}
    fit = next((key for key in ("both", "side", "front") if cures[key].change is not None), "none")
    return draft_bodice(body, BlockWish(method, fit=fit)).neckline


def rise_of(neckline: Neckline, **more: float) -> tuple[float, float]:
    """The rise reckoned for a neckline, measured on the piece, and the closed top edge. Raises
    :class:`DraftError`."""
    collar = band.draft(neckline, {**WISHES, **more, "rise_by": "neck"})
    (rise,) = [one.measured for one in collar.checks if one.name == "rise at centre front"]
    return rise, collar.numbers["closed_top_girth"]


def look_at(neckline: Neckline) -> Woman:
    """Everything about one neckline and its neck. Raises :class:`DraftError`."""
    assert neckline.neck is not None
    rise, closed = rise_of(neckline)
    wanted = neckline.neck.girth_at(HEIGHT) + ROOM
    return Woman(rise, rise_of(neckline, straight_back=1.0)[0], looser(neckline), closed - wanted)


def looser(neckline: Neckline) -> tuple[float, ...]:
    """How much more than neck and room (less than nothing: tighter) each rule closes."""
    assert neckline.neck is not None
    wanted = neckline.neck.girth_at(HEIGHT) + ROOM
    shapes = (StandShape(HEIGHT, HEIGHT, rise, neckline.back_arc) for rise in RULES)
    return tuple(2.0 * top_length(neckline, shape) - wanted for shape in shapes)


def thicker(necklines: list[Neckline], more: float) -> Iterator[float]:
    """The rise of each, were the girth at the top so much more; left out where there is none."""
    for neckline in necklines:
        assert neckline.neck is not None
        try:
            neck = replace(neckline.neck, top_girth=neckline.neck.top_girth + more)
            yield rise_of(replace(neckline, neck=neck))[0]
        except DraftError:
            continue


def spread(values: FloatArray | list[float]) -> str:
    """The middle and the 5th and 95th percentile."""
    low, middle, high = np.percentile(values, (5, 50, 95))
    return f"{middle:.2f} in the middle, 5 to 95 % {low:.2f} to {high:.2f}"


def report(found: list[Woman], off_rules: list[tuple[float, ...]], refused: Counter[str]) -> bool:
    """Print the account; whether every closed top edge is what it should be."""
    print(f"  reckoned for {len(found)}, refused with a reason {sum(refused.values())}")
    for reason, count in refused.most_common():
        print(f"    {count} x {reason}")
    print(f"  rise: {spread([one.rise for one in found])}")
    print(f"  rise, bent from the shoulder: {spread([one.from_shoulder for one in found])}")
    for k, rule in enumerate(RULES):
        off = np.array([one[k] for one in off_rules])
        print(
            f"  a rise of {rule} for all {len(off)}: more than {OFF} loose "
            f"{100 * np.mean(off > OFF):.1f} %, tight {100 * np.mean(off < -OFF):.1f} %; less than "
            f"a room of 1 for {100 * np.mean(off < 1.0 - ROOM):.1f} %"
        )
    worst = max(abs(one.miss) for one in found)
    print(f"  closed top edge less neck and room: at most {worst:.1e} cm")
    return worst <= SEAM


def picture(found: list[Woman], off_rules: list[tuple[float, ...]]) -> Figure:
    """Left the rises, right what the rules leave at the closed top edge."""
    figure = Figure(figsize=(11, 4.2), layout="constrained")
    FigureCanvasAgg(figure)
    left, right = figure.subplots(1, 2)
    rises = np.array([one.rise for one in found])
    left.hist(rises, bins=np.arange(0.0, 3.76, 0.25), color="0.75", edgecolor="black")
    _tell(left, "Rise of a band 3 cm high, reckoned from each neck", "rise at centre front, cm")
    left.set_ylim(top=1.18 * left.get_ylim()[1])
    top = left.get_ylim()[1]
    for value, style, said, side in (
        (float(np.median(rises)), "-", f"middle {np.median(rises):.2f}", "right"),
        (RULES[1], "--", f"rule {RULES[1]}", "left"),
    ):
        left.axvline(value, color="black", linewidth=1.6, linestyle=style)
        left.text(value + (0.05 if side == "left" else -0.05), 0.97 * top, said, va="top", ha=side)
    bins = np.arange(-3.0, 3.01, 0.25)
    for k, (rule, style) in enumerate(zip(RULES, ("-", "--"), strict=True)):
        off = np.clip([one[k] for one in off_rules], bins[0], bins[-1])
        right.hist(
            off, bins=bins, histtype="step", color="black", linestyle=style, linewidth=1.4,
            label=f"rise {rule} for all",
        )  # fmt: skip
    right.set_ylim(top=1.25 * right.get_ylim()[1])
    right.axvspan(-OFF, OFF, color="0.9", zorder=0)
    right.legend(frameon=False, loc="upper left")
    _tell(
        right,
        "Closed top edge against the neck there and 1.5 cm of room",
        "tighter than asked  |  looser, cm",
    )
    return figure


def _tell(axes: Axes, title: str, below: str) -> None:
    axes.set_title(title, fontsize=10)
    axes.set_xlabel(below)
    axes.set_ylabel("women")
    axes.spines[["top", "right"]].set_visible(False)


def main() -> int:
    """Reckon them all, print the account, draw the picture."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("survey", type=Path, help="CSV with the survey's own column names")
    parser.add_argument("--every", type=int, default=1, help="every n-th woman only")
    parser.add_argument("--method", choices=method_names(), default=method_names()[0])
    parser.add_argument("--to", type=Path, default=ROOT / "docs" / "neck-rise.png")
    asked = parser.parse_args()
    bodies = list(women(asked.survey))[:: asked.every]
    necklines, found, off_rules, refused = [], [], [], Counter[str]()
    ring = 0.0
    for body in bodies:
        try:
            neckline = fitted(body, asked.method)
            assert neckline.neck is not None
            surface = neck_surface(neckline.neck, HEIGHT)
            ring = max(ring, abs(surface.girth(0.0) - body["neck_base_girth"]))
            off = surface.reached(lambda s: np.full_like(s, HEIGHT)) - neckline.neck.girth_at(
                HEIGHT
            )
            ring = max(ring, abs(off))
            off_rules.append(looser(neckline))
            necklines.append(neckline)
            found.append(look_at(neckline))
        except DraftError as error:
            refused[_reason(error)] += 1
    print(f"{asked.method}: {len(bodies)} women")
    print(f"  girths of the surface less those measured: at most {ring:.1e} cm")
    good = report(found, off_rules, refused) and ring <= SEAM
    for more in MORE:
        rises = list(thicker(necklines, more))
        print(f"  were the girth there {more:+.2f}: {spread(rises)} ({len(rises)} women)")
    picture(found, off_rules).savefig(asked.to, dpi=110)
    return 0 if good else 1


def _reason(error: DraftError) -> str:
    """What was refused, without this woman's own numbers."""
    said = "; ".join(problem.said for problem in error.problems)
    return "".join("n" if sign.isdigit() else sign for sign in said).replace("n.n", "n")


if __name__ == "__main__":
    sys.exit(main())
