"""Every kind of collar there is, by the name a client card calls it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from blocks.component import Closing, Component, Wishes, registered
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.falls import one_piece_shirt, two_piece_shirt, wing
from collars.flat import eton, flat, sailor
from collars.lapels import notched, shawl
from collars.sewing import NECK_SEAM_CHECKS
from collars.stands import band, tie
from collars.stands.from_neck import ON_NECK
from collars.stands.neck_room import ROOM

Collar = Component[CollarBase, CollarDraft]
_LIES = "it is sewn to the neckline, which is held against her neck, and lies away from it"
_OPEN = "it lies open from the break down"


def _number(name: str, *checked_by: str) -> Closing[CollarDraft]:
    """Closed round the neck at one of the draft's numbers."""
    return Closing("neck", lambda drafted: drafted.numbers[name], frozenset(checked_by))


def _to_arcs(
    kind: str,
    draft: Callable[[Neckline, Wishes], CollarDraft],
    closes: Closing[CollarDraft],
) -> Collar:
    """A collar drafted from the neckline's arcs alone."""
    return Component(
        "collar",
        kind,
        lambda ground, wishes: draft(ground.neckline, wishes),
        closes,
        frozenset(NECK_SEAM_CHECKS),
    )


def _on_block(
    kind: str, draft: Callable[[CollarBase, Wishes], CollarDraft], open_because: str
) -> Collar:
    """A collar drafted on the front and back pieces."""
    return Component("collar", kind, draft, open_because, needs_block=True)


COLLARS: Mapping[str, Collar] = registered(
    (
        _to_arcs(
            two_piece_shirt.KIND, two_piece_shirt.draft, _number("closed_top_girth", ROOM, ON_NECK)
        ),
        _to_arcs(band.KIND, band.draft, _number("closed_top_girth", ROOM, ON_NECK)),
        _to_arcs(
            one_piece_shirt.KIND,
            one_piece_shirt.draft,
            _number("closed_roll_girth", one_piece_shirt.ROOM),
        ),
        _to_arcs(wing.KIND, wing.draft, _number("closed_top_girth", ROOM, ON_NECK)),
        _to_arcs(tie.KIND, tie.draft, _number("closed_neck_girth", tie.ROOM)),
        _on_block(flat.KIND, flat.draft, _LIES),
        _on_block(eton.KIND, eton.draft, _LIES),
        _on_block(sailor.KIND, sailor.draft, _OPEN),
        _on_block(shawl.KIND, shawl.draft, _OPEN),
        _on_block(notched.KIND, notched.draft, _OPEN),
    )
)
