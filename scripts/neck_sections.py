"""The girth of the neck where a stand's top edge lies, as Neckarc has it, against bodies that were
sectioned there.

Usage: python scripts/neck_sections.py SECTIONS.csv

One row a body, centimetres: base_girth, neck_girth, lean_deg, height_side (chain to neck girth, up
the side) and top_edge_girth_strip_1 to _4, the girth at the top edge of an even strip so high that
stands square to the neck base line. Told at stands of 2, 3 and 4 cm: the mean of how much thicker
the neck is taken to be than it is, its standard deviation, and on how many the collar would be more
than half a centimetre too tight. First a straight line to a neck height of 4.5 cm, as it was worked
out before there was a reading at the collar's top. Exit status 1 when a girth taped at a stand's
own height is not met there.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import exp, isnan, nan, pi, radians, sin
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np

from blocks.body.measures import measurements
from blocks.neck.measures import NeckShape, neck_figures
from blocks.neck.surface import neck_surface
from drafting.errors import DraftError
from drafting.tolerances import SEAM

STANDS, STRIPS = (2.0, 3.0, 4.0), (1, 2, 3, 4)
#: The neck height and the steepest taper before.
LINE, STEEPEST = 4.5, radians(35.0)
#: How the base lies under a block: its share behind the shoulder, its drop to the front (cm).
RING = (0.41, 6.6)
#: More than this too tight is felt.
TIGHT = 0.5


@dataclass(frozen=True)
class Sectioned:
    """A body: its ``neck`` with the girth at the top estimated, ``neck_girth``, the height up the
    ``side`` at which that was taken, and the girth of ``strips`` by their height."""

    neck: NeckShape
    neck_girth: float
    side: float
    strips: Mapping[float, float]

    def taped(self, height: float, wrong: float = 0.0) -> NeckShape:
        """Its neck with the girth taped so high, or ``wrong`` by so much without it being known.
        Between sections the girth falls as an exponential; above the highest it is not known."""
        known = sorted(self.strips, reverse=True)
        falls = [exp(-one / neck_figures()["flare"]) for one in known]
        girths = [self.strips[one] for one in known]
        at = exp(-(height + wrong) / neck_figures()["flare"])
        girth = float(np.interp(at, falls, girths, left=nan))
        return replace(self.neck, top_girth=girth, top_height=height, estimated=())

    def line(self, height: float) -> float:
        """Its girth by a straight line to the neck height."""
        left = max(1.0 - height / LINE, 0.0)
        return self.neck_girth + left * (self.neck.base_girth - self.neck_girth)


def sectioned(row: Mapping[str, str]) -> Sectioned:
    """A body of a row."""
    base, neck = float(row["base_girth"]), float(row["neck_girth"])
    (rule,) = measurements()["collar_top_girth"].estimates
    shape = NeckShape(
        base,
        rule.value({"neck_base_girth": base, "neck_girth": neck}),
        neck_figures()["top_height"],
        radians(float(row["lean_deg"])),
        *RING,
        neck_figures()["half_width"] * base / (2.0 * pi),
        neck_figures()["side_rise"],
        estimated=("collar_top_girth",),
    )
    strips = {0.0: base}
    for height in STRIPS:
        if girth := row[f"top_edge_girth_strip_{height}"]:
            strips[float(height)] = float(girth)
    return Sectioned(shape, neck, float(row["height_side"]), strips)


def reached(shape: NeckShape, height: float) -> float:
    """The girth of its surface where an even strip so high reaches; nan where it was not taped."""
    if isnan(shape.top_girth):
        return nan
    return neck_surface(shape, height).reached(lambda shares: np.full_like(shares, height))


def told(bodies: list[Sectioned], girth: Callable[[Sectioned, float], float]) -> str:
    """Mean, standard deviation and how many are too tight, at each stand."""
    cells = []
    for height in STANDS:
        off = np.array(
            [girth(one, height) - one.strips[height] for one in bodies if height in one.strips]
        )
        off = off[np.isfinite(off)]
        if not len(off):
            cells.append("not sectioned")
            continue
        cells.append(
            f"{off.mean():+.2f} ({off.std():.2f}), {int((off < -TIGHT).sum())} of {len(off)}"
        )
    return " | ".join(cells)


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0] if __doc__ else "")
    parser.add_argument("sections", type=Path, help="CSV, one row a body")
    with parser.parse_args().sections.open(newline="", encoding="utf-8") as file:
        every = [sectioned(row) for row in csv.DictReader(file)]
    bodies = []
    for one in every:
        try:
            for height in STANDS:
                reached(one.neck, height)
        except DraftError as error:
            print(f"left out: {error.problems[0].said}")
            continue
        bodies.append(one)
    missed = max(
        abs(reached(one.taped(height), height) - girth)
        for one in bodies
        for height, girth in one.strips.items()
        if height in STANDS
    )
    steep = sum(
        one.neck.base_girth - one.neck_girth > 2.0 * pi * max(one.side, 0.0) * sin(STEEPEST)
        for one in every
    )
    ways: dict[str, Callable[[Sectioned, float], float]] = {
        "before: a line to a neck height of 4.5": lambda one, h: one.line(h),
        "not taped, estimated": lambda one, h: reached(one.neck, h),
        "taped at the stand's height": lambda one, h: reached(one.taped(h), h),
        "taped 0.5 too high": lambda one, h: reached(one.taped(h, 0.5), h),
        "taped 0.5 too low": lambda one, h: reached(one.taped(h, -0.5), h),
        "taped at 3, used at the stand's height": lambda one, h: reached(one.taped(3.0), h),
    }
    print(
        f"{len(bodies)} bodies of {len(every)}; neck taken thicker than it is, cm: mean (standard"
    )
    print(f"deviation), how many more than {TIGHT} too tight")
    print("| | " + " | ".join(f"stand of {height:g} cm" for height in STANDS) + " |")
    print("| --- |" + " --- |" * len(STANDS))
    for name, girth in ways.items():
        print(f"| {name} | {told(bodies, girth)} |")
    print(f"before, a neck height taken up the side was refused on {steep} of {len(every)}")
    print(f"girth taped at the stand's height, met to {missed:.1e} cm")
    return 0 if missed <= SEAM else 1


if __name__ == "__main__":
    sys.exit(main())
