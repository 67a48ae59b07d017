"""What holds of an order, in the words by which the steps of making ask for it, and its lengths.

Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from blocks.edges import EdgeName
from blocks.finishing.front_edge import figures as front_edge_figures
from drafting.pieces.assembly import Assembly, Place, carried_on
from drafting.pieces.piece import EdgeKind, MarkKind, Piece
from garment.garment import Garment
from garment.options import resolve_options

#: A collar of these parts shuts in its own neck seam when it is closed.
_COLLAR = "collar", "stand"
#: The piece of it that is sewn to the neckline.
_BANDS = frozenset({"STAND", "BAND", "OUTSIDE", "TIE"})


@dataclass(frozen=True, slots=True)
class Facts:
    """An order as the steps of making see it. ``true`` are the words that hold of it, ``lengths``
    its lengths by name."""

    order: Garment
    assembly: Assembly
    parts: Mapping[str, str]
    true: frozenset[str]
    lengths: Mapping[str, float]

    def part(self, code: str) -> str:
        """The part a piece belongs to."""
        return self.parts.get(code, "")

    def turned_under(self, place: Place) -> bool:
        """Whether an edge lies on a facing, behind the front once it is finished."""
        code, index = place
        piece = self.assembly.pieces[code]
        if self.part(code) == "facing":
            return True
        folds = [notch.edge for notch in piece.notches if notch.name == "fold"]
        return len(folds) == 2 and folds[0] <= index < folds[1]


def facts_of(
    order: Garment, assembly: Assembly, parts: Mapping[str, str], figures: Mapping[str, float]
) -> Facts:
    """What holds of an order."""
    true = frozenset(_true(order, assembly, parts))
    lengths = _lengths(order) | dict(figures)
    return Facts(order, assembly, parts, true, lengths)


def second_layers(order: Garment) -> tuple[Piece, ...]:
    """Pieces of a collar that are cut twice and sewn to each other: an outer and an inner layer."""
    twins = {s.first.piece for s in order.seams if s.first == s.second}
    return tuple(
        piece
        for piece in order.pieces
        if piece.code in twins and piece.cut.cloth == 2 and piece.cut.on_fold
    )


def foot_of(piece: Piece, place: int) -> str:
    """What an edge is called when it is finished: by its name, the end of a button stand by what
    it goes on."""
    edge = piece.edges[place]
    if edge.name is not EdgeName.BUTTON_STAND_END:
        return edge.name.value
    goes_on = carried_on(piece.edges, place)
    words: dict[EdgeKind, str] = {
        EdgeName.HEM: "hem",
        EdgeName.WAIST: "waist",
        EdgeName.NECKLINE: "neck",
    }
    return f"{edge.name.value} at the {words[goes_on]}" if goes_on in words else edge.name.value


def _true(order: Garment, assembly: Assembly, parts: Mapping[str, str]) -> Iterator[str]:
    pieces, seams, collar = assembly.pieces, order.seams, order.collar
    front = pieces.get("FRONT")
    facings = [piece for code, piece in pieces.items() if parts.get(code) == "facing"]
    yield from (f"has {code}" for code in pieces)
    if any(piece.cut.interfacing for piece in pieces.values()):
        yield "interfaced"
    closes = bool(second_layers(order)) or bool({"INSIDE", "TIE"} & set(pieces))
    if collar is not None:
        yield "collar"
        yield collar.kind
        if closes:
            yield "collar closes over the seam"
        if any(key.startswith("closed_") for key in collar.numbers):
            yield "closes round the neck"
        if collar.button_in_stand:
            yield "button in collar"
    if front is None:
        return
    yield "bodice"
    lapel = False
    for name in (EdgeName.NECKLINE, EdgeName.GORGE, EdgeName.NECK_SEAM, EdgeName.CENTRE_BACK):
        if front.named(name):
            yield f"front {name.value}"
    if front.named(EdgeName.GORGE):
        yield "gorge"
        lapel = True
    if front.named(EdgeName.CENTRE_BACK):
        yield "grown on"
        lapel = True
    if lapel:
        yield "lapel"
    cut_on = bool(front.named(EdgeName.FACING_EDGE))
    if cut_on:
        yield "facing cut on"
    if "FRONT-FACING" in pieces:
        yield "front facing"
    if cut_on or "FRONT-FACING" in pieces:
        yield "front faced"
    if cut_on or facings:
        yield "faced"
    feet = EdgeName.HEM, EdgeName.WAIST
    if cut_on or any(piece.named(foot) for piece in facings for foot in feet):
        yield "faced to the foot"
    if "BIAS" in pieces:
        yield "bias strip"
    for seam in seams:
        sides = {parts.get(seam.first.piece): seam.first, parts.get(seam.second.piece): seam.second}
        inner = sides.get("bodice")
        if inner and set(_COLLAR) & set(sides) and inner.edge is EdgeName.BUTTON_STAND_END:
            yield "collar to the front edge"
    if closes and not any(_runs_on(pieces[code]) for code in _BANDS & set(pieces)):
        yield "collar ends before the front edge"
    if order.bodice is not None and order.bodice.wish.neck_shape == "v":
        yield "v neck"
    if any(mark.kind is MarkKind.BUTTONHOLE for mark in front.marks):
        yield "buttonholes"


def _runs_on(band: Piece) -> bool:
    """Whether a band goes on beyond centre front, along a button stand."""
    first = band.place(EdgeName.NECK_SEAM)
    return band.edges[first + 2].name is EdgeName.NECK_SEAM


def _lengths(order: Garment) -> dict[str, float]:
    garment, neckline = order.commission.garment, order.neckline
    finish = resolve_options("finish", garment.asked.get("finish", {}))
    known = dict(order.collar.numbers) if order.collar else {}
    known |= {
        "whole_neckline": 2 * neckline.half,
        "half_neckline": neckline.half,
        "whole_back_neckline": 2 * neckline.back_arc,
        "back_arc": neckline.back_arc,
        "front_arc": neckline.front_arc,
        "neckline_allowance": garment.allowance("neckline"),
        "button": finish["button"],
        "hem_depth": finish["hem"],
    }
    bias = next((p for p in order.pieces if p.code == "BIAS"), None)
    if bias is not None:
        known["neck_strip"] = bias.length(EdgeName.NECK_SEAM)
    band = next((p for p in order.pieces if p.code in _BANDS), None)
    if band is not None and order.bodice is not None:
        front = band.named(EdgeName.NECK_SEAM)[1].length
        known["beyond_collar"] = neckline.front_arc - front + order.bodice.wish.button_stand
    holes = [
        mark.curve.length
        for piece in order.pieces
        for mark in piece.marks
        if mark.kind is MarkKind.BUTTONHOLE
    ]
    if holes:
        known["buttonhole"] = holes[0]
    if order.bodice is not None:  # it reaches beyond centre front, as a facing does
        known["front_strip_width"] = (
            order.bodice.wish.button_stand
            + front_edge_figures("facing")["past_centre"]
            + 2 * garment.allowance("front_edge")
        )
    return known
