"""Draft every woman of a public body survey with both methods and every collar, and say what
happened.

Usage: python scripts/population.py SURVEY.csv [--every N] [--collar KIND ...] [--fast]

The CSV carries the column names of the ANSUR II public file (US Army 2010-12), millimetres. What
the survey did not measure is estimated by the rules of data/measurements.toml, and its waist,
taken at the navel, is brought to the waist level of ISO 8559-1 as data/survey says.

First necklines, corrections and a collar with a stand, as `neckarc survey` tells them. Then, unless
--fast, outlines, seams and all: each collar on the neckline it is made for, with a button stand of
1.5 cm.
"""

from __future__ import annotations

import argparse
import csv
import os
import sys
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up, seams
from blocks.bodice.methods import method_names
from blocks.body.body import Body, complete
from blocks.body.populations import survey_columns
from blocks.neckline.on_block import NeckChange
from collars.drafts import CollarBase
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.pieces.checks import failed
from drafting.pieces.piece import Piece, Seam, seam_mismatch
from workroom.survey.study import read_survey, study
from workroom.survey.words import study_lines

OFF = 1.0  # a neckline farther than this from the neck base girth is counted


BUTTON_STAND = 1.5


@dataclass
class Tally:
    """What became of the drafts of one kind: a method's blocks, or a collar on them."""

    drafted: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    errors: Counter[str] = field(default_factory=Counter)
    crossing: int = 0
    failing: Counter[str] = field(default_factory=Counter)
    worst_seam: float = 0.0

    def look_over(self, pieces: tuple[Piece, ...], sewn: tuple[Seam, ...]) -> None:
        """Outlines and seams of what was drafted."""
        for piece in pieces:
            ring = Polygon(piece.outline())
            self.crossing += not (ring.is_valid and ring.exterior.is_ccw)
        for seam in sewn:
            self.worst_seam = max(self.worst_seam, abs(seam_mismatch(pieces, seam)))

    def add(self, other: Tally) -> None:
        """Take in another account of the same kind."""
        self.drafted += other.drafted
        self.refused += other.refused
        self.errors += other.errors
        self.crossing += other.crossing
        self.failing += other.failing
        self.worst_seam = max(self.worst_seam, other.worst_seam)


@dataclass
class Account:
    """One woman, or all of them, by one method."""

    block: Tally = field(default_factory=Tally)
    collars: dict[str, Tally] = field(default_factory=dict)
    misses: list[float] = field(default_factory=list)
    off_before: int = 0
    off_after: int = 0
    fits: Counter[str] = field(default_factory=Counter)

    def add(self, other: Account) -> None:
        """Take in another account."""
        self.block.add(other.block)
        for kind, tally in other.collars.items():
            self.collars.setdefault(kind, Tally()).add(tally)
        self.misses += other.misses
        self.off_before += other.off_before
        self.off_after += other.off_after
        self.fits += other.fits


def women(path: Path) -> Iterator[Body]:
    """The bodies of a survey file."""
    with path.open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            yield complete(
                {c.measurement: c.value(float(row[name])) for name, c in survey_columns().items()}
            )


def draft(body: Body, method: str, kinds: tuple[str, ...]) -> Account:
    """One woman: the block as the method draws it, then fitted in proportion, else by what fits,
    and every collar on it."""
    account = Account()
    try:
        fit = _block(body, method, account)
    except DraftError as error:
        account.block.refused[str(error)] += 1
        return account
    except Exception as error:
        account.block.errors[f"{type(error).__name__}: {error}"] += 1
        return account
    drafts: dict[tuple[tuple[str, float | str], ...], BodiceDraft] = {}
    for kind in kinds:
        tally = account.collars.setdefault(kind, Tally())
        try:
            _collar(
                body, BlockWish(method, fit=fit, button_stand=BUTTON_STAND), kind, drafts, tally
            )
            tally.drafted += 1
        except DraftError as error:
            tally.refused["; ".join(problem.said for problem in error.problems)] += 1
        except Exception as error:
            tally.errors[f"{type(error).__name__}: {error}"] += 1
    return account


def _block(body: Body, method: str, account: Account) -> str:
    """The block; the correction that fits its neckline."""
    plain = draft_bodice(body, BlockWish(method, button_stand=BUTTON_STAND))
    account.misses.append(plain.fit.drafted - plain.fit.target)
    account.off_before += abs(plain.fit.off) > OFF
    choices = {c.key: c for c in plain.fit.corrections}
    fit = next((key for key in ("both", "side", "front") if choices[key].change is not None), "")
    if not fit:
        reasons = "; ".join(c.refused for c in plain.fit.corrections)
        raise DraftError(f"no correction reaches this neck: {reasons}")
    account.fits[fit] += 1
    fitted = draft_bodice(body, BlockWish(method, fit=fit, button_stand=BUTTON_STAND))
    account.off_after += abs(fitted.fit.fitted - fitted.fit.target) > OFF
    back, front = make_up(fitted)
    account.block.look_over((back, front), seams(fitted))
    for check in failed(check_bodice(fitted, back, front)):
        account.block.failing[check.name] += 1
    account.block.drafted += 1
    return fit


def _collar(
    body: Body,
    wish: BlockWish,
    kind: str,
    drafts: dict[tuple[tuple[str, float | str], ...], BodiceDraft],
    tally: Tally,
) -> None:
    """One collar on the neckline it is made for."""
    made_for = COLLARS[kind].neckline
    key = tuple(sorted(made_for.items()))
    if key not in drafts:
        drafts[key] = draft_bodice(body, _styled(wish, made_for))
    bodice = drafts[key]
    back, front = make_up(bodice)
    wishes = {"button_stand": BUTTON_STAND} if "button_stand" in COLLARS[kind].parameters else {}
    collar = COLLARS[kind].draft(CollarBase(bodice.neckline, back, front), wishes)
    body_pieces = tuple(collar.bodice.get(piece.code, piece) for piece in (back, front))
    tally.look_over((*body_pieces, *collar.pieces), (*seams(bodice), *collar.seams))
    for check in failed(collar.checks):
        tally.failing[check.name] += 1


def _styled(wish: BlockWish, made_for: Mapping[str, float | str]) -> BlockWish:
    if not made_for:
        return wish
    lower, widen, back = (
        float(made_for.get(key, 0.0)) for key in ("front_lower", "side_widen", "back_lower")
    )
    return replace(
        wish,
        style=NeckChange(-lower, widen, back),
        neck_shape=str(made_for.get("shape", "round")),
    )


def main() -> int:
    """Draft them all and print the account. Exit status 1 when anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("survey", type=Path, help="CSV with the survey's own column names")
    parser.add_argument("--every", type=int, default=1, help="draft every n-th woman only")
    parser.add_argument("--collar", nargs="*", choices=list(COLLARS), help="these collars only")
    parser.add_argument("--fast", action="store_true", help="the fit study only")
    asked = parser.parse_args()
    good = studied(asked.survey)
    if asked.fast:
        return 0 if good else 1
    bodies = list(women(asked.survey))[:: asked.every]
    kinds = tuple(asked.collar or COLLARS)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for method in method_names():
            whole = Account()
            begun = time.perf_counter()
            one = partial(draft, method=method, kinds=kinds)
            for account in pool.map(one, bodies, chunksize=8):
                whole.add(account)
            seconds = time.perf_counter() - begun
            good = report(method, whole, len(bodies), seconds) and good
    return 0 if good else 1


def studied(path: Path) -> bool:
    """The fit study by every method; whether few enough were refused."""
    survey = read_survey(path)
    good = True
    for method in method_names():
        begun = time.perf_counter()
        found = study(survey, method, "band")
        seconds = time.perf_counter() - begun
        print("\n".join(study_lines(found)))
        print(f"({len(found.bust) / seconds:.0f} a second)\n")
        good = good and len(found.reasons) <= 0.01 * len(found.bust)
    return good


def report(method: str, account: Account, count: int, seconds: float) -> bool:
    """Print one method's account; whether nothing went wrong."""
    print(f"\n{method}: {count} women, {count / seconds:.1f} a second with all collars")
    good = _tell("block", account.block, count)
    misses = sorted(account.misses)
    if misses:
        middle = misses[len(misses) // 2]
        low, high = misses[len(misses) // 20], misses[-len(misses) // 20]
        print(
            f"    neckline off the neck base girth by more than {OFF:.0f} cm: "
            f"{100 * account.off_before / len(misses):.1f} % before correction, "
            f"{100 * account.off_after / count:.1f} % after"
        )
        print(f"    off by {middle:+.2f} cm in the middle, 5 to 95 % {low:+.2f} to {high:+.2f} cm")
        print(f"    corrections used: {dict(account.fits)}")
    for kind, tally in account.collars.items():
        good = _tell(kind, tally, count) and good
    refused = sum(account.block.refused.values())
    return good and refused <= 0.01 * count and account.off_after == 0


def _tell(name: str, tally: Tally, count: int) -> bool:
    refused, errors = sum(tally.refused.values()), sum(tally.errors.values())
    print(
        f"  {name}: drafted {tally.drafted} of {count}, refused with a reason {refused}, "
        f"tracebacks {errors}, crossing outlines {tally.crossing}, worst seam mismatch "
        f"{tally.worst_seam:.1e} cm"
    )
    for reason, number in (*tally.refused.most_common(3), *tally.errors.most_common(3)):
        print(f"    {number} x {reason}")
    for check, number in tally.failing.most_common(4):
        print(f"    check failed on {number}: {check}")
    return errors == 0 and tally.crossing == 0 and tally.worst_seam < 0.001


if __name__ == "__main__":
    sys.exit(main())
