"""A fit study in words and as a table: what a maker reads of it, and a row a body for spreadsheets.

No name stands in either: a body is called by its line in the table it was read from.
"""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from itertools import product

import numpy as np
from numpy.typing import NDArray

from blocks.bodice.checks import BUST_EASE_LEFT, BUST_LINE, NECKLINE, WAIST
from blocks.bodice.methods import method
from blocks.neckline.fit import Reach
from collars.parameters import collar_sheet
from collars.stands.from_neck import ON_NECK
from collars.stands.neck_room import ROOM
from drafting.geometry.points import FloatArray
from drafting.sentences import written
from drafting.units import CM_PER_INCH, LengthUnit
from workroom.survey.study import AS_DRAFTED, BEFORE, OFF, ORDER, UNREACHED, BoolArray, Study, Tally

_SAID = {
    "front": "raise the front neck point",
    "side": "narrow at the side neck",
    "both": "in proportion",
}
_WHY = {
    Reach.TOO_NARROW: "already as narrow as may be drafted",
    Reach.UNDRAWN: "no curve at the end of its move",
    Reach.STILL_LONG: "moved as far as allowed, still too long",
    Reach.STILL_SHORT: "moved as far as allowed, still too short",
}
_ALWAYS = (BUST_LINE, BUST_EASE_LEFT, WAIST, BEFORE, NECKLINE, ROOM, ON_NECK)
_PARTS = ("small", "middle", "large")
_MOST_REASONS, _MOST_COLUMNS = 8, 8
#: Lengths below this (cm) are told as nothing.
_SEEN = 0.005
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def study_lines(study: Study, unit: LengthUnit = LengthUnit.CM) -> list[str]:
    """The study, a line at a time."""
    said = _Said(unit)
    survey, refused = study.survey, study.refused
    drafted = len(refused) - int(refused.sum())
    collar = "" if study.collar == "none" else f", {collar_sheet(study.collar).title.lower()}"
    lines = [
        f"{survey.name}: {len(refused) + len(survey.unread)} bodies, "
        f"{method(study.method).title.lower()}{collar}, neckline "
        f"{said.length(study.neck_ease)} longer than the neck base girth",
        f"drafted {drafted}, refused {int(refused.sum())}, rows that cannot be read "
        f"{len(survey.unread)}",
    ]
    if survey.left_out:
        some = ", ".join(survey.left_out[:_MOST_COLUMNS])
        more = len(survey.left_out) - _MOST_COLUMNS
        lines.append(f"no measurements, left out: {some}{f' and {more} more' if more > 0 else ''}")
    if drafted:
        lines += ["", *_neckline(study, said), "", *_corrections(study, said)]
        lines += ["", *_checks(study, said), "", *_thirds(study, said)]
    if survey.unread or study.reasons:
        lines += ["", *_reasons(study, unit)]
    return lines


class _Said:
    """Lengths in a unit."""

    def __init__(self, unit: LengthUnit) -> None:
        self._unit = unit
        self._size = CM_PER_INCH if unit is LengthUnit.INCH else 1.0

    def length(self, cm: float, sign: str = "") -> str:
        """A length with its unit."""
        return f"{round(cm / self._size, 2) + 0.0:{sign}.2f} {self._unit.value}"

    def range(self, cm: FloatArray, sign: str = "+") -> str:
        """The middle of many lengths, and where most of them lie."""
        low, middle, high = np.quantile(cm, (0.05, 0.5, 0.95))
        return (
            f"{self.length(float(middle), sign)} median; 90 in 100 lie between "
            f"{self.length(float(low), sign)} and {self.length(float(high), sign)}"
        )


def _share(some: BoolArray, of: int) -> str:
    count = int(some.sum())
    return f"{100.0 * count / max(of, 1):5.1f} % ({count})"


def _neckline(study: Study, said: _Said) -> list[str]:
    off = study.off[~study.refused]
    return [
        "the neckline as the method draws it, against the neck base with its ease",
        f"  off by {said.range(off)} (+ is too long)",
        f"  more than {said.length(OFF)} off: {_share(np.abs(off) > OFF, len(off))}",
    ]


def _corrections(study: Study, said: _Said) -> list[str]:
    good = ~study.refused
    count = int(good.sum())
    lines = ["corrections, and how many bodies each one alone would cure"]
    for key in ORDER[::-1]:
        does = study.reaches(key, Reach.FITS)[good]
        lines.append(f"  {key}: {_SAID[key]}: {_share(does, count)}")
        if does.any():
            for word, moved in (("raised", study.raised(key)), ("narrowed", study.narrowed(key))):
                amounts = moved[good][does]
                if np.abs(amounts).max() >= _SEEN:
                    lines.append(f"    {word} by {said.range(amounts)}")
        for why, words in _WHY.items():
            stopped = study.reaches(key, why)[good]
            if stopped.any():
                lines.append(f"    not: {words}: {_share(stopped, count)}")
    taken = study.taken[good]
    lines.append(f"taken here, the first that reaches ({', then '.join(ORDER)})")
    for key in (AS_DRAFTED, *ORDER, UNREACHED):
        if (taken == key).any():
            plainly = {AS_DRAFTED: "right as drafted", UNREACHED: "none reaches this neck"}
            lines.append(f"  {plainly.get(key, key)}: {_share(taken == key, count)}")
    return lines


def _checks(study: Study, said: _Said) -> list[str]:
    good = ~study.refused
    count = int(good.sum())
    told = _told_checks(study)
    width = max(len(check.name) for check in told)
    lines = ["checks" + " " * (width - 2) + "failed          to look at"]
    for check in told:
        shares = f"{_share(check.failed, count):14}  {_share(check.noted, count)}"
        lines.append(f"  {check.name:{width}}  {shares}")
        if (check.failed | check.noted).any():
            lines.append(f"    off by {said.range(check.off[good])}")
        if check.name in (ROOM, ON_NECK) and np.isfinite(study.rise).any():
            rise = study.rise[np.isfinite(study.rise)]
            lines.append(f"    exact with a rise of {said.range(rise, '')}")
            lines.append(f"    possible for {len(rise)} bodies, no rise closes it for the others")
    if (passed := len(study.checks) - len(told)) > 0:
        lines.append(f"  {passed} other checks passed on every body")
    return lines


def _told_checks(study: Study) -> list[Tally]:
    """The checks of girths and neckline, and those that did not pass on somebody."""
    return [c for c in study.checks if c.name in _ALWAYS or (c.failed | c.noted).any()]


def thirds(values: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
    """Where the lower and upper third of values end (two numbers), and each value's third: 0, 1,
    2."""
    edges = np.quantile(values, (1 / 3, 2 / 3))
    return edges, np.searchsorted(edges, values, "left")


def by_thirds(study: Study) -> Iterator[tuple[int, int, BoolArray]]:
    """Bodies by thirds of the bust and of the neck base: both thirds, and who is in them. Those
    whose bust or neck base is not known are left out."""
    known = np.isfinite(study.bust) & np.isfinite(study.neck_base)
    if not known.any():
        return
    bust, neck = np.full(len(known), -1), np.full(len(known), -1)
    bust[known] = thirds(study.bust[known])[1]
    neck[known] = thirds(study.neck_base[known])[1]
    for one, other in product(range(3), repeat=2):
        yield one, other, np.asarray((bust == one) & (neck == other))


def _thirds(study: Study, said: _Said) -> list[str]:
    known = np.isfinite(study.bust) & np.isfinite(study.neck_base)
    busts, necks = (thirds(v[known])[0] for v in (study.bust, study.neck_base))
    off = np.abs(study.off) > OFF
    lines = [
        "for which bodies, by thirds of bust and neck base",
        f"  bust: small to {said.length(float(busts[0]))}, large from "
        f"{said.length(float(busts[1]))}; neck base: small to {said.length(float(necks[0]))}, "
        f"large from {said.length(float(necks[1]))}",
        "  bust     neck base  bodies   off as drafted    fails even corrected",
    ]
    for bust, neck, these in by_thirds(study):
        count = int(these.sum())
        if count:
            shares = f"{_share(off & these, count):16}  {_share(study.fails & these, count)}"
            lines.append(f"  {_PARTS[bust]:8} {_PARTS[neck]:10} {count:6}   {shares}")
    lines.append(
        f"  off as drafted: by more than {said.length(OFF)}. Fails: refused, no correction "
        "reaches, or a check failed."
    )
    return lines


def _reasons(study: Study, unit: LengthUnit) -> list[str]:
    """Reasons alike but for their numbers are counted together, with an example of each."""
    lines_of = {study.survey.lines[k]: reason for k, reason in study.reasons.items()}
    lines_of |= dict(study.survey.unread)
    counts: Counter[str] = Counter()
    example: dict[str, tuple[int, str]] = {}
    for line, reason in sorted(lines_of.items()):
        alike = _NUMBER.sub("#", reason)
        counts[alike] += 1
        example.setdefault(alike, (line, reason))
    lines = [f"refused, with the reason: {len(lines_of)}"]
    for alike, count in counts.most_common(_MOST_REASONS):
        line, reason = example[alike]
        lines.append(
            f"  {count} x, as in line {line}: {'; '.join(written(reason, unit).splitlines())}"
        )
    if len(counts) > _MOST_REASONS:
        rest = sum(counts.values()) - sum(n for _, n in counts.most_common(_MOST_REASONS))
        lines.append(f"  {rest} for other reasons; --into writes them all")
    return lines


def study_csv(study: Study) -> bytes:
    """A row a body, lengths in centimetres; what was refused has its reason."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    checks = _told_checks(study)
    moves = [f"{key}_{word}" for key in ORDER for word in ("raised", "narrowed")]
    rises = [] if study.collar == "none" else ["rise_for_neck"]
    writer.writerow(
        ["line", "bust_girth", "neck_base_girth", "neckline_drafted", "neckline_wanted", "off"]
        + [*moves, "taken", "neckline_corrected"]
        + [f"{check.name} ({word})" for check in checks for word in ("measured", "verdict")]
        + [*rises, "refused"]
    )
    raised = {key: study.raised(key) for key in ORDER}
    narrowed = {key: study.narrowed(key) for key in ORDER}
    bust, neck_base, off, drafted = study.bust, study.neck_base, study.off, study.drafted
    target, taken, fitted, rise = study.target, study.taken, study.fitted, study.rise
    reasons = study.reasons
    for k, line in enumerate(study.survey.lines):
        amounts = [part[key][k] for key in ORDER for part in (raised, narrowed)]
        row: list[object] = [bust[k], neck_base[k], drafted[k], target[k], off[k]]
        row += [*amounts, str(taken[k]), fitted[k]]
        for check in checks:
            row += [check.measured[k], _verdict(check.failed[k], check.noted[k], check.measured[k])]
        row += [rise[k] for _ in rises]
        writer.writerow([line, *map(_cell, row), " ".join(reasons.get(k, "").split())])
    for line, reason in study.survey.unread.items():
        empty = 7 + len(moves) + 2 * len(checks) + len(rises)
        writer.writerow([line, *[""] * empty, " ".join(reason.split())])
    return b"\xef\xbb\xbf" + text.getvalue().encode("utf-8")


def _verdict(failed: bool, noted: bool, measured: float) -> str:
    if not np.isfinite(measured):
        return ""
    return "fail" if failed else "note" if noted else "pass"


def _cell(value: object) -> str:
    if isinstance(value, str):
        return value
    number = float(value)  # type: ignore[arg-type]
    return f"{round(number, 4) + 0.0:.4f}" if np.isfinite(number) else ""
