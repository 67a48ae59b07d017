"""The band collar (mandarin, stand-up collar): a stand on its own, cut twice alike.

From half a neckline's arcs, so it can be drafted to a paper block with a tape alone. Centimetres
and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft, Standing
from collars.parameters import collar_sheet, refuse, resolve_parameters
from collars.sewing import (
    fold_checks,
    neck_seam_checks,
    neck_seams,
    tape_notes,
    twin_seams,
)
from collars.stands.from_neck import chosen_rise
from collars.stands.neck_room import stand_room
from collars.stands.stand import (
    BUTTON_NEEDS,
    draw_stand,
    interfaced,
    stand_checks,
    stand_notes,
    stand_numbers,
    stand_piece,
    stand_problems,
    stand_shape,
)
from drafting.pieces.piece import CutPlan
from drafting.sentences import length

KIND = "band"
BAND = "BAND"


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a band to a neckline.

    ``wishes`` are parameters of ``data/collars/band.toml`` in centimetres and words; what is left
    out stands at its default. The client card's button stand goes in as ``button_stand``. Raises
    :class:`DraftError` listing everything that cannot be drafted, each with what can.
    """
    values, _ = resolve_parameters(KIND, wishes)
    ends = values.word("ends")
    beyond = values.number("button_stand") if ends == "overlap" else 0.0
    gap = values.number("gap") if ends == "short" else 0.0
    chosen = chosen_rise(KIND, neckline, wishes, gap)
    values, problems = resolve_parameters(KIND, chosen.wishes)
    problems += chosen.problems
    sewn = replace(neckline, front_arc=neckline.front_arc - gap)
    shape = stand_shape(sewn, values, beyond=beyond, past_front=beyond == 0.0)
    refuse(problems, stand_problems(sewn, shape))
    stand = draw_stand(sewn, shape)
    piece = stand_piece(
        stand,
        CutPlan(cloth=2, interfacing=interfaced(values), on_fold=True),
        code=BAND,
        title="Band collar",
        top_name=EdgeName.OUTER_EDGE,
    )
    if gap:
        piece = replace(piece, marks=())  # its end is not centre front
    room, rise_for_neck = stand_room(KIND, sewn, stand, values, BAND, gap, chosen.neck)
    known = {**stand_numbers(stand), **rise_for_neck}
    known["closed_neck_girth"] += 2 * gap
    known["closed_top_girth"] += 2 * gap
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=(piece,),
        seams=(
            *neck_seams(neckline, BAND, gap),
            *twin_seams(piece, (EdgeName.COLLAR_END, EdgeName.OUTER_EDGE)),
        ),
        checks=(
            *neck_seam_checks(piece, sewn),
            *stand_checks(piece, stand),
            room,
            *fold_checks(piece),
        ),
        numbers=known,
        notes=(
            *chosen.notes,
            *stand_notes(stand, values),
            *_ends(shape.button_stand, gap),
            *tape_notes(neckline),
        ),
        button_in_stand=shape.button_stand >= BUTTON_NEEDS,
        leans_on=chosen.leans_on,
        standing=Standing(),
        on_body=chosen.on_body,
    )


def _ends(beyond: float, gap: float) -> tuple[str, ...]:
    """How a band that does not overlap is closed."""
    if beyond > 0.0:
        return ()
    where = f"ends {length(gap)} short of centre front" if gap else "ends at centre front"
    return (
        f"The band {where}: set a notch on the front neckline there. A button stand of the front "
        "lies beyond it and is finished by the facing.",
        "Close the ends with hook and eye or a loop, or leave them open; a front cut on the fold "
        "needs another opening that lets the head through.",
    )
