"""The shirt collar of two parts: a stand sewn to the neckline, and a fall sewn to the stand.

Pieces: the stand (cut two alike), upper collar and under collar, each half on the fold. All from
half a neckline's arcs, so it can be drafted to a paper block with a tape alone. Centimetres and
radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import asin, degrees, pi

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft, Standing
from collars.falls.fall import (
    COVER,
    COVER_SOURCE,
    Fall,
    FallShape,
    cover_problems,
    deeper_fall,
    draw_fall,
    fall_piece,
    fall_problems,
    point_check,
)
from collars.falls.from_shoulders import (
    NEEDS_BLOCK,
    chosen_fall,
    fall_on_body,
    fall_rise_by,
    shoulder_checks,
)
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import (
    as_note,
    fold_checks,
    layer_seams,
    matches_request,
    neck_seam_checks,
    neck_seams,
    smooth_check,
    tape_notes,
    twin_seams,
)
from collars.stands.from_neck import chosen_rise
from collars.stands.neck_room import stand_room
from collars.stands.stand import (
    Stand,
    draw_stand,
    drop_hairline,
    interfaced,
    stand_checks,
    stand_notes,
    stand_numbers,
    stand_piece,
    stand_problems,
    stand_shape,
    top_length,
)
from drafting.pieces.checks import Check, at_least, within
from drafting.pieces.piece import CutPlan, Piece, Seam, Stretch
from drafting.tolerances import SEAM

# ---- What is looked at in a drafted shirt collar: checks, numbers worth knowing, notes

#: Codes of the pieces.
STAND, UPPER, UNDER = "STAND", "UPPER", "UNDER"
_TIGHT_FALL = (
    "The fall will lie tight and crease the stand: its seam should rise more than the stand's."
)


def fall_checks(
    pieces: tuple[Piece, ...], stand: Stand, fall: Fall, values: Values
) -> tuple[Check, ...]:
    """The fall against the stand and against what was asked; ``pieces`` are stand, upper and
    under collar."""
    stood, upper, under = pieces
    turn, rounded = values.number("turn_of_cloth"), fall.shape.radius > 0.0
    top = stood.length(EdgeName.STAND_SEAM)
    cover = upper.length(EdgeName.CENTRE_BACK) - stood.length(EdgeName.CENTRE_BACK)
    sewn = [
        within(
            f"{piece.title.lower()} to stand",
            piece.length(EdgeName.STAND_SEAM),
            top,
            SEAM,
            where=f"{piece.code}, stand seam",
            advice="Draft the collar again.",
            source="common practice: walked from centre back",
        )
        for piece in (upper, under)
    ]
    hill, valley = upper.named(EdgeName.STAND_SEAM)[0].curve, stand.neck
    rises = at_least(
        "the fall's seam rises more than the stand's",
        round(hill.start.y - hill.end.y, 6),
        round(valley.end.y - valley.start.y, 6),
        advice=_TIGHT_FALL,
        where=f"{UPPER}, stand seam",
        source="150 Cutting Questions Answered, ishare.iask.sina.com.cn/f/22328100",
    )
    checks = [
        *sewn,
        at_least(
            "the fall hides the neck seam by",
            round(cover, 6),  # lengths are known to SAME_POINT
            round(COVER + turn, 6),
            advice=deeper_fall(values.number("stand_back"), turn),
            where=f"{UPPER}, centre back",
            source=COVER_SOURCE,
        ),
        rises if rises.measured > rises.target else as_note(rises, _TIGHT_FALL),
        matches_request(
            "fall at centre back",
            upper.length(EdgeName.CENTRE_BACK),
            values.number("fall_back"),
            f"{UPPER}, centre back",
        ),
        matches_request(
            "under collar smaller at centre back by",
            upper.length(EdgeName.CENTRE_BACK) - under.length(EdgeName.CENTRE_BACK),
            turn,
            f"{UNDER}, centre back",
        ),
        point_check(fall.upper.angle, fall.seam, fall.shape, f"{UPPER}, point"),
    ]
    if rounded:
        ends = (1, 2)
        checks += [
            smooth_check(piece, f"{piece.title.lower()}'s corner is round", ends)
            for piece in (upper, under)
        ]
    else:
        checks.append(
            matches_request(
                "length of the front edge",
                upper.length(EdgeName.COLLAR_END),
                values.number("point_length"),
                f"{UPPER}, collar end",
            )
        )
    return tuple(checks)


def numbers(stand: Stand, fall: Fall) -> dict[str, float]:
    """Lengths (cm) and angles (radians) worth knowing. Edges and seams are half ones, girths and
    ``top_shortening`` whole; ``spread_angle`` (only when the shoulders' slope is known) is an
    estimate."""
    known = {
        **stand_numbers(stand),
        "fall_seam": fall.seam.length,
        "fall_turning_angle": -fall.bend.angle,
        "outer_edge": fall.upper.outer.length,
        "point_angle": fall.upper.angle,
        "turn_of_cloth": fall.turn,
    }
    if stand.neckline.shoulders_slope is not None:
        known["spread_angle"] = _spread(stand, fall, pi - stand.neckline.shoulders_slope)
    return known


def _spread(stand: Stand, fall: Fall, neckline_turning: float) -> float:
    """About how far the two front edges open: what the fall is short of lying flat on the
    shoulders shows as an opening at the front. Computed; to be seen on the toile."""
    depth, height = fall.shape.back, stand.shape.back
    flat = ((depth - height) * neckline_turning + height * stand.bend.angle) / depth
    forward = asin(fall.shape.lean / fall.shape.point)
    return 2 * (flat + fall.bend.angle - forward)


def notes(stand: Stand, values: Values, known: Mapping[str, float]) -> tuple[str, ...]:
    """What the maker should know besides; ``known`` are the draft's numbers."""
    said = list(stand_notes(stand, values))
    if known.get("spread_angle", 0.0) > 0.0:
        said.append(
            f"The front edges open by about {degrees(known['spread_angle']):.0f} degrees when "
            "worn: an estimate, judge it on the toile."
        )
    elif "spread_angle" in known:
        said.append(
            "The front edges may lie over each other when worn: an estimate, judge it on the toile."
        )
    if stand.neckline.from_tape:
        said.append(NEEDS_BLOCK)
    return (*said, *tape_notes(stand.neckline))


KIND = "two-piece shirt"


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft stand, upper collar and under collar to a neckline.

    ``wishes`` are parameters of ``data/collars/two-piece-shirt.toml`` in centimetres, radians and
    words; what is left out stands at its default. The client card's button stand goes in as
    ``button_stand``. Raises :class:`DraftError` listing everything that cannot be drafted, each
    with what can.
    """
    chosen = chosen_rise(KIND, neckline, wishes)
    values, problems = resolve_parameters(KIND, chosen.wishes)
    problems += chosen.problems
    shape = stand_shape(neckline, values)
    impossible = stand_problems(neckline, shape)
    seam, fallen = None, _fall_shape(neckline, values)
    said: tuple[str, ...] = ()
    if not impossible:
        seam = top_length(neckline, shape) - drop_hairline(values.number("setback"))
        fallen, refusal, said = chosen_fall(neckline, shape, seam, fallen, values)
        impossible += refusal
    impossible += fall_problems(seam, fallen)
    impossible += cover_problems(
        values.number("fall_back"), values.number("stand_back"), values.number("turn_of_cloth")
    )
    refuse(problems, impossible)
    stand = draw_stand(neckline, shape)
    fall = draw_fall(
        stand.top.length - drop_hairline(values.number("setback")),
        fallen,
        drop_hairline(values.number("turn_of_cloth")),
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
        standing=Standing(fall=1),
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
            setback=drop_hairline(values.number("setback")),
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
