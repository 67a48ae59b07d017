"""The order of making of an order: what to sew after what, with its own numbers.

The sentences stand in ``data/making.toml``.
"""

from __future__ import annotations

import string
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from collars.parameters import settled as settle_collar
from drafting.errors import DataError, Problem
from drafting.library import read_data
from drafting.pieces import EdgeName, MarkKind, Piece
from drafting.units import format_length
from workroom.options import settled
from workroom.order import ALLOWANCE_OF, Order


@dataclass(frozen=True, slots=True)
class Making:
    """The steps in order, and the cautions."""

    steps: tuple[str, ...]
    cautions: tuple[str, ...]

    def lines(self) -> list[str]:
        """For a text file."""
        steps = [f"{number}. {said}" for number, said in enumerate(self.steps, start=1)]
        return ["Order of making", "", *steps, "", "Take care", "", *self.cautions]


def order_of_making(order: Order) -> Making:
    """The steps for an order's collar and garment. Raises :class:`DataError` when the data speaks
    of a number there is not."""
    values = read_data("making").values
    kind = order.collar.kind if order.collar else "none"
    true, numbers = _true(order), _numbers(order)
    steps = [row for row in values["before"] if row.get("when", "") in true]
    steps += [{"said": said} for said in _collar_steps(values, kind)]
    steps += [row for row in values["after"] if row.get("when", "") in true]
    return Making(
        tuple(_filled(str(row["said"]), numbers) for row in steps),
        tuple(values["cautions"]["said"]),
    )


def _collar_steps(values: Mapping[str, Any], kind: str) -> list[str]:
    try:
        return list(values["collars"][kind]["steps"])
    except KeyError:
        raise DataError(Problem(f"no order of making for the {kind} collar")) from None


def _true(order: Order) -> set[str]:
    """What applies to this order, for a step's ``when``."""
    pieces = order.pieces
    found = {""}
    if any(piece.named(EdgeName.SHOULDER) and piece.named(EdgeName.SIDE_SEAM) for piece in pieces):
        found.add("bodice")
    if any(piece.named(EdgeName.HEM) for piece in pieces):
        found.add("hem")
    if any(piece.cut.interfacing for piece in pieces):
        found.add("interfaced")
    if any(piece.darts for piece in pieces):
        found.add("darts")
    if any(e.name is EdgeName.CENTRE_BACK and not e.on_fold for e in _body_edges(pieces)):
        found.add("centre back seam")
    if any(mark.kind is MarkKind.BUTTONHOLE for piece in pieces for mark in piece.marks):
        found.add("buttonholes")
    return found


def _body_edges(pieces: tuple[Piece, ...]) -> list[Any]:
    return [edge for piece in pieces if piece.named(EdgeName.SCYE) for edge in piece.edges]


def _numbers(order: Order) -> dict[str, str]:
    unit, garment = order.card.unit, order.card.garment

    def length(value: float) -> str:
        return format_length(value, unit, places=1 if value >= 1.0 else 2)

    finish = settled("finish", garment.asked.get("finish", {}))
    known = {
        "neckline": length(2 * order.neckline.half),
        "back_arc": length(order.neckline.back_arc),
        "front_arc": length(order.neckline.front_arc),
        "neck_seam": length(order.neckline.half),
        "neckline_allowance": length(garment.allowance("neckline")),
        "collar_allowance": length(garment.allowance(ALLOWANCE_OF[EdgeName.OUTER_EDGE])),
        "button": length(finish["button"]),
        "hem": length(finish["hem"]),
        "interfaced": ", ".join(
            f"{piece.title.lower()} ({piece.cut.interfacing})"
            for piece in order.pieces
            if piece.cut.interfacing
        ),
    }
    for name in (EdgeName.SHOULDER, EdgeName.SIDE_SEAM):
        sewn = [piece.length(name) for piece in order.pieces if piece.named(name)]
        if sewn:
            known[name.value.replace(" ", "_")] = length(min(sewn))
    if order.collar is None:
        return known
    told = dict(order.collar.numbers)
    values, _ = settle_collar(order.collar.kind, order.card.collar.values)
    if "turn_of_cloth" in values.given:
        told.setdefault("turn_of_cloth", values.number("turn_of_cloth"))
    return {key: length(value) for key, value in told.items()} | known


def _filled(said: str, numbers: Mapping[str, str]) -> str:
    names = [name for _, name, _, _ in string.Formatter().parse(said) if name]
    strangers = [name for name in names if name not in numbers]
    if strangers:
        raise DataError(
            Problem(
                f"the order of making speaks of {', '.join(strangers)}",
                place="making.toml",
                accepted=", ".join(numbers),
            )
        )
    return said.format(**numbers)
