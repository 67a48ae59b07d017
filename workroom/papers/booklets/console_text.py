"""An order on the screen: tables in a terminal, plain lines anywhere else."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from math import degrees
from typing import Any, TextIO

from blocks.bodice.checks import NECKLINE
from blocks.body.body import Body
from blocks.body.measures import measurements
from drafting.pieces.checks import Check, Verdict, heaviest_first
from drafting.sentences import written
from drafting.units import CM_PER_INCH, SMALL_INCHES, LengthUnit, format_length, format_small
from garment.garment import Garment

_STYLE = {Verdict.PASS: "green", Verdict.NOTE: "yellow", Verdict.FAIL: "bold red"}


def show_order(order: Garment, stream: TextIO | None = None) -> None:
    """Print an order's account to ``stream`` (standard output when none is given)."""
    out = stream or sys.stdout
    if out.isatty():
        _show_tables(order, out)
    else:
        out.write("\n".join(plain_lines(order)) + "\n")


def plain_lines(order: Garment) -> list[str]:
    """The account as plain lines: head, what failed or is to be looked at, remarks, neckline, and
    last what passed."""
    unit = order.commission.unit
    told = [f"{one.verdict}: {check_line(one, unit)}" for one in heaviest_first(order.checks)]
    passed = sum(check.verdict is Verdict.PASS for check in order.checks)
    look_at = len(told) - passed
    lines = [_head(order), *told[:look_at], *_remarks(order)]
    lines += [f"neckline: {line}" for line in neckline_lines(order)]
    lines += told[look_at:]
    lines.append(
        f"{len(order.checks)} checks: {passed} passed, {len(order.failed)} failed, "
        f"{len(order.checks) - passed - len(order.failed)} noted"
    )
    if order.stamp:
        lines.append(order.stamp)
    return lines


def check_line(check: Check, unit: LengthUnit) -> str:
    """One check as a sentence, lengths in the card's unit."""
    where = f" ({check.where})" if check.where else ""
    advice = f". {check.advice}" if check.advice else ""
    measured, near = shown(check.measured, check, unit), difference(check, unit)
    told = f"{measured}, wanted {wanted(check, unit)}{near and f', {near}'}"
    return written(f"{check.name}{where}: {told}{advice}", unit)


def difference(check: Check, unit: LengthUnit) -> str:
    """``off by 0.03 in``, where a check that did not pass would else read as if it had: measured
    and wanted are written alike, or lie too near for a tape. Empty for all others."""
    if check.verdict is Verdict.PASS or check.unit != "cm" or not check.off:
        return ""
    alike = shown(check.measured, check, unit) == shown(check.target, check, unit)
    if not alike and (unit is LengthUnit.CM or abs(check.off) >= SMALL_INCHES * CM_PER_INCH):
        return ""
    return f"off by {format_small(abs(check.off), unit)}"


def wanted(check: Check, unit: LengthUnit) -> str:
    """What a check asks for, with its unit."""
    return ("at least " if check.least else "") + shown(check.target, check, unit)


def shown(value: float, check: Check, unit: LengthUnit) -> str:
    """A measured or wanted value with its unit."""
    if check.unit == "deg":
        return f"{round(value, 1) + 0.0:.1f}°"  # never a minus nought
    return format_length(value, unit, places=2)


def measurement_shown(body: Body, key: str, unit: LengthUnit) -> str:
    """A measurement with its unit: one that was taken as it was written, an estimated one as a tape
    shows it."""
    value, measurement = body[key], measurements()[key]
    if measurement.unit == "deg":
        return f"{measurement.shown(value):.{0 if body.is_estimated(key) else 1}f}°"
    return format_length(value, unit, tape=body.is_estimated(key))


def number_shown(name: str, value: float, unit: LengthUnit) -> str:
    """A collar's number with its unit: an angle (radians) where its name ends so, else a length."""
    if name.endswith("angle"):
        return f"{degrees(value):.1f}°"
    return format_length(value, unit, places=2)


def neckline_lines(order: Garment) -> list[str]:
    """The neckline against the neck, in sentences."""
    unit = order.commission.unit
    half = order.neckline
    lines = [
        f"back arc {format_length(half.back_arc, unit, places=2)}, "
        f"front arc {format_length(half.front_arc, unit, places=2)}, "
        f"whole neckline {format_length(2 * half.half, unit, places=2)}"
    ]
    if order.bodice is None:
        known = any(check.name.startswith(NECKLINE) for check in order.checks)
        said = "" if known else "; not compared with a neck: no neck girth of hers is known"
        lines.append(f"taped on the maker's own block{said}")
        return lines
    fit = order.bodice.fit
    wrong = "long" if fit.off > 0 else "short"
    lines.append(
        f"as the method draws it {format_length(fit.drafted, unit, places=2)}, the neck base with "
        f"ease is {format_length(fit.target, unit, places=2)}: "
        f"{format_length(abs(fit.off), unit, places=2)} too {wrong}"
    )
    for correction in fit.corrections:
        mark = "applied" if correction is fit.applied else "would cure it"
        text = (
            f"{correction.key}: {correction.said} ({mark})"
            if correction.change is not None
            else f"{correction.key}: not possible; {correction.refused}"
        )
        lines.append(written(text, unit))
    return lines


def _head(order: Garment) -> str:
    card = order.commission
    named = ", ".join(part for part in (card.client, card.order, card.date.isoformat()) if part)
    pieces = ", ".join(piece.title for piece in order.pieces)
    return f"{named}: {pieces}"


def _remarks(order: Garment) -> list[str]:
    lines = [
        f"{found.severity}: {found.sentence(order.commission.unit)}" for found in order.unusual
    ]
    lines += [f"estimated: {line}" for line in estimated_lines(order)]
    return lines + [f"to know: {written(note, order.commission.unit)}" for note in order.notes]


def estimated_lines(order: Garment) -> list[str]:
    """Each estimated measurement that this draft really uses, with its value and rule."""
    if order.body is None or order.bodice is None:
        return []
    used = order.bodice.quantities.method.reads | {"neck_base_girth", "neck_girth"}
    if order.collar is not None:
        used |= order.collar.leans_on
    lines = []
    for key, rule in order.body.estimated.items():
        if key not in used:
            continue
        measurement = measurements()[key]
        text = measurement_shown(order.body, key, order.commission.unit)
        lines.append(written(f"{measurement.name} {text}, {rule}", order.commission.unit))
    return lines


def _show_tables(order: Garment, out: TextIO) -> None:
    from rich.console import Console
    from rich.markup import escape
    from rich.table import Table

    console = Console(file=out)
    checks = heaviest_first(order.checks)
    passed = [check for check in checks if check.verdict is Verdict.PASS]
    console.print(f"[bold]{escape(_head(order))}[/bold]")
    if look_at := checks[: len(checks) - len(passed)]:
        console.print(_check_table("Not passed, or to look at", look_at, order.commission.unit))
    for line in _remarks(order):
        console.print(f"  {escape(line)}", highlight=False)
    neck = Table(title="Neckline and neck", title_justify="left", show_header=False, box=None)
    for line in neckline_lines(order):
        neck.add_row(escape(line))
    console.print(neck)
    title = f"Passed: {len(passed)} of {len(checks)}"
    console.print(_check_table(title, passed, order.commission.unit))
    if order.stamp:
        console.print(f"[bold red]{escape(order.stamp)}[/bold red]")


def _check_table(title: str, checks: Sequence[Check], unit: LengthUnit) -> Any:
    from rich.markup import escape
    from rich.table import Table

    table = Table(title=title, title_justify="left")
    for heading in ("check", "measured", "wanted", "verdict"):
        table.add_column(heading, justify="right" if heading in ("measured", "wanted") else "left")
    for check in checks:
        name = f"{check.name} ({check.where})" if check.where else f"{check.name}"
        near = difference(check, unit)
        name += f", {near}" if near else ""
        name += f"\n{check.advice}" if check.advice else ""
        table.add_row(
            escape(written(name, unit)),
            shown(check.measured, check, unit),
            wanted(check, unit),
            f"[{_STYLE[check.verdict]}]{check.verdict}[/]",
        )
    return table
