"""The shawl collar: under collar grown on to the front, facing and upper collar in one.

Front and facing have a seam at centre back of the collar; the front's neck seam is sewn to the back
neckline and ends in a corner at the side neck point. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import degrees

import numpy as np

from blocks.bodice.making_up import BACK, FRONT
from blocks.edges import EdgeName
from blocks.finishing.neckline_facing import BACK_FACING, shoulders_check
from collars.drafts import CollarBase, CollarDraft
from collars.lapels.checks import (
    FACING,
    abreast,
    back_checks,
    first_button,
    front_checks,
    lapel_notes,
    lapel_numbers,
    lie_check,
    neck_check,
    over_check,
    width_check,
)
from collars.lapels.front import (
    LapelFront,
    back_facing,
    facing_inside,
    facing_problems,
    interfaced,
    read_front,
    with_lapel,
)
from collars.lapels.roll_line import RollLine, draw_roll_line, roll_problems
from collars.outlines import grain_inside, refuse_crossing
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import as_note, twin_seams
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line, through
from drafting.geometry.points import Point
from drafting.geometry.roots import root_between
from drafting.pieces.checks import Check, Verdict, within
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Notch, Piece, Seam, Stretch
from drafting.sentences import UP, length

KIND = "shawl"
#: The collar is widest this share of the way up the roll line; common practice: a little above its
#: middle.
WIDEST_AT = 0.6
#: The edge may hollow towards centre back by this much in all (degrees) and still look fair.
HOLLOW = 8.0
_FOUND = 1e-9


def draft(ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a shawl collar on a front with a button stand.

    ``wishes`` are parameters of ``data/collars/shawl.toml`` (centimetres, radians, words). Raises
    :class:`DraftError` listing everything that cannot be drafted, each with what can.
    """
    values, problems = resolve_parameters(KIND, wishes)
    front, impossible = read_front(ground, collar_sheet(KIND).title.lower())
    if front is not None:
        impossible += roll_problems(front, ground.neckline, values)
        impossible += facing_problems(front, values)
    refuse(problems, impossible)
    assert front is not None
    roll = draw_roll_line(front, ground.neckline, values)
    width, turn = values.number("lapel_width"), values.number("turn_of_cloth")
    outer = outer_edge(roll, width)
    under = outer_edge(roll, width - turn, roll.outer + roll.along.left * turn)
    changed = _front(front, roll, under, values)
    facing = _facing(front, roll, outer, values)
    refuse_crossing((changed, facing), "collar.lapel_width")
    behind, joined_facings = back_facing(ground, facing)
    neckline = ground.neckline
    lies = lie_check(outer, roll, front, neckline, f"{FACING}, outer edge")
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=(facing, behind),
        bodice={FRONT: changed},
        seams=(*_seams(changed, facing, values), *joined_facings),
        checks=(
            *(neck_check(p, neckline, values.number("neck_ease")) for p in (changed, facing)),
            *front_checks(changed, roll, values),
            *back_checks(facing, changed, values),
            *((lies,) if lies else ()),
            width_check(facing, roll, EdgeName.OUTER_EDGE, values.number("lapel_width")),
            over_check(facing, roll, front, EdgeName.OUTER_EDGE),
            _fair_check(facing),
            shoulders_check((behind, facing)),
        ),
        numbers=lapel_numbers(roll, values) | {"outer_edge": outer.length},
        notes=lapel_notes(roll, values, grown_on=True),
        first_button=first_button(front, roll),
    )


def outer_edge(roll: RollLine, width: float, end: Point | None = None) -> Curve:
    """From the break point to centre back in one fair curve, which meets centre back square and
    lies ``width`` from the roll line at its widest. ``end`` is its place at centre back, the whole
    fall out when left out; the under collar's lies the turn of the cloth inside.

    Raises :class:`DraftError` when the collar cannot be so narrow or so wide.
    """
    back = end or roll.outer
    half_way = roll.break_at.towards(roll.top, WIDEST_AT)

    def drawn(beside: float) -> Curve:
        guide = half_way + roll.up.right * beside
        return through([roll.break_at, guide, back], end=roll.along)

    def off(beside: float) -> float:
        return _widest(drawn(beside), roll) - width

    low, high = 0.3 * width, width
    if not off(low) < 0.0 <= off(high):
        least = _widest(drawn(0.05), roll)
        raise DraftError(
            Problem(
                "no fair edge is so narrow with this fall",
                key="collar.lapel_width",
                got=length(width),
                accepted=f"{length(least, rounding=UP)} or more",
                advice="Take a wider lapel or a shallower fall.",
            )
        )
    return drawn(root_between(off, low, high, xtol=_FOUND))


def _widest(edge: Curve, roll: RollLine) -> float:
    """The greatest distance of an edge from the straight roll line, on the lapel's side."""
    across = np.array(list(roll.up.right))
    away = (edge.xy(edge.samples(128)) - np.array(list(roll.break_at))) @ across
    k = int(np.clip(np.argmax(away), 1, len(away) - 2))
    # the top of the parabola through the three samples nearest to the widest place
    left, middle, right = (float(away[k + step]) for step in (-1, 0, 1))
    bend = left - 2.0 * middle + right
    return middle if bend >= 0.0 else middle - (left - right) ** 2 / (8.0 * bend)


def _front(front: LapelFront, roll: RollLine, outer: Curve, values: Values) -> Piece:
    run = [
        Edge(EdgeName.FRONT_EDGE, front.edge.part(0.0, roll.below)),
        *_collar_edges(roll, outer),
    ]
    under, _ = interfaced(values)
    changed = with_lapel(front, run, _notches(roll, outer, 0), _marks(roll))
    return replace(changed, cut=replace(changed.cut, interfacing=2 if under else 0))


def _facing(front: LapelFront, roll: RollLine, outer: Curve, values: Values) -> Piece:
    inside, foot = facing_inside(front, values)
    edges = [
        *foot,
        Edge(EdgeName.FRONT_EDGE, front.edge.part(0.0, roll.below)),
        *_collar_edges(roll, outer),
        *inside,
    ]
    _, upper = interfaced(values)
    low = foot[0].curve.start
    x = low.towards(front.edge.start, 0.5).x
    facing = Piece(
        code=FACING,
        title="Facing with upper collar",
        edges=tuple(edges),
        cut=CutPlan(cloth=2, interfacing=2 if upper else 0, mirrored_pair=True),
        grain=(Point(x, front.edge.start.y + 2.0), Point(x, roll.break_at.y + 4.0)),
        notches=(*front.edge_notches(roll.below, len(foot)), *_notches(roll, outer, len(foot))),
        marks=_marks(roll),
        label_at=roll.break_at.towards(roll.top, 0.5) + roll.up.right * 0.5,
    )
    return grain_inside(facing)


def _collar_edges(roll: RollLine, outer: Curve) -> list[Edge]:
    return [
        Edge(EdgeName.OUTER_EDGE, outer),
        Edge(EdgeName.CENTRE_BACK, line(outer.end, roll.foot)),
        Edge(EdgeName.NECK_SEAM, roll.neck.reversed()),
    ]


def _notches(roll: RollLine, outer: Curve, at: int) -> tuple[Notch, ...]:
    """Notches of the collar's edges, the front edge being the edge ``at``."""
    return (
        Notch("break point", at, roll.below),
        Notch("shoulder", at + 1, abreast(roll, outer)),
        Notch("roll line", at + 2, outer.end.to(roll.back.end)),
        Notch("centre back", at + 3, 0.0),
        Notch("shoulder", at + 3, roll.neck.length),
    )


def _marks(roll: RollLine) -> tuple[Mark, ...]:
    return (Mark(MarkKind.ROLL, joined([roll.front, roll.back]), "roll line"),)


def _seams(front: Piece, facing: Piece, values: Values) -> tuple[Seam, ...]:
    ease = values.number("neck_ease")
    back = Stretch(BACK, EdgeName.NECKLINE)
    return (
        Seam("collar to back neckline", Stretch(FRONT, EdgeName.NECK_SEAM), back, ease),
        Seam(
            "upper collar to back neck facing",
            Stretch(FACING, EdgeName.NECK_SEAM),
            Stretch(BACK_FACING, EdgeName.NECKLINE),
            ease,
        ),
        *twin_seams(front, (EdgeName.CENTRE_BACK,)),
        *twin_seams(facing, (EdgeName.CENTRE_BACK,)),
        Seam(
            "facing to front, outer edge",
            Stretch(FACING, EdgeName.OUTER_EDGE),
            Stretch(FRONT, EdgeName.OUTER_EDGE),
            facing.length(EdgeName.OUTER_EDGE) - front.length(EdgeName.OUTER_EDGE),
        ),
        Seam(
            "facing to front, front edge",
            Stretch(FACING, EdgeName.FRONT_EDGE),
            Stretch(FRONT, EdgeName.FRONT_EDGE),
        ),
    )


def _fair_check(facing: Piece) -> Check:
    """By how much the outer edge turns the wrong way: one bow, at most a little hollow."""
    (edge,) = facing.named(EdgeName.OUTER_EDGE)
    t = edge.curve.samples(64)
    steps = np.hypot(*np.diff(edge.curve.xy(t), axis=0).T)
    bend = edge.curve.curvature(0.5 * (t[1:] + t[:-1]))
    check = within(
        "the outer edge hollows by",
        degrees(float(np.clip(-bend, 0.0, None) @ steps)),
        0.0,
        HOLLOW,
        unit="deg",
        where=f"{FACING}, outer edge",
        advice="The edge is hollow beside the neck: take a narrower lapel or a deeper fall.",
        source="common practice",
    )
    return check if check.verdict is Verdict.PASS else as_note(check)
