"""An order's worksheet, strung together: construction, neckline, pieces, collar."""

from __future__ import annotations

from collections.abc import Iterator

from blocks.bodice.bodice import BodiceDraft
from blocks.body.measures import measurements
from collars.drafts import CollarDraft
from drafting.formulas.writing import words as title_words
from drafting.geometry.points import Point
from drafting.sentences import written
from drafting.units import LengthUnit, format_length
from garment.garment import Garment
from workroom.papers.booklets.console_text import measurement_shown, number_shown
from workroom.worksheet.construction import construction, place
from workroom.worksheet.plotting import piece_step
from workroom.worksheet.steps import Plotted, Step, Worked, Worksheet


def make_worksheet(order: Garment) -> Worksheet:
    """Every step of an order, lengths as the card's unit writes them."""
    unit = order.commission.unit
    steps: list[Step] = []
    if order.bodice is not None:
        steps.append(_measurements(order, unit))
        steps += construction(order.bodice, unit)
        steps.append(_fitting(order.bodice, unit))
    if order.collar is not None:
        steps.append(_collar(order, order.collar, unit))
    steps += [piece_step(piece, unit) for piece in order.pieces]
    return Worksheet(order.commission.order or "Worksheet", tuple(steps))


def _measurements(order: Garment, unit: LengthUnit) -> Step:
    assert order.body is not None
    assert order.bodice is not None
    known, reads = measurements(), order.bodice.quantities.method.reads
    return Step(
        "Measurements",
        "The measurements this draft is worked out from. Formulas are in "
        + ("inches, to a sixteenth." if unit is LengthUnit.INCH else "centimetres."),
        worked=tuple(
            Worked(
                known[key].name,
                "estimated: measure it" if order.body.is_estimated(key) else "",
                "",
                "",
                order.body[key],
                measurement_shown(order.body, key, unit),
            )
            for key in known
            if key in reads
        ),
    )


def _fitting(draft: BodiceDraft, unit: LengthUnit) -> Step:
    fit, frame = draft.fit, draft.frame

    def girth(name: str, value: float) -> Worked:
        return Worked(name, "", "", "", value, format_length(value, unit, places=2))

    moved = [
        Plotted(name, at, place(at.x, unit), place(at.y, unit))
        for name, at in (
            ("back neck point", frame.back_neck),
            ("back side neck point", frame.back_side),
            ("front side neck point", frame.front_side),
            ("front neck point", frame.front_neck),
            *_shoulder_points(draft),
        )
    ]
    said = "Measure the whole neckline with the tape on edge and compare it with the neck base."
    if fit.applied is not None:
        said += written(f" Then fit it: {fit.applied.said}.", unit)
    if fit.style is not None:
        said += " Then move it to the wished style neckline."
    return Step(
        "Fit the neckline to the neck",
        said + " These are the points afterwards; the pieces' tables have the lines.",
        worked=(
            girth("whole neckline as the method draws it", fit.drafted),
            girth("neck base girth with ease", fit.target),
            girth("whole neckline, fitted", fit.fitted),
            girth("whole neckline, finished", fit.finished),
        ),
        plotted=tuple(moved),
    )


def _shoulder_points(draft: BodiceDraft) -> list[tuple[str, Point]]:
    """The shoulder points, where they came in with a narrowed neckline."""
    applied, frame = draft.fit.applied, draft.frame
    if applied is None or applied.change is None or applied.change.shoulder_shift == 0.0:
        return []
    return [("back shoulder point", frame.back_tip), ("front shoulder point", frame.front_tip)]


def _collar(order: Garment, collar: CollarDraft, unit: LengthUnit) -> Step:
    neckline = order.neckline
    rows = [
        ("back arc", neckline.back_arc),
        ("front arc", neckline.front_arc),
        *collar.numbers.items(),
    ]
    return Step(
        collar.title,
        "These are the lengths of half the collar, from centre back. The pieces' tables "
        "give its lines.",
        worked=tuple(_numbers(rows, unit)),
    )


def _numbers(rows: list[tuple[str, float]], unit: LengthUnit) -> Iterator[Worked]:
    for name, value in rows:
        shown = number_shown(name, value, unit)
        yield Worked(title_words(name), "", "", "", value, shown)


def worksheet_lines(sheet: Worksheet) -> list[str]:
    """The worksheet as plain lines."""
    lines: list[str] = []
    for number, step in enumerate(sheet.steps, start=1):
        lines += [f"{number}. {step.title}", f"   {step.said}", ""]
        for one in step.worked:
            parts = [part for part in (one.name, one.working, one.shown) if part]
            remark = f"   ({one.meaning})" if one.meaning else ""
            lines.append("   " + " = ".join(parts) + remark)
            lines += [f"      {aside}" for aside in one.asides]
        for point in step.plotted:
            how = f"   ({point.how})" if point.how else ""
            lines.append(f"   {point.name}: across {point.across}, up {point.up}{how}")
        for line in step.lines:
            way = "ruled" if line.straight else "curve"
            lines.append(f"   {line.name} ({way}, {line.shown} long):")
            lines += [f"      across {p.across}, up {p.up}" for p in line.points]
        lines.append("")
    return lines
