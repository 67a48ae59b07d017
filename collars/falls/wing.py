"""The wing collar: a stand sewn on like a band, with wings grown on at the front that fold down.

Pieces: the outside, which is sewn to the neckline, and the inside, which shows on the folded wings
and is larger there by the turn of the cloth. From half a neckline's arcs, so it can be drafted to
a paper block with a tape alone. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import degrees, pi

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft, Standing
from collars.falls.fall import SHARPEST
from collars.layers import inset_under_layer
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import (
    fold_checks,
    layer_seams,
    matches_request,
    neck_seam_checks,
    neck_seams,
    sharp_check,
    tape_notes,
)
from collars.stands.from_neck import chosen_rise
from collars.stands.neck_room import stand_room
from collars.stands.stand import (
    BUTTON_NEEDS,
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
)
from drafting.errors import Problem
from drafting.geometry.curves import Curve, angle_between, line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, at_least
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Piece
from drafting.sentences import DOWN, length

KIND = "wing"
OUTSIDE, INSIDE = "OUTSIDE", "INSIDE"
#: The wing begins at least this far in front of the shoulder; common practice.
BEFORE_SHOULDER = 1.0
#: The tip of a folded wing stays this far above the neck seam.
ABOVE_SEAM = 0.3


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft outside and inside of a wing collar to a neckline.

    ``wishes`` are parameters of ``data/collars/wing.toml`` in centimetres and words; what is left
    out stands at its default. The client card's button stand goes in as ``button_stand``. Raises
    :class:`DraftError` listing everything that cannot be drafted, each with what can.
    """
    chosen = chosen_rise(KIND, neckline, wishes)
    values, problems = resolve_parameters(KIND, chosen.wishes)
    problems += chosen.problems
    shape = stand_shape(neckline, values)
    impossible = stand_problems(neckline, shape)
    if not impossible:
        impossible = _wing_problems(draw_stand(neckline, shape), values)
    refuse(problems, impossible)
    stand = draw_stand(neckline, shape)
    large = _wing(stand, values)
    small = inset_under_layer(large, drop_hairline(values.number("turn_of_cloth")), both_ends=True)
    layers = interfaced(values)
    pieces = (
        _piece(stand, small, values, OUTSIDE, "Wing collar, outside", int(layers >= 1)),
        _piece(stand, large, values, INSIDE, "Wing collar, inside", int(layers == 2)),
    )
    room, rise_for_neck = stand_room(KIND, neckline, stand, values, OUTSIDE, neck=chosen.neck)
    known = {**stand_numbers(stand), "tip_angle": _tip(large), **rise_for_neck}
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=pieces,
        seams=(
            *neck_seams(neckline, OUTSIDE),
            *layer_seams(
                "inside to outside",
                pieces[1],
                pieces[0],
                (EdgeName.NECK_SEAM, EdgeName.COLLAR_END, EdgeName.OUTER_EDGE),
            ),
        ),
        checks=(
            *(found for piece in pieces for found in neck_seam_checks(piece, neckline)),
            *stand_checks(pieces[0], stand, top_runs_on=False),
            room,
            *_wing_checks(pieces[1], values),
            *(found for piece in pieces for found in fold_checks(piece)),
        ),
        numbers=known,
        notes=(
            *chosen.notes,
            *stand_notes(stand, values),
            "Clip the seam allowance to the stitching where the wing meets the top edge and, with "
            "a button stand, at centre front; press the fold with the wing turned to the outside.",
            *tape_notes(neckline),
        ),
        button_in_stand=shape.button_stand >= BUTTON_NEEDS,
        leans_on=chosen.leans_on,
        standing=Standing(winged=True),
        on_body=chosen.on_body,
    )


def _wing(stand: Stand, values: Values) -> tuple[Curve, Curve]:
    """The free edges of the wing as it is cut, standing up from its fold: from centre front to the
    tip, and back to the top edge."""
    root = stand.top.at_length(stand.top.length - values.number("wing_width"))
    front = stand.top.end
    forward = (front - root).unit
    tip = front + forward * values.number("wing_lean")
    tip += forward.left * values.number("wing_depth")
    return line(front, tip), line(tip, root)


def _tip(wing: tuple[Curve, Curve]) -> float:
    return pi - angle_between(wing[0].end_heading, wing[1].start_heading)


def _wing_problems(stand: Stand, values: Values) -> list[Problem]:
    most = stand.top.length - stand.shoulder_on_top - BEFORE_SHOULDER
    width, depth = values.number("wing_width"), values.number("wing_depth")
    problems = []
    if width > most:
        problems.append(
            Problem(
                "a wing this wide would reach over the shoulder",
                key="collar.wing_width",
                got=length(width),
                accepted=f"up to {length(most, rounding=DOWN)}",
                advice="Take a narrower wing.",
            )
        )
    lowest = stand.shape.front - ABOVE_SEAM
    if depth > lowest:
        problems.append(
            Problem(
                f"a wing this deep would hang over the neck seam of a stand "
                f"{length(stand.shape.front)} high",
                key="collar.wing_depth",
                got=length(depth),
                accepted=f"up to {length(lowest, rounding=DOWN)}",
                advice="Take a shallower wing or a higher stand.",
            )
        )
    if not problems and _tip(_wing(stand, values)) < SHARPEST:
        problems.append(
            Problem(
                f"the tip of this wing is sharper than can be turned: "
                f"{degrees(_tip(_wing(stand, values))):.0f} degrees",
                key="collar.wing_lean",
                got=length(values.number("wing_lean")),
                accepted=f"a tip of {degrees(SHARPEST):.0f} degrees or more",
                advice="Let the tip lean less, or take a shallower or wider wing.",
            )
        )
    return problems


def _piece(
    stand: Stand, wing: tuple[Curve, ...], values: Values, code: str, title: str, fused: int
) -> Piece:
    """The stand with the wing in place of the front of its top edge."""
    width = values.number("wing_width")
    plain = stand_piece(
        stand,
        CutPlan(cloth=1, interfacing=fused, on_fold=True),
        code=code,
        title=title,
        top_name=EdgeName.OUTER_EDGE,
    )
    top = plain.place(EdgeName.OUTER_EDGE)
    rest = stand.top.split_at_length(stand.top.length - width)[0].reversed()
    edges = (
        *plain.edges[:top],
        *(Edge(EdgeName.OUTER_EDGE, curve) for curve in (*wing, rest)),
        *plain.edges[top + 1 :],
    )
    notches = []
    for notch in plain.notches:
        if notch.edge == top:  # centre front belongs to the end now, the others to the rest
            before = notch.name == "centre front"
            notch = (
                replace(notch, edge=top - 1, at=plain.edges[top - 1].length)
                if before
                else replace(notch, edge=top + 2, at=notch.at - width)
            )
        notches.append(notch)
    fold = Mark(MarkKind.FOLD, line(rest.start, stand.top.end), "fold of the wing")
    return replace(plain, edges=edges, notches=tuple(notches), marks=(*plain.marks, fold))


def _wing_checks(inside: Piece, values: Values) -> tuple[Check, ...]:
    front, back, _ = (edge.curve for edge in inside.named(EdgeName.OUTER_EDGE))
    fold = next(mark.curve for mark in inside.marks if mark.kind is MarkKind.FOLD)
    forward = fold.start_heading
    tip: Point = front.end - fold.end
    hangs = forward.cross(tip)
    neck_end = inside.named(EdgeName.NECK_SEAM)[1].curve.end
    free = at_least(
        "tip of the folded wing above the neck seam",
        round(neck_end.to(fold.end) - hangs, 6),
        ABOVE_SEAM,
        where=f"{INSIDE}, wing",
        advice="The wing hangs over the neck seam: take a shallower wing.",
        source="common practice",
    )
    where = f"{INSIDE}, wing"
    return (
        matches_request("depth of the wing", hangs, values.number("wing_depth"), where),
        matches_request("lean of the wing", forward.dot(tip), values.number("wing_lean"), where),
        free,
        sharp_check(
            "angle of the wing's tip",
            pi - angle_between(front.end_heading, back.start_heading),
            where,
            "A tip this sharp is hard to turn: trim close, or take a shallower wing.",
        ),
    )
