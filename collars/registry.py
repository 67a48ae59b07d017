"""Every kind of collar there is, by the name a client card calls it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft, Ground
from collars.falls import one_piece_shirt, two_piece_shirt, wing
from collars.flat import eton, flat, sailor
from collars.lapels import notched, shawl
from collars.parameters import collar_sheet
from collars.stands import band, tie
from drafting.parameters import ParameterRule

Wishes = Mapping[str, float | str]
Drafter = Callable[[Ground, Wishes], CollarDraft]


@dataclass(frozen=True, slots=True)
class Collar:
    """A kind of collar. ``draft`` takes what lies on the table and wishes (centimetres, radians,
    words); ``needs_block`` says that a taped neckline is not enough for it. ``sources`` says of
    each parameter where its figures are from. ``neckline`` is the style neckline it is made for,
    which stands when the card asks for none."""

    kind: str
    title: str
    parameters: Mapping[str, ParameterRule]
    sources: Mapping[str, str]
    draft: Drafter
    needs_block: bool
    neckline: Mapping[str, float | str]


def _to_arcs(kind: str, draft: Callable[[Neckline, Wishes], CollarDraft]) -> Collar:
    """A collar drafted from the neckline's arcs alone."""
    return _collar(kind, lambda ground, wishes: draft(ground.neckline, wishes), needs_block=False)


def _on_block(kind: str, draft: Drafter) -> Collar:
    """A collar drafted on the front and back pieces."""
    return _collar(kind, draft, needs_block=True)


def _collar(kind: str, draft: Drafter, *, needs_block: bool) -> Collar:
    sheet = collar_sheet(kind)
    sources = {key: parameter.source for key, parameter in sheet.parameters.items()}
    return Collar(
        kind,
        sheet.title,
        sheet.rules,
        MappingProxyType(sources),
        draft,
        needs_block,
        sheet.neckline,
    )


COLLARS: Mapping[str, Collar] = MappingProxyType(
    {
        collar.kind: collar
        for collar in (
            _to_arcs(two_piece_shirt.KIND, two_piece_shirt.draft),
            _to_arcs(band.KIND, band.draft),
            _to_arcs(one_piece_shirt.KIND, one_piece_shirt.draft),
            _to_arcs(wing.KIND, wing.draft),
            _to_arcs(tie.KIND, tie.draft),
            _on_block(flat.KIND, flat.draft),
            _on_block(eton.KIND, eton.draft),
            _on_block(sailor.KIND, sailor.draft),
            _on_block(shawl.KIND, shawl.draft),
            _on_block(notched.KIND, notched.draft),
        )
    }
)
