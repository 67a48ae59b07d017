"""The shirt collar of two parts: a stand sewn to the neckline, and a fall sewn to the stand.

Pieces: the stand (cut two alike), upper collar and under collar, each half on the fold. All from
half a neckline's arcs, so it can be drafted to a paper block with a tape alone. Centimetres and
radians.
"""

from __future__ import annotations

from collections.abc import Mapping

from blocks.neckline import Neckline
from collars.drafts import CollarDraft
from collars.fall import Fall, FallShape, draw_fall, fall_piece
from collars.fall_from_shoulders import (
    chosen_fall,
    fall_on_body,
    fall_rise_by,
    shoulder_checks,
)
from collars.fall_limits import cover_problems, fall_problems
from collars.neckroom import stand_room
from collars.parameters import Values, collar_sheet, settled
from collars.sewing import fold_checks, layer_seams, neck_seam_checks, neck_seams, twin_seams
from collars.stand import Stand, draw_stand, stand_problems, top_length
from collars.stand_checks import stand_checks
from collars.stand_from_neck import chosen_rise
from collars.stand_piece import stand_piece
from collars.two_piece_shirt_checks import (
    STAND,
    UNDER,
    UPPER,
    fall_checks,
    notes,
    numbers,
)
from collars.wishes import interfaced, seen, stand_shape
from drafting.errors import DraftError
from drafting.pieces import CutPlan, EdgeName, Piece, Seam, Stretch

KIND = "two-piece shirt"


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft stand, upper collar and under collar to a neckline.

    ``wishes`` are parameters of ``data/collars/two-piece-shirt.toml`` in centimetres, radians and
    words; what is left out stands at its default. The client card's button stand goes in as
    ``button_stand``. Raises :class:`DraftError` listing everything that cannot be drafted, each
    with what can.
    """
    chosen = chosen_rise(KIND, neckline, wishes)
    values, problems = settled(KIND, chosen.wishes)
    problems += chosen.problems
    refused = {problem.key for problem in problems}
    shape = stand_shape(neckline, values)
    impossible = stand_problems(neckline, shape)
    seam, fallen = None, _fall_shape(neckline, values)
    said: tuple[str, ...] = ()
    if not impossible:
        seam = top_length(neckline, shape) - seen(values.number("setback"))
        fallen, refusal, said = chosen_fall(neckline, shape, seam, fallen, values)
        impossible += refusal
    impossible += fall_problems(seam, fallen)
    impossible += cover_problems(
        values.number("fall_back"), values.number("stand_back"), values.number("turn_of_cloth")
    )
    problems += [problem for problem in impossible if problem.key not in refused]
    if problems:
        raise DraftError(problems)
    stand = draw_stand(neckline, shape)
    fall = draw_fall(
        stand.top.length - seen(values.number("setback")),
        fallen,
        seen(values.number("turn_of_cloth")),
    )
    pieces = _pieces(stand, fall, values)
    room, rise_for_neck = stand_room(KIND, neckline, stand, values, STAND, neck=chosen.neck)
    known = {**numbers(stand, fall), **rise_for_neck}
    if fall_rise_by(neckline, values) == "shoulders":
        known["fall_rise"] = fallen.rise
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=pieces,
        seams=(*neck_seams(neckline, STAND), *_own_seams(pieces)),
        checks=(
            *neck_seam_checks(pieces[0], neckline),
            *stand_checks(pieces[0], stand),
            room,
            *fall_checks(pieces, stand, fall, values),
            *shoulder_checks(neckline, shape, fall.seam.length, fallen, values, UPPER),
            *(check for piece in pieces for check in fold_checks(piece)),
        ),
        numbers=known,
        notes=(*chosen.notes, *said, *notes(stand, values, known)),
        button_in_stand=True,
        leans_on=chosen.leans_on,
        on_body={**chosen.on_body, **fall_on_body(neckline, shape, fallen, values)},
    )


def _fall_shape(neckline: Neckline, values: Values) -> FallShape:
    rounded = values.word("point") == "rounded"
    return FallShape(
        back=values.number("fall_back"),
        rise=values.number("fall_rise"),
        level=neckline.back_arc,
        point=values.number("point_length"),
        lean=values.number("point_lean"),
        radius=values.number("point_radius") if rounded else 0.0,
    )


def _pieces(stand: Stand, fall: Fall, values: Values) -> tuple[Piece, ...]:
    layers, shoulder = interfaced(values), stand.shoulder_on_top
    return (
        stand_piece(
            stand,
            CutPlan(cloth=2, interfacing=layers, on_fold=True),
            code=STAND,
            setback=seen(values.number("setback")),
        ),
        fall_piece(
            fall,
            fall.upper,
            CutPlan(cloth=1, interfacing=int(layers == 2), on_fold=True),
            code=UPPER,
            title="Upper collar",
            shoulder=shoulder,
        ),
        fall_piece(
            fall,
            fall.under,
            CutPlan(cloth=1, interfacing=int(layers >= 1), on_fold=True),
            code=UNDER,
            title="Under collar",
            shoulder=shoulder,
        ),
    )


def _own_seams(pieces: tuple[Piece, ...]) -> tuple[Seam, ...]:
    """Upper to under collar, fall to stand, and both stands to each other at their front ends."""
    stand, upper, under = pieces
    top = Stretch(STAND, EdgeName.STAND_SEAM)
    return (
        *layer_seams(
            "upper to under collar", upper, under, (EdgeName.OUTER_EDGE, EdgeName.COLLAR_END)
        ),
        Seam("upper collar to stand", Stretch(UPPER, EdgeName.STAND_SEAM), top),
        Seam("under collar to stand", Stretch(UNDER, EdgeName.STAND_SEAM), top),
        *twin_seams(stand, (EdgeName.COLLAR_END,)),
    )
