"""The flat collar (Peter Pan): traced from front and back laid together, it lies on the shoulders
with hardly a stand. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping

from collars.drafts import CollarBase, CollarDraft
from collars.flat.draft import LaidKind, draft_laid
from collars.flat.neck_edge import NeckEdge
from collars.flat.pieces import FreeEdges, OuterShape, draw_free_edges
from collars.laid_shoulders import Laid
from collars.parameters import Values
from drafting.sentences import length

KIND = "flat"


def draft(ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft upper and under collar on a block's neckline.

    ``wishes`` are parameters of ``data/collars/flat.toml`` in centimetres, radians and words; what
    is left out stands at its default. Raises :class:`DraftError` listing everything that cannot be
    drafted, each with what can.
    """
    return draft_laid(_FLAT, ground, wishes)


def free_edges(laid: Laid, neck: NeckEdge, values: Values) -> FreeEdges:
    """Round the neck edge in one width, the front corner pointed, rounded or square.

    Raises :class:`DraftError` when that cannot be drawn.
    """
    word, front = values.word("point"), values.number("width_front")
    square = word == "square"
    return draw_free_edges(
        neck,
        OuterShape(
            back=values.number("width"),
            front=front,
            point=front if square else values.number("point_length"),
            lean=0.0 if square else values.number("point_lean"),
            radius=values.number("point_radius") if word == "rounded" else 0.0,
            halves=values.word("made") == "two halves",
        ),
    )


_FLAT = LaidKind(
    KIND,
    free_edges,
    width="width",
    most_stand=1.0,
    stand_source=f"viene.ru, chapter on collars: flat is under {length(1.0, places=0)}",
)
