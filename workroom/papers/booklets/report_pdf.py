"""The report for the client's file, and the order of making, on paper."""

from __future__ import annotations

from typing import Any

from drafting.pieces.checks import Verdict
from drafting.sentences import written
from drafting.units import LengthUnit, format_length
from garment.garment import Garment
from garment.on_neck import legend, neck_lines, on_neck
from workroom.certainty.words import LEGEND
from workroom.making import order_of_making
from workroom.papers.booklets.booklet import beside, booklet, said, table
from workroom.papers.booklets.console_text import difference, neckline_lines, shown, wanted
from workroom.papers.booklets.report import report
from workroom.papers.pictures.neck_picture import VIEWS, neck_picture

#: Width and height of the picture of the collar on the neck (points).
_PICTURE = (144.0, 122.0)


def report_pdf_bytes(order: Garment) -> bytes:
    """The report of an order as a PDF: the JSON report's content, for people."""
    unit, told = order.commission.unit, report(order)
    story: list[Any] = [said(order.stamp, "bold")] if order.stamp else []
    method = told["method"]
    ordered = f"{told['order']}, measured {told['date']}" if told["order"] else told["date"]
    head = [("Client", told["client"]), ("Order" if told["order"] else "Measured", ordered)]
    if method:
        head.append(("Method", f"{method['title']}. {method['source']}"))
    head.append(("Made with", told["written_by"]))
    story.append(table(head, (14, 86), style="tiny"))
    if told["measurements"]:
        story += [said("Measurements", "part"), _measurements(told["measurements"], unit)]
    neck = [said("Neckline and neck", "part"), *(said(s, "tiny") for s in neckline_lines(order))]
    if told["how_sure"]:
        neck.append(said("How sure", "part"))
        lines = ". ".join(line[0].upper() + line[1:] for line in told["how_sure"]["lines"])
        neck.append(said(f"{lines}. {LEGEND}", "tiny"))
    story += [*_beside_picture(order, neck), said("Checks", "part"), *_checks(order)]
    if told["remarks"]:
        story.append(said("Remarks", "part"))
        story += [said(written(remark, unit), "tiny") for remark in told["remarks"]]
    return booklet(order, "Report", story)


def _beside_picture(order: Garment, texts: list[Any]) -> list[Any]:
    """Texts, and beside them the collar on the neck with what is to be said of it; where it cannot
    be shown, the texts and why."""
    space = on_neck(order)
    if isinstance(space, str):
        if order.collar is None:
            return texts
        return [*texts, said(f"The collar is not shown on the neck: {space}", "tiny")]
    told = " ".join(neck_lines(order, space))
    picture = neck_picture(space, *_PICTURE, views=VIEWS[:1])
    texts = [*texts, said("On the neck", "part"), said(told, "tiny")]
    return [beside(texts, [picture, said(legend(), "tiny")], _PICTURE[0] + 6.0)]


def _measurements(rows: list[dict[str, Any]], unit: LengthUnit) -> Any:
    """Three measurements abreast, estimated ones marked."""
    cells = []
    for row in rows:
        value = (
            f"{row['value']:.1f}°"
            if row["unit"] == "deg"
            else format_length(row["value"], unit, tape=row["estimated"])
        )
        cells.append((row["name"] + (" (estimated)" if row["estimated"] else ""), value))
    return table(_abreast(cells, 3), (24, 11) * 3, style="tiny")


def _abreast(cells: list[tuple[str, str]], count: int) -> list[tuple[str, ...]]:
    """Pairs in ``count`` columns, read downwards."""
    high = -(-len(cells) // count)
    filled = cells + [("", "")] * (high * count - len(cells))
    return [
        tuple(word for column in range(count) for word in filled[column * high + row])
        for row in range(high)
    ]


def _checks(order: Garment) -> list[Any]:
    """What did not pass in full, with its advice; what passed in a run of names and figures."""
    unit = order.commission.unit
    rows, passed = [], []
    for check in order.checks:
        name = f"{check.name} ({check.where})" if check.where else f"{check.name}"
        value = shown(check.measured, check, unit)
        if check.verdict is Verdict.PASS:
            passed.append((written(name, unit), value))
            continue
        if near := difference(check, unit):
            name += f", {near}"
        if check.advice:
            name += f". {check.advice}"
        rows.append((written(name, unit), value, wanted(check, unit), check.verdict.value))
    made: list[Any] = []
    if rows:
        head = ("Not passed, or to look at", "measured", "wanted", "")
        made += [table(rows, (65, 12, 15, 8), head=head, bold_last=True, style="tiny")]
    made.append(said(f"Passed: {len(passed)} of {len(order.checks)}", "bold"))
    made.append(said(" · ".join(f"{name} {value}" for name, value in passed), "tiny"))
    return made


def making_bytes(order: Garment) -> bytes:
    """The order of making as a PDF."""
    made = order_of_making(order)
    story: list[Any] = []
    for part, steps in made.parts():
        story.append(said(part, "head"))
        story += [said(step, "step") for step in steps]
    story.append(said("Take care", "head"))
    story += [said(caution, "step") for caution in made.cautions]
    return booklet(order, "Order of making", story)
