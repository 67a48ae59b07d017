"""A draft before and after something seen at a fitting: what comes out otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import degrees
from typing import Any

from drafting.checks import Check, Verdict
from drafting.pieces import EdgeName
from drafting.units import LengthUnit, format_length
from workroom.order import Garment
from workroom.screen import number_shown, shown, wanted

#: Less is no change, cm and degrees: it would not be seen in what is shown.
_SAME, _SAME_ANGLE = 0.005, 0.05
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
        if abs(second - first) >= _SAME:
            yield _row(name, first, second, lambda value: format_length(value, unit, places=2))
    if before.collar is None or after.collar is None:
        return
    numbers = after.collar.numbers
    for key, was in before.collar.numbers.items():
        now = numbers.get(key, was)
        turned = key.endswith("angle")
        if abs(degrees(now - was)) >= _SAME_ANGLE if turned else abs(now - was) >= _SAME:
            yield _row(key.replace("_", " "), was, now, _number(key, unit))


def _number(key: str, unit: LengthUnit) -> Callable[[float], str]:
    return lambda value: number_shown(key, value, unit)


def _edges(before: Garment, after: Garment, unit: LengthUnit) -> Iterator[_Row]:
    were = _lengths(before)
    for (code, name), (title, now) in _lengths(after).items():
        was = were.get((code, name), ("", now))[1]
        if abs(now - was) >= _SAME:
            said = f"{name.value}, {title}"
            yield _row(said, was, now, lambda value: format_length(value, unit, places=2))


def _lengths(order: Garment) -> Mapping[tuple[str, EdgeName], tuple[str, float]]:
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


def _row(name: str, was: float, now: float, said: Callable[[float], str]) -> _Row:
    sign = "+" if now > was else "\N{MINUS SIGN}"
    change = f"{sign}{said(abs(now - was))}"
    return {"name": name, "before": said(was), "after": said(now), "change": change}
