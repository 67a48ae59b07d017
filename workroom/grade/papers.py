"""What goes into a range's folder, as bytes by file name."""

from __future__ import annotations

import csv
import io
from itertools import pairwise

from drafting.checks import Check, Verdict, failed
from drafting.sentences import written
from drafting.units import LengthUnit, from_cm
from workroom.grade.growth import grade_checks, growths
from workroom.grade.nest import Nest, nest_of
from workroom.grade.nest_files import nest_dxf_bytes, nest_pdf_bytes
from workroom.grade.sizes import Range
from workroom.papers import CAUTION, sheet_content
from workroom.screen import check_line
from workroom.sheets.dxf_interchange import graded_bytes


def range_failed(drafted: Range) -> tuple[Check, ...]:
    """All that stops cutting: failed checks of any size, and seams that do not walk."""
    return (
        *(check for order in drafted.orders.values() for check in order.failed),
        *failed(grade_checks(drafted)),
    )


def range_papers(drafted: Range) -> dict[str, bytes]:
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


def middle(drafted: Range) -> str:
    """The size in the middle of the range."""
    return drafted.sizes[len(drafted.sizes) // 2]


def grade_lines(drafted: Range, nest: Nest | None = None) -> list[str]:
    """The account of a range as plain lines: head, remarks, checks of the growth, and what failed
    in which size."""
    card, unit = drafted.card, drafted.card.unit
    lines = [
        f"{card.client}, {card.order or 'range'}, {card.date.isoformat()}: sizes "
        f"{', '.join(drafted.sizes)} of {drafted.table.title}",
        f"source: {drafted.table.source}",
        *(f"note: {note}" for note in drafted.notes),
    ]
    for nested in (nest or nest_of(drafted)).pieces:
        lines.append(f"laid together: {nested.title}, {nested.point}")
    checks = grade_checks(drafted)
    lines += [f"{check.verdict}: {_said(check, unit)}" for check in checks]
    for name, order in drafted.orders.items():
        for check in order.failed:
            lines.append(f"fail: size {name}: {check_line(check, unit)}")
        for check in order.checks:
            if check.verdict is Verdict.NOTE:
                lines.append(f"note: size {name}: {check_line(check, unit)}")
    wrong = len(range_failed(drafted))
    lines.append(
        f"{len(drafted.sizes)} sizes, {len(checks)} checks of the range: "
        f"{sum(c.verdict is Verdict.NOTE for c in checks)} noted; {wrong} failed in all"
    )
    if wrong:
        lines.append("NOT FOR CUTTING")
    return lines


def growth_table(drafted: Range) -> bytes:
    """Every edge's length in every size, and its steps, in the card's unit: a table for
    spreadsheets."""
    unit = drafted.card.unit
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
