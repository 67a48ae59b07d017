"""``neckarc explain``: where a number of a draft comes from, how sure it is, and what if.

Formulas and all else are in the card's unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import degrees, radians

from blocks.body.measures import measurements
from drafting.errors import DraftError, Problem
from drafting.formulas.writing import words as title_words
from drafting.sentences import written
from drafting.units import LengthUnit
from garment.garment import Garment, make_garment
from workroom.certainty.inputs import TAPED, Slopes, is_angle
from workroom.certainty.sure import Certainty, UncertainValue, certainty, retakes, room_chance
from workroom.certainty.tipping_points import BOUND, Flip, flips
from workroom.certainty.words import (
    CHANCES,
    LEGEND,
    amount,
    chance_line,
    check_amount,
    check_name,
    doubtful,
    length,
    measured,
    odds,
    paper_line,
    rate_line,
    retake_line,
    sure_line,
)
from workroom.certainty.worn import SURE, spread
from workroom.papers.booklets.console_text import neckline_lines
from workroom.worksheet.construction import maker_name, worked_lines

#: What hangs on a measurement by less than this (cm for each cm) is not listed, and of what does
#: only so many are.
LEAST_SLOPE, MOST_LISTED = 2e-3, 8
_COMES_OUT = {"pass": "passes", "note": "needs a look", "fail": "fails"}
#: Numbers of the collar that a maker asks for first.
_GIRTHS = ("closed_top_girth", "closed_roll_girth", "outer_edge", "top_edge")


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a name stands for: a ``measurement``, a ``number`` or ``checks`` by their name."""

    kind: str
    key: str


def explain(order: Garment, asked: str = "") -> list[str]:
    """The lines of an explanation: of everything in short, or of the quantity, measurement, number
    of the collar or check ``asked`` for. Raises :class:`DraftError` for a name there is not, and
    when the draft stands so near the edge of what can be drafted that nothing can be told."""
    found = certainty(order, thorough=True)
    if not asked.strip():
        return _summary(found)
    one = _named(found, asked)
    if one.kind == "measurement":
        return _measurement(found, one.key)
    if one.kind == "number":
        return _number(found, one.key)
    return _checks(found, one.key)


def before_and_after(order: Garment) -> list[str]:
    """What the fittings changed: neckline and collar before and after; empty without any."""
    if not order.commission.toile:
        return []
    unit = order.commission.unit
    try:
        before = make_garment(replace(order.commission, toile=()))
    except DraftError as error:
        return [written(f"Before the fittings there was no draft: {error.problems[0].said}", unit)]
    pairs = [
        ("back arc", before.neckline.back_arc, order.neckline.back_arc),
        ("front arc", before.neckline.front_arc, order.neckline.front_arc),
        ("whole neckline", 2 * before.neckline.half, 2 * order.neckline.half),
    ]
    kinds = ["cm"] * 3
    if before.collar is not None and order.collar is not None:
        for key, value in before.collar.numbers.items():
            after = order.collar.numbers.get(key)
            if after is not None and abs(after - value) >= 0.005:
                pairs.append((title_words(key), value, after))
                kinds.append("deg" if key.endswith("angle") else "cm")
    return [
        f"{name}: {amount(was, kind, unit)}, now {amount(now, kind, unit)}"
        for (name, was, now), kind in zip(pairs, kinds, strict=True)
    ]


def _summary(found: Certainty) -> list[str]:
    order, unit = found.order, found.order.commission.unit
    lines = [_title(order), "", "Neckline", *_indented(_sure_numbers(found, "neckline."))]
    collar = [f"collar.{key}" for key in _GIRTHS if f"collar.{key}" in found.numbers]
    if collar:
        lines += ["", "Collar", *_indented(_collar_lines(found, collar))]
    if said := before_and_after(order):
        seen = [f"{one.date.isoformat()}, {one.seen}" for one in order.commission.toile]
        lines += ["", "Fittings", *_indented(seen), *_indented(said)]
    lines += ["", "Checks that depend on the measuring"]
    if unsure := doubtful(found):
        lines += _indented(chance_line(one, unit) for one in unsure)
    else:
        lines.append("  none: however she is measured, they come out the same")
    lines += [*_indented(_tight(found)), *_indented(_unreckoned(found))]
    rows = retakes(found)
    lines += ["", "Measure again first" if rows else "Nothing needs measuring again."]
    lines += [f"  {count}. {retake_line(row, unit)}" for count, row in enumerate(rows, start=1)]
    lines += ["", "Errors of measuring allowed for", *_readings(found)]
    return [*lines, "", LEGEND, CHANCES]


def _number(found: Certainty, key: str) -> list[str]:
    number = found.numbers[key]
    lines = [_title(found.order), "", sure_line(number, found)]
    lines += ["", "Where it comes from", *_indented(_derivation(found, key))]
    lines += _depends(found, number.slopes, number.unit)
    if _ranked(found, number.slopes):
        lines += ["", "How sure", f"  Its changes are {_how(number)}."]
        lines += _readings(found, number.slopes)
    lines += _what_if(found, _worth(found, number.slopes), None)
    return [*lines, "", LEGEND]


def _checks(found: Certainty, name: str) -> list[str]:
    unit, lines = found.order.commission.unit, [_title(found.order)]
    rows = [one for one in found.checks if one.check.name == name]
    slopes: dict[str, float] = {}
    for one in rows:
        check = one.check
        numbers = [check_amount(v, check.unit, unit) for v in (check.measured, check.target)]
        least = "at least " if check.least else ""
        lines += ["", f"{check_name(one)}: {numbers[0]}, wanted {least}{numbers[1]}"]
        lines.append(f"  {check.verdict}. {written(check.advice, unit)}".rstrip(". ") + ".")
        if check.source:
            lines.append(f"  Source: {written(check.source, unit)}.")
        if not one.reckoned:
            lines.append("  How it moves with the measurements could not be worked out.")
        elif one.settled and spread(one.slopes, found.readings) < SURE:
            lines.append("  It does not depend on the measurements: it is the same on any body.")
        if one.worn is not None:
            lines += [f"  On paper: {paper_line(check, unit)}.", f"  {chance_line(one, unit)}."]
        elif one.reckoned and spread(one.slopes, found.readings) >= SURE:
            lines.append(
                "  It compares the pieces with each other, so it stays the same once they are cut."
            )
        for root, by in one.slopes.items():
            slopes[root] = max(slopes.get(root, 0.0), by, key=abs)
    kind = rows[0].check.unit
    in_radians = {root: radians(by) if kind == "deg" else by for root, by in slopes.items()}
    lines += _depends(found, in_radians, kind, "How far off it is when drafted again")
    lines += _what_if(found, _worth(found, in_radians), (name,))
    return [*lines, "", LEGEND, CHANCES]


def _measurement(found: Certainty, key: str) -> list[str]:
    order, unit = found.order, found.order.commission.unit
    reading = found.readings[key]
    lines = [_title(order), "", f"{reading.name} {measured(key, order, unit)}"]
    if key in measurements():
        lines.append(f"  {written(measurements()[key].how, unit)}")
    if order.body is not None and order.body.is_estimated(key):
        lines.append(f"  {written(order.body.estimated[key], unit)}")
    kind = "cm" if key in TAPED else measurements()[key].unit
    lines.append(f"  ± {amount(reading.sd, kind, unit)}: {written(reading.said, unit)}")
    hanging = [
        (number, number.slopes[key])
        for number in found.numbers.values()
        if abs(number.slopes.get(key, 0.0)) >= LEAST_SLOPE
    ]
    hanging.sort(key=lambda pair: -abs(pair[1]))
    lines += ["", "What depends on it most"]
    for number, by in hanging[: 2 * MOST_LISTED]:
        told = rate_line(key, by, number.unit, found).partition(": ")[2]
        lines.append(f"  {number.name}: {told}")
    if not hanging:
        lines.append("  nothing in this draft")
    lines += _what_if(found, [key] if hanging else [], None)
    return lines


def _derivation(found: Certainty, key: str) -> list[str]:
    order = found.order
    unit, bodice = order.commission.unit, order.bodice
    room, _, name = key.partition(".")
    if not name and bodice is not None:
        sheet = bodice.quantities.method.sheet
        entry = sheet.entries[key]
        said = f"{entry.meaning}" + (f" (source: {entry.source})" if entry.source else "")
        return [written(said, unit), *worked_lines(bodice.quantities, key, unit)]
    if room == "neckline":
        return neckline_lines(order)
    assert order.collar is not None
    lines = [f"{order.collar.title}, drafted to the neckline:"]
    lines += neckline_lines(order)[:1]
    if order.neckline.neck_girth is not None:
        lines.append(f"neck girth {length(order.neckline.neck_girth, unit)}")
    asked = ", ".join(f"{word} = {value}" for word, value in order.commission.collar.raw.items())
    return [*lines, f"on the card: {asked or 'nothing; the usual values'}"]


def _depends(
    found: Certainty, slopes: Slopes, kind: str, head: str = "What it depends on"
) -> list[str]:
    rows = _ranked(found, slopes)
    if not rows:
        return ["", f"{head}: no measurement"]
    lines = ["", head, *_indented(rate_line(root, slopes[root], kind, found) for root in rows)]
    if len(rows) < len(slopes):
        rest = [found.readings[root].name for root in slopes if root not in rows]
        lines.append(f"  very little: {', '.join(rest)}")
    return lines


def _ranked(found: Certainty, slopes: Slopes) -> list[str]:
    """The measurements that matter for some slopes, those that make it unsurest first."""
    effect = {root: abs(by) * found.readings[root].sd for root, by in slopes.items()}
    most = max(effect.values(), default=0.0)
    if most < 0.1 * SURE:
        return []
    ranked = sorted(
        (root for root in effect if effect[root] >= 0.01 * most), key=effect.__getitem__
    )
    return ranked[::-1][:MOST_LISTED]


def _worth(found: Certainty, slopes: Slopes) -> list[str]:
    """Measurements whose flips are worth looking for."""
    return [root for root in _ranked(found, slopes) if abs(slopes[root]) >= LEAST_SLOPE]


def _what_if(found: Certainty, roots: list[str], names: tuple[str, ...] | None) -> list[str]:
    if not roots:
        return []
    what = "the check" if names else "a check"
    lines = ["", f"How far a measurement may move before {what} changes"]
    unit = found.order.commission.unit
    for root in roots:
        name, (less, more) = found.readings[root].name, flips(found.order, root, names)
        if less is None and more is None:
            bound = "5°" if is_angle(root) else length(BOUND, unit)
            lines.append(f"  {name}: nothing changes within {bound} less or more")
            continue
        told = [_flip(flip, root, unit, names) for flip in (less, more) if flip is not None]
        if less is None or more is None:
            told.append(f"a {'smaller' if less is None else 'larger'} one changes nothing")
        lines.append(f"  {name}: {'; '.join(told)}")
    return lines


def _flip(flip: Flip, root: str, unit: LengthUnit, names: tuple[str, ...] | None) -> str:
    far = f"{degrees(abs(flip.move)):.1f}°" if is_angle(root) else length(abs(flip.move), unit)
    head = f"{far} {'more' if flip.move > 0 else 'less'}"
    if flip.refused:
        return f"{head} and it cannot be drafted: {written(flip.refused, unit)}"
    return f"{head} and {'the check' if names else f'“{flip.name}”'} {_COMES_OUT[str(flip.now)]}"


def _sure_numbers(found: Certainty, room: str) -> list[str]:
    rows = [one for key, one in found.numbers.items() if key.startswith(room)]
    return [sure_line(one, found, advice=k == 0) for k, one in enumerate(rows)]


def _collar_lines(found: Certainty, keys: list[str]) -> list[str]:
    return [sure_line(found.numbers[key], found, advice=k == 0) for k, key in enumerate(keys)]


def _readings(found: Certainty, of: Slopes | None = None) -> list[str]:
    """The errors reckoned with, of the measurements that matter (for what moves by ``of``)."""
    unit = found.order.commission.unit
    mattering = _ranked(found, of or {})
    if of is None:
        parts = [one.slopes for one in found.numbers.values()]
        parts += [one.worn.slopes for one in found.checks if one.worn is not None]
        wanted = {root for slopes in parts for root in _ranked(found, slopes)}
        mattering = [key for key in found.readings if key in wanted]
    lines = []
    for key in mattering:
        reading = found.readings[key]
        kind = "cm" if key in TAPED else measurements()[key].unit
        said = written(reading.said, unit)
        lines.append(f"  {reading.name} ± {amount(reading.sd, kind, unit)}: {said}")
    return lines


def _tight(found: Certainty) -> list[str]:
    """How surely a closed collar is no danger to the neck."""
    chance = room_chance(found)
    if chance is None or any(one.worn is not None and one.worn.room for one in doubtful(found)):
        return []  # nothing closes, or its check is among those told already
    return [f"room enough for her neck in the closed collar: {odds(chance)}"]


def _unreckoned(found: Certainty) -> list[str]:
    rows = sorted({one.check.name for one in found.checks if not one.reckoned})
    return [f"not worked out: {', '.join(rows)}"] if rows else []


def _how(number: UncertainValue) -> str:
    return number.how if number.how.startswith("worked") else f"found by {number.how}"


def _title(order: Garment) -> str:
    card = order.commission
    named = ", ".join(part for part in (card.client, card.order, card.date.isoformat()) if part)
    return f"{named}. {order.stamp}" if order.stamp else named


def _indented(lines: Iterable[str]) -> list[str]:
    return [f"  {line}" for line in lines]


def _names(found: Certainty) -> Mapping[str, _Asked]:
    """Everything that may be asked for, by its plain name."""
    names: dict[str, _Asked] = {}
    for key, number in found.numbers.items():
        names.setdefault(_plain(number.name), _Asked("number", key))
        if "." not in key:
            for name in (key, maker_name(key)):
                names.setdefault(_plain(name), _Asked("number", key))
    half = _Asked("number", "neckline.half")
    names |= {"neckline": half, "half the neckline": half}
    for one in found.checks:
        names.setdefault(_plain(one.check.name), _Asked("checks", one.check.name))
    for key, reading in found.readings.items():
        for word in (key, reading.name):
            names.setdefault(_plain(word), _Asked("measurement", key))
    return names


def _named(found: Certainty, asked: str) -> _Asked:
    names, word = _names(found), _plain(asked)
    if word in names:
        return names[word]
    begun = {names[name] for name in names if name.startswith(word)}
    if len(begun) == 1:
        return begun.pop()
    close = get_close_matches(word, names, n=3, cutoff=0.6)
    close = close or [name for name in names if len(word) > 2 and word in name][:3]
    raise DraftError(
        Problem(
            "this draft has nothing of this name",
            got=asked[:60],
            accepted="a quantity of the method, a measurement, a number of the collar or a check",
            advice=f"Did you mean {' or '.join(close)}?" if close else "",
        )
    )


def _plain(text: str) -> str:
    return " ".join(title_words(text.casefold()).replace("-", " ").split())
