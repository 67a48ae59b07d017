"""Draft every woman of a public body survey with both methods, and say what happened.

Usage: python scripts/population.py SURVEY.csv

The CSV carries the column names of the ANSUR II public file (US Army 2010-12), millimetres. What
the survey did not measure is estimated by the rules of data/measurements.toml, and its waist,
taken at the navel, is brought to the waist level of ISO 8559-1 as data/survey/women.toml says.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from shapely.geometry import Polygon

from blocks.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.body import Body, complete
from blocks.checks import check_bodice
from blocks.making_up import make_up, seams
from blocks.methods import method_names
from collars.drafts import Ground
from collars.registry import COLLARS
from drafting.checks import failed
from drafting.errors import DraftError
from drafting.library import read_data
from drafting.pieces import Piece, seam_mismatch
from drafting.units import MM_PER_CM

#: Survey column -> measurement, where they are near enough (see data/survey/women.toml).
SAME = {
    "stature": "stature",
    "neckcircumference": "neck_girth",
    "neckcircumferencebase": "neck_base_girth",
    "chestcircumference": "bust_girth",
    "buttockcircumference": "hip_girth",
    "shoulderlength": "shoulder_length",
    "interscyeii": "across_back_width",
    "wristcircumference": "wrist_girth",
}
#: The ISO waist lies this far above the navel on average (survey statistics, derived table).
NAVEL_TO_WAIST = 4.584
OFF = 1.0  # a neckline farther than this from the neck base girth is counted


@dataclass
class Tally:
    """What became of one method's drafts."""

    drafted: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    errors: Counter[str] = field(default_factory=Counter)
    off_before: int = 0
    off_after: int = 0
    misses: list[float] = field(default_factory=list)
    crossing: int = 0
    failing: Counter[str] = field(default_factory=Counter)
    fits: Counter[str] = field(default_factory=Counter)
    worst_seam: float = 0.0
    seconds: float = 0.0


def women(path: Path) -> Iterator[Body]:
    """The bodies of a survey file."""
    mapping = read_data("survey/women").values["waist_mapping"]
    with path.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            taken = {key: float(row[column]) / MM_PER_CM for column, key in SAME.items()}
            navel_waist = float(row["waistcircumference"]) / MM_PER_CM
            taken["waist_girth"] = mapping["intercept"] + mapping["slope"] * navel_waist
            taken["back_waist_length"] = float(row["waistbacklength"]) / MM_PER_CM - NAVEL_TO_WAIST
            yield complete(taken)


def draft(body: Body, method: str, tally: Tally) -> None:
    """Draft one woman: as the method draws it, then fitted in proportion, else by what fits."""
    plain = draft_bodice(body, BlockWish(method, button_stand=1.5))
    neck = plain.fit.target
    tally.misses.append(plain.fit.drafted - neck)
    tally.off_before += abs(plain.fit.off) > OFF
    choices = {c.key: c for c in plain.fit.corrections}
    fit = next((key for key in ("both", "side", "front") if choices[key].change is not None), "")
    if not fit:
        reasons = "; ".join(c.refused for c in plain.fit.corrections)
        raise DraftError(f"no correction reaches this neck: {reasons}")
    tally.fits[fit] += 1
    fitted = draft_bodice(body, BlockWish(method, fit=fit, button_stand=1.5))
    tally.off_after += abs(fitted.fit.fitted - neck) > OFF
    look_over(fitted, tally)
    tally.drafted += 1


def look_over(fitted: BodiceDraft, tally: Tally) -> None:
    """Outlines, seams and checks of a block and its collar."""
    back, front = make_up(fitted)
    collar = COLLARS["two-piece shirt"].draft(
        Ground(fitted.neckline, back, front), {"button_stand": 1.5}
    )
    pieces: tuple[Piece, ...] = (back, front, *collar.pieces)
    for piece in pieces:
        ring = Polygon(piece.outline())
        tally.crossing += not (ring.is_valid and ring.exterior.is_ccw)
    for seam in (*seams(fitted), *collar.seams):
        tally.worst_seam = max(tally.worst_seam, abs(seam_mismatch(pieces, seam)))
    for check in failed(check_bodice(fitted, back, front)):
        tally.failing[check.name] += 1


def main() -> int:
    """Draft them all and print the account. Exit status 1 when anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("survey", type=Path, help="CSV with the survey's own column names")
    parser.add_argument("--every", type=int, default=1, help="draft every n-th woman only")
    asked = parser.parse_args()
    bodies = list(women(asked.survey))[:: asked.every]
    good = True
    for method in method_names():
        tally = Tally()
        begun = time.perf_counter()
        for body in bodies:
            try:
                draft(body, method, tally)
            except DraftError as error:
                tally.refused[str(error)] += 1
            except Exception as error:
                tally.errors[f"{type(error).__name__}: {error}"] += 1
        tally.seconds = time.perf_counter() - begun
        good = report(method, tally, len(bodies)) and good
    return 0 if good else 1


def report(method: str, tally: Tally, count: int) -> bool:
    """Print one method's account; whether nothing went wrong."""
    refused, errors = sum(tally.refused.values()), sum(tally.errors.values())
    misses = sorted(tally.misses)
    print(f"\n{method}: {count} women")
    print(f"  drafted with block and two-piece shirt collar  {tally.drafted}")
    print(f"  refused with a reason            {refused} ({100 * refused / count:.2f} %)")
    for reason, number in tally.refused.most_common(5):
        print(f"    {number} x {reason}")
    print(f"  failed (tracebacks)              {errors}")
    for reason, number in tally.errors.most_common(5):
        print(f"    {number} x {reason}")
    if misses:
        middle = misses[len(misses) // 2]
        low, high = misses[len(misses) // 20], misses[-len(misses) // 20]
        print(
            f"  neckline off the neck base girth by more than {OFF:.0f} cm, before correction  "
            f"{100 * tally.off_before / len(misses):.1f} %"
        )
        print(f"    off by {middle:+.2f} cm in the middle, 5 to 95 % {low:+.2f} to {high:+.2f} cm")
        print(f"  the same after correction        {100 * tally.off_after / count:.1f} %")
        print(f"    corrections used: {dict(tally.fits)}")
    print(f"  outlines that cross themselves   {tally.crossing}")
    print(f"  worst seam mismatch              {tally.worst_seam:.1e} cm")
    print(f"  checks failed                    {dict(tally.failing) or 'none'}")
    print(f"  bodies a second                  {count / tally.seconds:.1f}")
    return (
        errors == 0
        and tally.crossing == 0
        and tally.worst_seam < 0.001
        and refused <= 0.01 * count
        and tally.off_after == 0
    )


if __name__ == "__main__":
    sys.exit(main())
