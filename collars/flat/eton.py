"""The partly rolled collar (Eton): drawn like the flat collar with more overlap at the shoulder, so
that it rolls over a low stand. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping

from collars.drafts import CollarBase, CollarDraft
from collars.flat.draft import LaidKind, draft_laid
from collars.flat.flat import free_edges
from drafting.sentences import length

KIND = "eton"


def draft(ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft upper and under collar on a block's neckline.

    ``wishes`` are parameters of ``data/collars/eton.toml`` in centimetres, radians and words; what
    is left out stands at its default. Raises :class:`DraftError` listing everything that cannot be
    drafted, each with what can.
    """
    return draft_laid(_ETON, ground, wishes)


_ETON = LaidKind(
    KIND,
    free_edges,
    width="width",
    most_stand=2.0,
    stand_source=f"viene.ru, chapter on collars: half-standing is up to {length(2.0, places=0)}",
)
