"""The worksheet on paper: a maker draws every piece by hand from it."""

from __future__ import annotations

from typing import Any

from blocks.making_up import make_up
from workroom.order import Garment
from workroom.sheets.booklet import booklet, page_width, said, table
from workroom.sheets.step_picture import step_picture
from workroom.worksheet.making import make_worksheet
from workroom.worksheet.steps import Plotted, Step

_WIDE, _HIGH = 1.0, 190.0


def worksheet_bytes(order: Garment) -> bytes:
    """The worksheet of an order as a PDF."""
    from reportlab.platypus import KeepTogether, Spacer

    sheet = make_worksheet(order)
    story: list[Any] = [
        said(
            "All lengths are on the sew line, without seam allowances. Keep a hard pencil sharp, "
            "measure with the tape on edge, and check each length before you go on."
        )
    ]
    bodies = list(make_up(order.bodice)) if order.bodice else []
    seen: list[Plotted] = []
    for number, step in enumerate(sheet.steps, start=1):
        head = [said(f"{number}. {step.title}", "head"), said(step.said), Spacer(1, 4)]
        picture = _picture(step, bodies, seen)
        if picture is not None:
            head.append(picture)
        story.append(KeepTogether(head))
        story += _tables(step)
        if step.piece is None:
            seen += step.plotted
    return booklet(order, "Worksheet", story)


def _picture(step: Step, bodies: list[Any], seen: list[Plotted]) -> Any:
    if step.piece is not None:
        shown = [point for line in step.lines for point in line.points]
        return step_picture(
            [step.piece], [], shown, width=page_width(), height=_HIGH, strong=True, named=False
        )
    if step.plotted:
        return step_picture(bodies, seen, step.plotted, width=page_width(), height=_HIGH)
    return None


def _tables(step: Step) -> list[Any]:
    made: list[Any] = []
    rows: list[tuple[str, ...]]
    if step.worked:
        rows = [
            (
                one.name + (f": {one.meaning}" if one.meaning else ""),
                " = ".join(part for part in (one.formula, one.numbers) if part),
                one.shown,
            )
            for one in step.worked
        ]
        made.append(table(rows, (34, 46, 12), bold_last=True))
    if step.plotted:
        rows = [(p.name, p.how, p.across, p.up) for p in step.plotted]
        made.append(table(rows, (24, 46, 11, 11), head=("Point", "", "across", "up")))
    for line in step.lines:
        way = "ruled" if line.straight else "a fair curve"
        said_line = f"{line.name[0].upper()}{line.name[1:]}: {way}, {line.shown} long"
        cells = [f"{p.across} / {p.up}" for p in line.points]
        rows = [tuple([*cells[k : k + 5], *[""] * 5][:5]) for k in range(0, len(cells), 5)]
        made += [said(said_line, "bold"), said("across / up", "small"), table(rows, (1,) * 5)]
    return made
