"""The notched (rever) collar: lapel grown on to the front, upper and under collar sewn to its gorge
and to the back neckline, facing with the lapel's other side.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import degrees, pi

from blocks.making_up import BACK, FRONT
from blocks.neckline_facing import BACK_FACING
from blocks.neckline_facing_checks import shoulders_check
from collars.drafts import CollarDraft, Ground
from collars.fall_limits import SHARPEST
from collars.gorge import draw_gorge
from collars.lapel_checks import (
    FACING,
    back_checks,
    first_button,
    front_checks,
    lie_check,
    neck_check,
    over_check,
    width_check,
)
from collars.lapel_facing import back_facing, facing_problems
from collars.lapel_front import read_front
from collars.lapel_words import lapel_notes, lapel_numbers
from collars.notched_pieces import UNDER, UPPER, collar_piece, facing_piece, front_piece
from collars.outlines import refuse_crossing
from collars.parameters import Values, collar_sheet, settled
from collars.roll_line import roll_problems
from collars.sewing import asked, layer_seams, sharp_check, twin_seams
from drafting.checks import Check, within
from drafting.curves import angle_between
from drafting.errors import DraftError, Problem
from drafting.pieces import EdgeName, Piece, Seam, Stretch
from drafting.tolerances import SEAM

KIND = "notched"


def draft(ground: Ground, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a notched collar on a front with a button stand.

    ``wishes`` are parameters of ``data/collars/notched.toml`` (centimetres, radians, words). Raises
    :class:`DraftError` listing everything that cannot be drafted, each with what can.
    """
    values, problems = settled(KIND, wishes)
    refused = {problem.key for problem in problems}
    front, impossible = read_front(ground, collar_sheet(KIND).title.lower())
    gorge = None
    if front is not None:
        impossible += facing_problems(front, values)
        unrolled = roll_problems(front, ground.neckline, values)
        impossible += unrolled
        if not unrolled:
            gorge, unsewn = draw_gorge(front, ground.neckline, values)
            impossible += unsewn
    problems += [problem for problem in impossible if problem.key not in refused]
    if problems or front is None or gorge is None:
        raise DraftError(problems)
    roll, neckline = gorge.roll, ground.neckline
    changed = front_piece(front, gorge, values)
    facing = facing_piece(front, gorge, values)
    upper = collar_piece(gorge, values, under=False)
    under = collar_piece(gorge, values, under=True)
    if sharp := _too_sharp(facing, upper):
        raise DraftError(sharp)
    refuse_crossing((changed, facing, upper, under), "collar.lapel_width")
    behind, joined_facings = back_facing(ground, facing)
    lies = lie_check(gorge.outer, roll, front, neckline, f"{UPPER}, outer edge")
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=(facing, behind, upper, under),
        bodice={FRONT: changed},
        seams=(*_seams(changed, facing, upper, under, values), *joined_facings),
        checks=(
            *(neck_check(p, neckline, values.number("neck_ease")) for p in (upper, under)),
            *_gorge_checks(changed, facing, upper, under),
            *front_checks(changed, roll, values),
            *back_checks(upper, under, values),
            *((lies,) if lies else ()),
            width_check(facing, roll, EdgeName.LAPEL_EDGE, values.number("lapel_width")),
            *_notch_checks(facing, upper, values),
            over_check(facing, roll, front, EdgeName.LAPEL_EDGE),
            shoulders_check((behind, facing)),
        ),
        numbers=lapel_numbers(roll, values)
        | {
            "outer_edge": gorge.outer.length,
            "gorge": changed.length(EdgeName.GORGE),
            "lapel_edge": gorge.lapel.length,
        },
        notes=lapel_notes(roll, values, grown_on=False),
        first_button=first_button(front, roll),
    )


def _gorge_checks(front: Piece, facing: Piece, upper: Piece, under: Piece) -> tuple[Check, ...]:
    """The collar's gorge against the lapel's, stretch by stretch from the side neck point."""
    return tuple(
        within(
            f"gorge of the {collar.title.lower()}, {word}",
            collar.named(EdgeName.GORGE)[own].length,
            lapel.named(EdgeName.GORGE)[1 - own].length,
            SEAM,
            where=f"{collar.code} to {lapel.code}, gorge",
            advice="Draft the collar again.",
            source="common practice: walked from the side neck point",
        )
        for collar, lapel in ((under, front), (upper, facing))
        for own, word in ((0, "to its corner"), (1, "on to the notch"))
    )


def _notch_checks(facing: Piece, upper: Piece, values: Values) -> tuple[Check, ...]:
    """Step and collar front as asked."""
    return (
        asked(
            "step of the notch",
            facing.named(EdgeName.LAPEL_EDGE)[1].length,
            values.number("notch_step"),
            f"{FACING}, lapel edge",
        ),
        asked(
            "front edge of the collar",
            upper.length(EdgeName.COLLAR_END),
            values.number("collar_front"),
            f"{UPPER}, collar end",
        ),
        sharp_check(
            "angle of the lapel's point",
            _corner(facing, EdgeName.LAPEL_EDGE),
            f"{FACING}, lapel edge",
            "A point this sharp is hard to turn: trim close, or let the gorge run down more.",
        ),
        sharp_check("angle of the collar's point", _corner(upper, EdgeName.COLLAR_END), UPPER),
    )


def _corner(piece: Piece, edge: EdgeName) -> float:
    """The angle between an edge's first stretch and what follows it, radians."""
    k = piece.place(edge)
    first, second = piece.edges[k].curve, piece.edges[k + 1].curve
    return pi - angle_between(first.end_heading, second.start_heading)


def _too_sharp(facing: Piece, upper: Piece) -> list[Problem]:
    """Points that cannot be turned."""
    corners = (
        ("lapel", facing, EdgeName.LAPEL_EDGE, "gorge_slope", "Let the gorge run down more."),
        ("collar", upper, EdgeName.COLLAR_END, "notch_angle", "Open the notch more."),
    )
    return [
        Problem(
            f"the point of the {what} is sharper than can be turned",
            key=f"collar.{key}",
            got=f"{degrees(angle):.0f} degrees",
            accepted=f"a point of {degrees(SHARPEST):.0f} degrees or more",
            advice=advice,
        )
        for what, piece, edge, key, advice in corners
        if (angle := _corner(piece, edge)) < SHARPEST
    ]


def _seams(
    front: Piece, facing: Piece, upper: Piece, under: Piece, values: Values
) -> tuple[Seam, ...]:
    ease = values.number("neck_ease")
    back = Stretch(BACK, EdgeName.NECKLINE)
    gorges = tuple(
        Seam(
            f"{collar.title.lower()} to {lapel.title.lower()}, gorge {word}",
            Stretch(collar.code, EdgeName.GORGE, own),
            Stretch(lapel.code, EdgeName.GORGE, 1 - own),
        )
        for collar, lapel in ((under, front), (upper, facing))
        for own, word in ((0, "to its corner"), (1, "on to the notch"))
    )
    layers = layer_seams(
        "upper to under collar", upper, under, (EdgeName.OUTER_EDGE, EdgeName.COLLAR_END)
    )
    lapels = tuple(
        Seam(
            f"facing to front, {word}",
            Stretch(FACING, EdgeName.LAPEL_EDGE, k),
            Stretch(FRONT, EdgeName.LAPEL_EDGE, k),
            facing.named(EdgeName.LAPEL_EDGE)[k].length
            - front.named(EdgeName.LAPEL_EDGE)[k].length,
        )
        for k, word in ((0, "lapel edge"), (1, "step"))
    )
    return (
        Seam("under collar to back neckline", Stretch(UNDER, EdgeName.NECK_SEAM), back, ease),
        Seam(
            "upper collar to back neck facing",
            Stretch(UPPER, EdgeName.NECK_SEAM),
            Stretch(BACK_FACING, EdgeName.NECKLINE),
            ease,
        ),
        *gorges,
        *twin_seams(under, (EdgeName.CENTRE_BACK,)),
        *layers,
        *lapels,
        Seam(
            "facing to front, front edge",
            Stretch(FACING, EdgeName.FRONT_EDGE),
            Stretch(FRONT, EdgeName.FRONT_EDGE),
        ),
    )
