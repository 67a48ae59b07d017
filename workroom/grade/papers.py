"""What goes into a range's folder, as bytes by file name."""

from __future__ import annotations

import csv
import io
from itertools import pairwise

from drafting.pieces.checks import Check, Verdict, failed
from drafting.sentences import written
from drafting.units import LengthUnit, from_cm
from workroom.grade.growth import grade_checks, growths
from workroom.grade.nest import Nest, nest_dxf_bytes, nest_of, nest_pdf_bytes
from workroom.grade.sizes import SizeRange
from workroom.papers.booklets.console_text import check_line, shown, wanted
from workroom.papers.dxf.interchange import graded_bytes
from workroom.papers.papers import CAUTION, sheet_content


def range_failed(drafted: SizeRange) -> tuple[Check, ...]:
    """All that stops cutting: failed checks of any size, and seams that do not walk."""
    return (
        *(check for order in drafted.orders.values() for check in order.failed),
        *failed(grade_checks(drafted)),
    )


def range_papers(drafted: SizeRange) -> dict[str, bytes]:
    """Every file of the range's folder. Raises :class:`DraftError` as the drawings do."""
    nest = nest_of(drafted)
    return {
        "nest.dxf": nest_dxf_bytes(nest),
        "nest.pdf": nest_pdf_bytes(nest),
        "interchange.dxf": graded_bytes(
            {name: sheet_content(order) for name, order in drafted.orders.items()},
            middle(drafted),
        ),
        "grade.csv": growth_table(drafted),
        "grade.txt": "\n".join((*grade_lines(drafted, nest), "", CAUTION)).encode("utf-8"),
    }


def middle(drafted: SizeRange) -> str:
    """The size in the middle of the range."""
    return drafted.sizes[len(drafted.sizes) // 2]


def grade_lines(drafted: SizeRange, nest: Nest | None = None) -> list[str]:
    """The account of a range as plain lines: head, remarks, checks of the growth, and what failed
    in which size."""
    card, unit = drafted.commission, drafted.commission.unit
    lines = [
        f"{card.order or 'range'}, {card.date.isoformat()}: sizes "
        f"{', '.join(drafted.sizes)} of {drafted.table.title}",
        f"source: {drafted.table.source}",
        *(f"note: {note}" for note in drafted.notes),
    ]
    for nested in (nest or nest_of(drafted)).pieces:
        lines.append(f"laid together: {nested.title}, {nested.point}")
    checks = grade_checks(drafted)
    lines += [f"{check.verdict}: {_said(check, unit)}" for check in checks]
    lines += [*_in_sizes(drafted, Verdict.FAIL), *_in_sizes(drafted, Verdict.NOTE)]
    wrong = len(range_failed(drafted))
    lines.append(
        f"{len(drafted.sizes)} sizes, {len(checks)} checks of the range: "
        f"{sum(c.verdict is Verdict.NOTE for c in checks)} noted; {wrong} failed in all"
    )
    if wrong:
        lines.append("NOT FOR CUTTING")
    return lines


def _in_sizes(drafted: SizeRange, verdict: Verdict) -> list[str]:
    """What did not pass in some sizes: each check once, with the sizes and where its figures begin
    and end; with its advice where that is the same in all of them, else with that of the first."""
    found: dict[tuple[str, str], dict[str, Check]] = {}
    for name, order in drafted.orders.items():
        for check in order.checks:
            if check.verdict is verdict:
                found.setdefault((check.name, check.where), {})[name] = check
    return [f"{verdict}: {_once(drafted, checks)}" for checks in found.values()]


def _once(drafted: SizeRange, checks: dict[str, Check]) -> str:
    unit = drafted.commission.unit
    names = list(checks)
    first, last = names[0], names[-1]
    if first == last:
        return f"size {first}: {check_line(checks[first], unit)}"
    run = drafted.sizes[drafted.sizes.index(first) : drafted.sizes.index(last) + 1]
    sizes = f"{first} to {last}" if list(run) == names else ", ".join(names)
    one, other = checks[first], checks[last]
    where = f" ({one.where})" if one.where else ""
    figures = (
        f"{shown(one.measured, one, unit)} to {shown(other.measured, other, unit)}, "
        f"wanted {wanted(one, unit)} to {shown(other.target, other, unit)}"
    )
    said = f"sizes {sizes}: {one.name}{where}: {figures}"
    advice = {written(check.advice, unit) for check in checks.values()}
    if len(advice) > 1:
        return f"{said}. Size {first}: {written(one.advice, unit)}"
    return f"{said}. {advice.pop()}".removesuffix(". ")


def growth_table(drafted: SizeRange) -> bytes:
    """Every edge's length in every size, and its steps, in the card's unit: a table for
    spreadsheets."""
    unit = drafted.commission.unit
    out = io.StringIO()
    rows = csv.writer(out)
    names = drafted.sizes
    rows.writerow(["piece", "edge", "unit", *names, *(f"step to {name}" for name in names[1:])])
    for growth in growths(drafted):
        lengths = [growth.lengths.get(name) for name in names]
        steps = [None if a is None or b is None else b - a for a, b in pairwise(lengths)]
        told = ["" if v is None else f"{from_cm(v, unit):.3f}" for v in (*lengths, *steps)]
        rows.writerow([growth.piece, growth.edge.value, unit.value, *told])
    return out.getvalue().encode("utf-8-sig")


def _said(check: Check, unit: LengthUnit) -> str:
    if check.unit:
        return check_line(check, unit)
    advice = f". {written(check.advice, unit)}" if check.advice else ""
    return f"{check.name}: {check.measured:.0f} of {check.target:.0f}{advice}"
