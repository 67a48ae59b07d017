"""One look at the desk: what was typed, drafted, checked and drawn. Nothing is saved.

What comes in is a card's content as plain values; what goes out is ready for the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import tomli_w

from blocks.measures import measurements
from drafting.checks import Verdict
from drafting.errors import CardError, NeckarcError, Problem
from drafting.units import LengthUnit, format_length, sentence_in
from workroom.card import Card
from workroom.desk.picture import live_picture
from workroom.order import Order, make_order, read_card_text
from workroom.screen import estimated_lines, neckline_lines, shown, wanted

#: The name cards made at the desk go by in messages.
NAME = "desk"


@dataclass(frozen=True, slots=True)
class Look:
    """What the page shows. ``order`` is ``None`` when nothing could be drafted."""

    told: Mapping[str, Any]
    order: Order | None


def card_text(content: Mapping[str, Any]) -> str:
    """A card's content as TOML; what is empty is left out."""
    return tomli_w.dumps(_kept(content))


def look_at(content: Mapping[str, Any]) -> Look:
    """Draft a card's content and tell all the page needs.

    Never raises for what a person may type: mistakes come back by key.
    """
    try:
        text = card_text(content)
    except (TypeError, ValueError) as error:
        return Look({"problems": [_told(Problem(f"this cannot be read: {error}"))]}, None)
    try:
        card = read_card_text(text, NAME)
    except CardError as error:
        return Look({"problems": [_told(problem) for problem in error.problems]}, None)
    try:
        order = make_order(card)
    except NeckarcError as error:
        told = [
            _told(p.said_by(lambda words: sentence_in(words, card.unit))) for p in error.problems
        ]
        return Look({"problems": told, "unusual": []}, None)
    return Look(_told_order(order, card), order)


def _told_order(order: Order, card: Card) -> dict[str, Any]:
    unit = card.unit
    picture = live_picture(order.pieces, order.seams, unit)
    return {
        "problems": [],
        "unusual": [
            {"key": one.key, "said": one.sentence(unit), "severity": one.severity}
            for one in order.unusual
        ],
        "estimated": _estimated(order, unit),
        "estimates": estimated_lines(order),
        "svg": picture.svg,
        "neckline": neckline_lines(order),
        "neck": _neck(order, unit),
        "checks": _checks(order, unit),
        "notes": [sentence_in(note, unit) for note in order.notes],
        "stamp": order.stamp or "",
        "numbers": _numbers(order, unit),
    }


def _estimated(order: Order, unit: LengthUnit) -> dict[str, str]:
    """The values of measurements that were not taken, as they may be shown."""
    if order.body is None:
        return {}
    found = {}
    for key in order.body.estimated:
        measurement, value = measurements()[key], order.body[key]
        found[key] = (
            f"{measurement.shown(value):.0f}°"
            if measurement.unit == "deg"
            else format_length(value, unit)
        )
    return found


def _neck(order: Order, unit: LengthUnit) -> dict[str, Any]:
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
                    "said": sentence_in(correction.said or correction.refused, unit),
                    "possible": correction.change is not None,
                    "applied": correction is fit.applied,
                }
                for correction in fit.corrections
            ],
        }
    return told


def _checks(order: Order, unit: LengthUnit) -> list[dict[str, str]]:
    """Failed ones first, then those to look at, then the rest."""
    rank = {Verdict.FAIL: 0, Verdict.NOTE: 1, Verdict.PASS: 2}
    codes = {piece.title: piece.code for piece in order.pieces}
    return [
        {
            "name": check.name,
            "where": check.where,
            "piece": _piece_of(check.where, codes),
            "verdict": check.verdict.value,
            "measured": shown(check.measured, check, unit),
            "wanted": wanted(check, unit),
            "advice": sentence_in(check.advice, unit),
            "source": check.source,
        }
        for check in sorted(order.checks, key=lambda check: rank[check.verdict])
    ]


def _piece_of(where: str, codes: Mapping[str, str]) -> str:
    """The code of the piece a check is about; empty when it is about none alone."""
    first = where.split(",")[0].strip()
    return codes.get(first, first if first in codes.values() else "")


def _numbers(order: Order, unit: LengthUnit) -> list[tuple[str, str]]:
    if order.collar is None:
        return []
    return [
        (key.replace("_", " "), _shown(key, value, unit))
        for key, value in order.collar.numbers.items()
    ]


def _shown(key: str, value: float, unit: LengthUnit) -> str:
    from math import degrees

    if key.endswith("angle"):
        return f"{degrees(value):.1f}°"
    return format_length(value, unit, places=2)


def _told(problem: Problem) -> dict[str, str]:
    return {
        "key": problem.key,
        "said": problem.said,
        "got": problem.got,
        "accepted": problem.accepted,
        "advice": problem.advice,
    }


def _kept(value: Any) -> Any:
    """Tables without empty texts and nothings."""
    if isinstance(value, Mapping):
        kept = {str(key): _kept(one) for key, one in value.items()}
        return {key: one for key, one in kept.items() if one not in ("", None, {})}
    return value
