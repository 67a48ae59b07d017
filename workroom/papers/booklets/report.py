"""The report for the client's file, as plain data: measurements, checks, neckline against neck,
corrections, method and sources. The same order gives the same bytes; the date is the card's.

Lengths in centimetres, angles in degrees, whatever the card is written in: ``unit`` says so. What
is said in words is for people and speaks the unit of the card, ``words_in``.
"""

from __future__ import annotations

import json
from importlib import metadata
from math import degrees
from typing import Any

from blocks.body.measures import measurements
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.memo import memo_by_identity
from drafting.sentences import written
from drafting.units import LengthUnit
from garment.garment import Garment
from workroom.certainty.sure import Certainty, certainty, retakes, room_chance
from workroom.certainty.words import retake_line, sure_line

#: What reads a report can tell by this which keys to expect.
FORM = 1


def version() -> str:
    """This program's version."""
    try:
        return metadata.version("neckarc")
    except metadata.PackageNotFoundError:  # run from a checkout that was never installed
        return "unknown"


def report(order: Garment) -> dict[str, Any]:
    """The report of an order."""
    card = order.commission

    def text(said: str) -> str:
        return written(said, card.unit)

    return {
        "form": FORM,
        "written_by": f"Neckarc {version()}",
        "client": card.client,
        "date": card.date.isoformat(),
        "order": card.order,
        "notes": card.notes,
        "unit": LengthUnit.CM.value,
        "words_in": card.unit.value,
        "for_cutting": not order.failed,
        "measurements": _measurements(order),
        "method": _method(order),
        "neckline": _neckline(order),
        "collar": _collar(order),
        "pieces": [
            {"code": piece.code, "title": piece.title, "cut": piece.cut.words()}
            for piece in order.pieces
        ],
        "checks": [
            {
                "name": text(check.name),
                "where": text(check.where),
                "measured": round(check.measured, 4),
                "wanted": round(check.target, 4),
                "or_more": check.least,
                "tolerance": round(check.tolerance, 4),
                "unit": check.unit,
                "verdict": check.verdict.value,
                "advice": text(check.advice),
                "source": text(check.source),
            }
            for check in order.checks
        ],
        "how_sure": how_sure(order),
        "remarks": [
            *(one.sentence(order.commission.unit) for one in order.unusual),
            *map(text, order.notes),
        ],
    }


def report_bytes(order: Garment) -> bytes:
    """The report as JSON (RFC 8259), keys in their order, two blanks deep."""
    return (json.dumps(report(order), ensure_ascii=False, indent=2) + "\n").encode("utf-8")


@memo_by_identity(2)
def _certainty(order: Garment) -> Certainty:
    """It takes a few drafts, and both the report for people and that for programs tell it."""
    return certainty(order)


def how_sure(order: Garment) -> dict[str, Any] | None:
    """What the errors of measuring make of neckline, collar and checks; ``None`` where the draft
    stands too near the edge of what can be drafted for it to be told.

    ``lines`` says the most needful of it in words. The ``chance`` of a check is how often the
    pieces do no harm on her real body, ``chance_within_tolerance`` how often they would pass there
    by the tolerance on paper.
    """
    try:
        found = _certainty(order)
    except DraftError:
        return None
    told = ("neckline.half", "neckline.back_arc", "neckline.front_arc", *_closed(found))
    numbers = [found.numbers[key] for key in told]
    rows = retakes(found)
    lines = [sure_line(found.numbers["neckline.half"], found)]
    lines += [sure_line(found.numbers[key], found, advice=False) for key in _closed(found)]
    if rows:
        lines.append(f"to measure again first: {retake_line(rows[0], order.commission.unit)}")
    room = room_chance(found)
    return {
        "numbers": [
            {
                "name": one.name,
                "value": round(one.value, 4),
                "standard_deviation": round(one.sd(found.readings), 4),
                "shares": {
                    root: round(share, 3)
                    for root, share in one.shares(found.readings).items()
                    if share >= 0.005
                },
            }
            for one in numbers
        ],
        "chance_of_room_for_the_neck": None if room is None else round(room, 4),
        "checks": [
            {
                "name": one.check.name,
                "where": one.check.where,
                "standard_deviation": round(one.sd, 4),
                "chance": round(one.chance, 4),
                "chance_within_tolerance": round(one.on_target, 4),
            }
            for one in found.checks
            if not one.settled
        ],
        "take_again": [row.reading.key for row in rows],
        "lines": lines,
    }


def _closed(found: Certainty) -> list[str]:
    closed = ("collar.closed_top_girth", "collar.closed_roll_girth")
    return [key for key in closed if key in found.numbers]


def _measurements(order: Garment) -> list[dict[str, Any]]:
    if order.body is None:
        return []
    reads = order.bodice.quantities.method.reads if order.bodice else frozenset()
    rows = []
    for key, measurement in measurements().items():
        if key not in order.commission.measurements and key not in reads:
            continue
        value = order.body[key]
        rows.append(
            {
                "key": key,
                "name": measurement.name,
                "standard": f"ISO 8559-1, {measurement.iso_number}"
                if measurement.iso_number
                else "",
                "value": round(degrees(value) if measurement.unit == "deg" else value, 3),
                "unit": measurement.unit,
                "estimated": order.body.is_estimated(key),
                "used": key in reads,
            }
        )
    return rows


def _method(order: Garment) -> dict[str, Any] | None:
    if order.bodice is None:
        return None
    method = order.bodice.quantities.method
    return {
        "key": method.key,
        "title": method.title,
        "source": written(method.source, order.commission.unit),
        "made_for": written(method.made_for, order.commission.unit),
    }


def _neckline(order: Garment) -> dict[str, Any]:
    line, unit = order.neckline, order.commission.unit
    told: dict[str, Any] = {
        "back_arc": round(line.back_arc, 4),
        "front_arc": round(line.front_arc, 4),
        "whole": round(2 * line.half, 4),
        "taped": line.from_tape,
    }
    if order.bodice is not None:
        fit = order.bodice.fit
        told |= {
            "as_drafted": round(fit.drafted, 4),
            "neck_base_with_ease": round(fit.target, 4),
            "fitted": round(fit.fitted, 4),
            "correction": written(fit.applied.said, unit) if fit.applied else "none",
            "other_corrections": [
                {
                    "key": c.key,
                    "said": written(c.said or c.refused, unit),
                    "possible": c.change is not None,
                }
                for c in fit.corrections
                if c is not fit.applied
            ],
        }
    return told


def _collar(order: Garment) -> dict[str, Any] | None:
    if order.collar is None:
        return None
    collar = COLLARS[order.collar.kind]
    return {
        "kind": order.collar.kind,
        "title": order.collar.title,
        "asked": dict(order.commission.collar.raw),
        "numbers": {
            key: round(degrees(value) if key.endswith("angle") else value, 4)
            for key, value in order.collar.numbers.items()
        },
        "sources": {
            key: written(source, order.commission.unit) for key, source in collar.sources.items()
        },
    }
