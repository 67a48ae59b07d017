"""From a card to the bodice that is to be cut: drafted, made up, lengthened, its darts arranged.

Strung together once, in the order in which a cutter does it. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up, seams
from blocks.body.body import Body, complete
from blocks.body.ease import EaseWish
from blocks.darts.darts import Arranged, DartWish, arrange_darts, check_darts
from blocks.darts.wish import DRAFTED
from blocks.edges import EdgeName
from blocks.finishing.front_edge import button_stand_for
from blocks.hip.hip import to_hip
from blocks.neckline.on_block import NeckChange
from drafting.errors import DraftError
from drafting.memo import memo_by_value
from drafting.pieces.checks import Check
from drafting.pieces.piece import Piece, Seam, Stretch
from drafting.sentences import keep_values
from drafting.tolerances import SEAM
from garment.options import resolve_options
from garment.toile import Fitted, fitted
from garment.wishes import Commission, GarmentWish

_NO_STYLE: Mapping[str, float | str] = MappingProxyType({})
_HIP_KEYS = {
    "length": "garment.length.below_waist",
    "hip_ease": "garment.ease.hip",
    "hip_girth": "measurements.hip_girth",
}


@dataclass(frozen=True, slots=True)
class Bodice:
    """A bodice ready for its collar."""

    body: Body
    draft: BodiceDraft
    back: Piece
    front: Piece
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")


def make_bodice(
    card: Commission, style: Mapping[str, float | str] = _NO_STYLE, body: Body | None = None
) -> Bodice:
    """The bodice of a card; ``style`` is the style neckline its collar is made for, which stands
    when the card asks for none, ``body`` one to draft to in place of what the card's measurements
    come to. Raises :class:`DraftError`."""
    wish = _block_wish(card, style, fitted(card))
    return _made(body or complete(card.measurements), card.garment, wish)


@memo_by_value(4)
def _made(body: Body, garment: GarmentWish, wish: BlockWish) -> Bodice:
    """What :func:`make_bodice` makes; kept, for another collar leaves the bodice as it is."""
    draft = draft_bodice(body, wish)
    back, front = make_up(draft)
    checks = check_bodice(draft, back, front)
    notes = draft.notes
    length = resolve_options("length", garment.asked.get("length", {}))
    if length["to"] == "hip":
        try:
            longer = to_hip(
                draft, back, front, hip_ease=draft.ease.hip, length=length["below_waist"]
            )
        except DraftError as error:
            raise keyed(error, _HIP_KEYS) from error
        back, front = longer.back, longer.front
        checks, notes = checks + longer.checks, notes + longer.notes
    arranged = _arranged(back, front, garment)
    return Bodice(
        body=body,
        draft=draft,
        back=arranged.back,
        front=arranged.front,
        seams=_seams(draft, arranged),
        checks=checks + check_darts(back, front, arranged),
        notes=notes + arranged.notes,
    )


def button_stand(garment: GarmentWish) -> float:
    """The button stand beyond centre front: as asked, else what the buttons need. One thinner than
    can be sewn is none: its edge would be a point to whoever looks for edges."""
    if garment.button_stand is not None:
        return garment.button_stand if garment.button_stand > SEAM else 0.0
    button = resolve_options("finish", garment.asked.get("finish", {}))["button"]
    try:
        return button_stand_for(button)
    except DraftError as error:
        raise keyed(error, {"button": "garment.finish.button"}) from error


def keyed(error: DraftError, keys: Mapping[str, str]) -> DraftError:
    """The same error with the keys a card knows."""
    return DraftError([replace(p, key=keys.get(p.key, p.key)) for p in error.problems])


def _seams(draft: BodiceDraft, arranged: Arranged) -> tuple[Seam, ...]:
    sewn = [
        replace(seam, ease=seam.ease + arranged.shoulder_ease) if seam.name == "shoulder" else seam
        for seam in seams(draft)
    ]
    if any(not edge.on_fold for edge in arranged.front.named(EdgeName.CENTRE_FRONT)):
        centre = Stretch(arranged.front.code, EdgeName.CENTRE_FRONT)
        sewn.insert(0, Seam("centre front", centre, centre))  # a dart opens there: no fold any more
    return tuple(sewn)


def _arranged(back: Piece, front: Piece, garment: GarmentWish) -> Arranged:
    """Both pieces with their darts as asked. A bust dart that nobody placed goes to the side seam,
    or stays where the method draws it when the side seam has no room for it, or its other half."""
    written = garment.asked.get("darts", {})
    wish = _dart_wish(garment)
    if written.get("bust") is not None:
        return arrange_darts(back, front, wish)
    as_drawn = replace(wish, bust=DRAFTED)
    if wish.second == wish.bust:
        return arrange_darts(back, front, as_drawn)
    try:
        return arrange_darts(back, front, wish)
    except DraftError as error:
        arranged = arrange_darts(back, front, as_drawn)
        why = f"The bust dart stays in the armhole: {error.problems[0].said}."
        return replace(arranged, notes=(*arranged.notes, why))


def _dart_wish(garment: GarmentWish) -> DartWish:
    asked: Mapping[str, Any] = resolve_options("darts", garment.asked.get("darts", {}))
    return DartWish(
        bust=asked["bust"],
        second=asked["second"] or "",
        share=asked["share"] if asked["second"] else 1.0,
        at=asked["at"],
        held_back=asked["held_back"],
        back=asked["back"],
        waist=asked["waist"],
    )


def _block_wish(card: Commission, style: Mapping[str, float | str], seen: Fitted) -> BlockWish:
    wish = card.neckline
    asked = wish.style or style
    lower, widen, back = (
        float(asked.get(key, 0.0)) for key in ("front_lower", "side_widen", "back_lower")
    )
    change = NeckChange(-lower, widen, back)
    ease = resolve_options("ease", card.garment.asked.get("ease", {}))
    return BlockWish(
        method=card.garment.method,
        fit=wish.fit,
        neck_ease=wish.ease + seen.neck_ease,
        style=None if change == NeckChange() else change,
        button_stand=button_stand(card.garment),
        neck_shape=str(asked.get("shape", "round")),
        ease=EaseWish(**{**ease, "named": ease["named"] or ""}, more=seen.ease),
        toile=None if seen.neck == NeckChange() else seen.neck,
    )
