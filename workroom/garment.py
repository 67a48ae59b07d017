"""From a card to the bodice that is to be cut: drafted, made up, and finished as the card asks.

Strung together once, in the order in which a cutter does it. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from blocks.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.body import Body, complete
from blocks.checks import check_bodice
from blocks.making_up import make_up, seams
from blocks.neck import NeckChange
from drafting.checks import Check
from drafting.pieces import Piece, Seam
from workroom.card import Card

_NO_STYLE: Mapping[str, float | str] = MappingProxyType({})


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


def make_bodice(card: Card, style: Mapping[str, float | str] = _NO_STYLE) -> Bodice:
    """The bodice of a card; ``style`` is the style neckline its collar is made for, which stands
    when the card asks for none. Raises :class:`DraftError`."""
    body = complete(card.measurements)
    draft = draft_bodice(body, _block_wish(card, style))
    back, front = make_up(draft)
    return Bodice(
        body=body,
        draft=draft,
        back=back,
        front=front,
        seams=seams(draft),
        checks=check_bodice(draft, back, front),
        notes=draft.notes,
    )


def _block_wish(card: Card, style: Mapping[str, float | str]) -> BlockWish:
    wish = card.neckline
    asked = wish.style or style
    lower, widen, back = (
        float(asked.get(key, 0.0)) for key in ("front_lower", "side_widen", "back_lower")
    )
    change = NeckChange(-lower, widen, back)
    return BlockWish(
        method=card.garment.method,
        fit=wish.fit,
        neck_ease=wish.ease,
        style=None if change == NeckChange() else change,
        button_stand=card.garment.button_stand or 0.0,
        neck_shape=str(asked.get("shape", "round")),
    )
