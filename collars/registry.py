"""Every kind of collar there is, by the name a client card calls it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from blocks.neckline import Neckline
from collars import two_piece_shirt
from collars.drafts import CollarDraft
from collars.parameters import collar_sheet
from drafting.parameters import ParameterRule

Drafter = Callable[[Neckline, Mapping[str, float | str]], CollarDraft]


@dataclass(frozen=True, slots=True)
class Collar:
    """A kind of collar. ``draft`` takes a neckline and wishes (centimetres, radians, words);
    ``needs_block`` says that a taped neckline is not enough for it. ``sources`` says of each
    parameter where its figures are from."""

    kind: str
    title: str
    parameters: Mapping[str, ParameterRule]
    sources: Mapping[str, str]
    draft: Drafter
    needs_block: bool


def _collar(kind: str, draft: Drafter, *, needs_block: bool) -> Collar:
    sheet = collar_sheet(kind)
    sources = {key: parameter.source for key, parameter in sheet.parameters.items()}
    return Collar(kind, sheet.title, sheet.rules, MappingProxyType(sources), draft, needs_block)


COLLARS: Mapping[str, Collar] = MappingProxyType(
    {
        collar.kind: collar
        for collar in (_collar(two_piece_shirt.KIND, two_piece_shirt.draft, needs_block=False),)
    }
)
