"""Two measurement sets of a client side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import degrees
from typing import Any

from blocks.body.measures import Measurement, measurements
from drafting.formulas.writing import words as title_words
from drafting.parameters import read_quantity
from drafting.pieces.checks import Check, Verdict
from drafting.pieces.piece import EdgeKind
from drafting.units import LengthUnit, format_length
from garment.garment import Garment
from workroom.book.records import MeasurementSet
from workroom.papers.booklets.console_text import number_shown, shown, wanted

#: Less is no change (cm or degrees): the rounding of a fraction of an inch.
_SAME = 0.005


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement: as it was written, and by how much it changed."""

    name: str
    old: str
    new: str
    change: str


@dataclass(frozen=True, slots=True)
class Compared:
    """Two sets and what changed from one to the other."""

    old: MeasurementSet
    new: MeasurementSet
    rows: tuple[Row, ...]


def compared(sets: Sequence[MeasurementSet], old: int, new: int) -> Compared | None:
    """The sets of these numbers, or the last two (the latest with itself when there is but one)."""
    if not sets:
        return None
    by_number = {one.id: one for one in sets}
    later = by_number.get(new, sets[0])
    earlier = by_number.get(old, sets[1] if len(sets) > 1 else sets[0])
    rows = tuple(
        _row(measurement, earlier, later)
        for key, measurement in measurements().items()
        if key in earlier.taken or key in later.taken
    )
    return Compared(earlier, later, rows)


def unit_of(sets: Sequence[MeasurementSet]) -> LengthUnit:
    """The unit of her latest set; centimetres when there is none."""
    return LengthUnit(sets[0].unit) if sets else LengthUnit.CM


def _row(measurement: Measurement, old: MeasurementSet, new: MeasurementSet) -> Row:
    written = [str(one.taken.get(measurement.key, "")) for one in (old, new)]
    values = [_value(measurement, one) for one in (old, new)]
    change = ""
    if values[0] is not None and values[1] is not None:
        off = values[1] - values[0]
        if abs(off) > _SAME:
            change = ("+" if off > 0 else "−") + _said(measurement, abs(off), new)
    elif written[0] != written[1]:
        change = "new" if not written[0] else "not taken" if not written[1] else "changed"
    return Row(measurement.name, written[0], written[1], change)


def _said(measurement: Measurement, off: float, new: MeasurementSet) -> str:
    if measurement.unit == "deg":
        return f"{off:.1f}°"
    return format_length(off, LengthUnit(new.unit))


def _value(measurement: Measurement, one: MeasurementSet) -> float | None:
    """A value in centimetres or degrees; ``None`` if it cannot be read."""
    try:
        value = read_quantity(
            one.taken.get(measurement.key), measurement.unit, LengthUnit(one.unit)
        )
    except ValueError:
        return None
    return measurement.shown(value)


# ---- A draft before and after something seen at a fitting: what comes out otherwise

#: Less is no change, cm and degrees: it would not be seen in what is shown.
_BEFORE_AFTER_SAME, _SAME_ANGLE = 0.005, 0.05
_Row = Mapping[str, str]


def before_and_after(before: Garment, after: Garment, unit: LengthUnit) -> dict[str, Any]:
    """What changed from one draft to the other, in rows: name, before, after, change and verdicts.

    ``checks`` are those that do not simply pass as before, ``quiet`` counts those that came out
    otherwise and do; ``numbers`` are of neckline and collar, ``edges`` of every piece.
    """
    checks, quiet = _checks(before, after, unit)
    return {
        "checks": checks,
        "quiet": quiet,
        "numbers": list(_numbers(before, after, unit)),
        "edges": list(_edges(before, after, unit)),
    }


def _numbers(before: Garment, after: Garment, unit: LengthUnit) -> Iterator[_Row]:
    lines = (
        ("back arc", before.neckline.back_arc, after.neckline.back_arc),
        ("front arc", before.neckline.front_arc, after.neckline.front_arc),
        ("whole neckline", 2 * before.neckline.half, 2 * after.neckline.half),
    )
    for name, first, second in lines:
        if abs(second - first) >= _BEFORE_AFTER_SAME:
            yield _before_after_row(
                name, first, second, lambda value: format_length(value, unit, places=2)
            )
    if before.collar is None or after.collar is None:
        return
    numbers = after.collar.numbers
    for key, was in before.collar.numbers.items():
        now = numbers.get(key, was)
        turned = key.endswith("angle")
        if (
            abs(degrees(now - was)) >= _SAME_ANGLE
            if turned
            else abs(now - was) >= _BEFORE_AFTER_SAME
        ):
            yield _before_after_row(title_words(key), was, now, _number(key, unit))


def _number(key: str, unit: LengthUnit) -> Callable[[float], str]:
    return lambda value: number_shown(key, value, unit)


def _edges(before: Garment, after: Garment, unit: LengthUnit) -> Iterator[_Row]:
    were = _lengths(before)
    for (code, name), (title, now) in _lengths(after).items():
        was = were.get((code, name), ("", now))[1]
        if abs(now - was) >= _BEFORE_AFTER_SAME:
            said = f"{name.value}, {title}"
            yield _before_after_row(
                said, was, now, lambda value: format_length(value, unit, places=2)
            )


def _lengths(order: Garment) -> Mapping[tuple[str, EdgeKind], tuple[str, float]]:
    """The title of each piece and the length of all its edges of one name."""
    return {
        (piece.code, name): (piece.title, sum(edge.length for edge in piece.named(name)))
        for piece in order.pieces
        for name in dict.fromkeys(edge.name for edge in piece.edges)
    }


def _checks(before: Garment, after: Garment, unit: LengthUnit) -> tuple[list[_Row], int]:
    rows: list[_Row] = []
    quiet = 0
    pairs, gone = _paired(before, after)
    for was, check in pairs:
        told = (_told(was, unit), _told(check, unit))
        if told[0] == told[1]:
            continue
        if was is not None and was.verdict is check.verdict is Verdict.PASS:
            quiet += 1
            continue
        rows.append(_check_row(was, check, unit))
    rows += [_check_row(check, None, unit) for check in gone]
    return rows, quiet


def _paired(
    before: Garment, after: Garment
) -> tuple[list[tuple[Check | None, Check]], list[Check]]:
    """Each check with what it was before, and those that are gone. One that looks for the worst
    place may have found another: it is known by its name alone."""
    were = {(check.name, check.where): check for check in before.checks}
    found = {k: were.pop((c.name, c.where), None) for k, c in enumerate(after.checks)}
    pairs: list[tuple[Check | None, Check]] = []
    for k, check in enumerate(after.checks):
        was = found[k]
        if was is None:
            elsewhere = next((key for key in were if key[0] == check.name), None)
            was = were.pop(elsewhere) if elsewhere else None
        pairs.append((was, check))
    return pairs, list(were.values())


def _told(check: Check | None, unit: LengthUnit) -> tuple[str, ...]:
    if check is None:
        return ()
    return check.verdict.value, shown(check.measured, check, unit), wanted(check, unit)


def _check_row(was: Check | None, now: Check | None, unit: LengthUnit) -> _Row:
    one = now or was
    assert one is not None
    where = f" ({one.where})" if one.where else ""
    return {
        "name": f"{one.name}{where}, wanted {wanted(one, unit)}",
        "before": shown(was.measured, was, unit) if was else "none",
        "after": shown(now.measured, now, unit) if now else "none",
        "change": "",
        "was": was.verdict.value if was else "",
        "now": now.verdict.value if now else "",
    }


def _before_after_row(name: str, was: float, now: float, said: Callable[[float], str]) -> _Row:
    sign = "+" if now > was else "\N{MINUS SIGN}"
    change = f"{sign}{said(abs(now - was))}"
    return {"name": name, "before": said(was), "after": said(now), "change": change}
