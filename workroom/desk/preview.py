"""The collar on the neck for the desk: cells to be turned and painted by the page, and words.

Asked for on its own, only while the view stands open, so that what is typed is drawn as quickly as
without it. Nothing is saved. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import degrees
from typing import Any

import numpy as np
import tomli_w

from blocks.body.measures import measurements
from blocks.body.plausibility import Unusual, find_unusual
from blocks.neckline.neckline import Neckline
from collars.parameters import resolve_parameters
from collars.registry import COLLARS
from drafting.errors import CardError, NeckarcError, Problem
from drafting.formulas.writing import words as title_words
from drafting.library import read_data
from drafting.parameters import lies_within, read_quantity
from drafting.pieces.checks import Verdict, heaviest_first
from drafting.pieces.piece import Piece
from drafting.sentences import written
from drafting.units import LengthUnit, format_inches, format_length, from_cm
from garment.bodice import button_stand
from garment.garment import Garment, collar_wishes, make_garment
from garment.on_neck import MUCH, SEEN, legend, neck_lines, on_neck
from garment.wishes import Commission
from workroom.card.card import read_card_text
from workroom.desk.comparing import before_and_after
from workroom.desk.content import DeskError, read_content
from workroom.desk.fittings import as_kept, as_shown, place_of, told_fittings
from workroom.desk.picture import edges_of, live_picture, told_pieces
from workroom.papers.booklets.console_text import (
    difference,
    measurement_shown,
    neckline_lines,
    number_shown,
    shown,
    wanted,
)
from workroom.papers.pictures.neck_picture import Cells, Layer, cells_of, lifted_front

# ---- One look at the desk: what was typed, drafted, checked and drawn. Nothing is saved

#: The name cards made at the desk go by in messages.
NAME = "desk"


@dataclass(frozen=True, slots=True)
class Look:
    """What the page shows. ``order`` is ``None`` when nothing could be drafted."""

    told: Mapping[str, Any]
    order: Garment | None


def card_text(content: Mapping[str, Any]) -> str:
    """A card's content (see :func:`read_content`) as TOML."""
    return tomli_w.dumps(content)


def look_at(sent: Mapping[str, Any]) -> Look:
    """Draft a card's content and tell all the page needs.

    Never raises for what a person may type: mistakes come back by key.
    """
    try:
        content = read_content(sent)
        text = card_text(as_shown(content))
    except DeskError as error:
        return Look({"problems": [_told(problem) for problem in error.problems]}, None)
    unusual = _unusual_so_far(content)
    try:
        card = read_card_text(text, NAME)
    except CardError as error:
        problems = [
            _told(problem) | {"key": place_of(content, problem.key)} for problem in error.problems
        ]
        return Look({"problems": problems, "unusual": unusual}, None)
    told: dict[str, Any] = {
        "unusual": unusual,
        "standing": _standing(card),
        "fittings": told_fittings(content, card),
    }
    try:
        order = make_garment(card)
    except NeckarcError as error:
        said = [p.written(card.unit) for p in error.problems]
        return Look(told | {"problems": [_told(one) for one in said]}, None)
    told["standing"] = _standing(card, order.neckline)
    before = _before(content)
    if isinstance(before, Garment):
        told["compared"] = before_and_after(before, order, card.unit)
        return Look(told | _told_order(order, card, before.pieces), order)
    told["compared"] = {"refused": before} if before else None
    return Look(told | _told_order(order, card), order)


def _before(content: Mapping[str, Any]) -> Garment | str | None:
    """The draft with the fittings as the book has them, or why there was none; ``None`` when they
    are the same on the page."""
    kept = as_kept(content)
    if kept is None:
        return None
    try:
        return make_garment(read_card_text(card_text(kept), NAME))
    except NeckarcError as error:
        return written(error.problems[0].said, _unit(kept))


def demo_in(kind: str) -> dict[str, Any]:
    """What a page would send for the demo client in a collar."""
    demo = read_data("clients/demo").values
    content = {key: demo[key] for key in ("client", "unit", "measurements")}
    return content | {"date": demo["date"].isoformat(), "collar": {"kind": kind}}


def _unit(content: Mapping[str, Any]) -> LengthUnit:
    return LengthUnit.INCH if content.get("unit") == "in" else LengthUnit.CM


def _unusual_so_far(content: Mapping[str, Any]) -> list[dict[str, str]]:
    """What looks like a slip among the measurements that can be read, finished card or not."""
    unit = _unit(content)
    taken: dict[str, float] = {}
    for key, typed in content.get("measurements", {}).items():
        measurement = measurements()[key]
        try:
            value = read_quantity(typed, measurement.unit, unit)
        except ValueError:
            continue
        if lies_within(measurement.shown(value), *measurement.hard):
            taken[key] = value
    return [_told_unusual(one, unit) for one in find_unusual(taken, unit)]


def _told_unusual(one: Unusual, unit: LengthUnit) -> dict[str, str]:
    return {"key": one.key, "said": one.sentence(unit), "severity": one.severity}


def _standing(card: Commission, neckline: Neckline | None = None) -> dict[str, str]:
    """What stands where nothing is written, by the path of its field."""
    unit = card.unit
    found = {"garment.button_stand": _plain(button_stand(card.garment), "cm", unit)}
    kind = COLLARS.get(card.collar.kind)
    if kind is None:
        return found
    values, _ = resolve_parameters(kind.kind, collar_wishes(card, neckline))
    for key, value in values.given.items():
        found[f"collar.{key}"] = _plain(value, kind.parameters[key].unit, unit)
    for key, value in kind.neckline.items():
        found[f"neckline.style.{key}"] = _plain(value, "cm", unit)
    return found


def _plain(value: float | str, kind: str, unit: LengthUnit) -> str:
    """A value as it would be written in its field."""
    if isinstance(value, str):
        return value
    if kind == "deg":
        return f"{degrees(value):.1f}".rstrip("0").rstrip(".")
    if kind == "cm" and unit is LengthUnit.INCH:
        return format_inches(value)
    return f"{round(from_cm(value, unit) if kind == 'cm' else value, 2):g}"


def _told_order(order: Garment, card: Commission, before: Sequence[Piece] = ()) -> dict[str, Any]:
    unit = card.unit
    points = order.bodice.points if order.bodice else None
    return {
        "problems": [],
        "estimated": _estimated(order, unit),
        "svg": live_picture(order.pieces, order.seams, unit, points, before).svg,
        "pieces": told_pieces(order.pieces, order.seams, unit),
        "neckline": neckline_lines(order),
        "neck": _neck(order, unit),
        "checks": _checks(order, unit),
        "notes": [written(note, unit) for note in order.notes],
        "stamp": order.stamp or "",
        "numbers": _numbers(order, unit),
    }


def _estimated(order: Garment, unit: LengthUnit) -> dict[str, str]:
    """The values of measurements that were not taken, as they may be shown."""
    if order.body is None:
        return {}
    found = {}
    for key in order.body.estimated:
        found[key] = measurement_shown(order.body, key, unit)
    return found


def _neck(order: Garment, unit: LengthUnit) -> dict[str, Any]:
    """The neckline against the neck, as numbers for the panel and its picture (cm), and texts."""
    line = order.neckline
    told: dict[str, Any] = {
        "whole": 2 * line.half,
        "whole_said": format_length(2 * line.half, unit, places=2),
        "neck_girth": line.neck_girth,
        "neck_girth_said": format_length(line.neck_girth, unit) if line.neck_girth else "",
    }
    closed = (order.collar.numbers if order.collar else {}).get("closed_top_girth")
    if closed:
        told |= {"closed": closed, "closed_said": format_length(closed, unit, places=2)}
    if order.bodice is not None:
        fit = order.bodice.fit
        told |= {
            "drafted": fit.drafted,
            "drafted_said": format_length(fit.drafted, unit, places=2),
            "target": fit.target,
            "target_said": format_length(fit.target, unit, places=2),
            "corrections": [
                {
                    "key": correction.key,
                    "said": written(correction.said or correction.refused, unit),
                    "possible": correction.change is not None,
                    "applied": correction is fit.applied,
                }
                for correction in fit.corrections
            ],
        }
    return told


def _checks(order: Garment, unit: LengthUnit) -> list[dict[str, Any]]:
    """Failed ones first, then those to look at, then the rest."""
    return [
        {
            "name": written(check.name, unit),
            "where": written(check.where, unit),
            "edges": edges_of(check, order.pieces, order.seams)
            if check.verdict is not Verdict.PASS
            else [],
            "verdict": check.verdict.value,
            "measured": shown(check.measured, check, unit),
            "wanted": wanted(check, unit)
            + (f", {near}" if (near := difference(check, unit)) else ""),
            "advice": written(check.advice, unit),
            "source": written(check.source, unit),
        }
        for check in heaviest_first(order.checks)
    ]


def _numbers(order: Garment, unit: LengthUnit) -> list[tuple[str, str]]:
    if order.collar is None:
        return []
    return [
        (title_words(key), number_shown(key, value, unit))
        for key, value in order.collar.numbers.items()
    ]


def _told(problem: Problem) -> dict[str, str]:
    return {
        "key": problem.key,
        "said": problem.said,
        "got": problem.got,
        "accepted": problem.accepted,
        "advice": problem.advice,
    }


def neck_view(sent: Mapping[str, Any]) -> dict[str, Any]:
    """What the page needs to show a card's content on the neck; ``why`` says in words when it
    cannot be shown. Never raises for what a person may type."""
    order = look_at(sent).order
    if order is None:
        return {"why": "There is no draft yet to show on the neck."}
    space = on_neck(order)
    if isinstance(space, str):
        return {"why": f"{space[0].upper()}{space[1:]}"}
    front = lifted_front(space)
    return {
        "why": "",
        "layers": [_neck_view_told(cells) for cells in cells_of(space)],
        "front": [] if front is None else np.round(front, 3).tolist(),
        "seen": SEEN,
        "much": MUCH,
        "said": neck_lines(order, space),
        "legend": legend(),
    }


def _neck_view_told(cells: Cells) -> dict[str, Any]:
    """One layer as plain numbers: four corners a cell, the way out, what it gives, its edges."""
    return {
        "layer": int(cells.layer),
        "name": cells.layer.name.lower(),
        "cloth": cells.layer > Layer.NECK,
        "corners": np.round(cells.corners.reshape(-1, 12), 2).tolist(),
        "outward": np.round(cells.outward, 2).tolist(),
        "strains": np.round(cells.strains, 4).tolist(),
        "rim": [[k for k, side in enumerate(sides) if side] for sides in cells.rim],
    }
