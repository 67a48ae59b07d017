"""The pieces of a notched collar, made from its drawn lines. Centimetres; outlines
counter-clockwise."""

from __future__ import annotations

from dataclasses import replace

from collars.gorge import Gorge
from collars.lapel_checks import FACING, abreast
from collars.lapel_facing import facing_inside, interfaced
from collars.lapel_front import LapelFront, with_lapel
from collars.layers import smaller
from collars.outlines import grain_inside
from collars.parameters import Values
from collars.roll_line import RollLine
from drafting.curves import Curve, joined, line
from drafting.pieces import (
    CutPlan,
    Edge,
    EdgeName,
    Mark,
    MarkKind,
    Notch,
    Piece,
)
from drafting.points import Move, Point

UPPER, UNDER = "UPPER", "UNDER"


def front_piece(front: LapelFront, gorge: Gorge, values: Values) -> Piece:
    """The front with its lapel, whose free edges are smaller by the turn of the cloth."""
    lapel, step = smaller((gorge.lapel, gorge.step), values.number("turn_of_cloth"), both_ends=True)
    run = [
        Edge(EdgeName.FRONT_EDGE, front.edge.part(0.0, gorge.roll.below)),
        *_lapel_edges(gorge, lapel, step),
    ]
    changed = with_lapel(front, run, _lapel_notches(gorge, 0), _lapel_marks(gorge))
    under, _ = interfaced(values)
    return replace(changed, cut=replace(changed.cut, interfacing=2 if under else 0))


def facing_piece(front: LapelFront, gorge: Gorge, values: Values) -> Piece:
    """The facing with the outer side of the lapel, down to the lower edge."""
    inside, foot = facing_inside(front, values)
    edges = (
        *foot,
        Edge(EdgeName.FRONT_EDGE, front.edge.part(0.0, gorge.roll.below)),
        *_lapel_edges(gorge, gorge.lapel, gorge.step),
        *inside,
    )
    _, upper = interfaced(values)
    x = foot[0].curve.start.towards(front.edge.start, 0.5).x
    roll = gorge.roll
    facing = Piece(
        code=FACING,
        title="Front facing",
        edges=edges,
        cut=CutPlan(cloth=2, interfacing=2 if upper else 0, mirrored_pair=True),
        grain=(Point(x, front.edge.start.y + 2.0), Point(x, roll.break_at.y + 4.0)),
        notches=(
            *front.edge_notches(gorge.roll.below, len(foot)),
            *_lapel_notches(gorge, len(foot)),
        ),
        marks=_lapel_marks(gorge),
        label_at=roll.break_at.towards(gorge.crosses, 0.6) + roll.up.right * 0.5,
    )
    return grain_inside(facing)


def _lapel_edges(gorge: Gorge, lapel: Curve, step: Curve) -> list[Edge]:
    return [
        Edge(EdgeName.LAPEL_EDGE, lapel),
        Edge(EdgeName.LAPEL_EDGE, step),
        Edge(EdgeName.GORGE, line(gorge.end, gorge.corner)),
        Edge(EdgeName.GORGE, line(gorge.corner, gorge.roll.side_neck)),
    ]


def _lapel_notches(gorge: Gorge, at: int) -> tuple[Notch, ...]:
    """Notches of the lapel, the front edge being the edge ``at``."""
    return (
        Notch("break point", at, gorge.roll.below),
        Notch("gorge end", at + 3, 0.0),
        Notch("roll line", at + 3, gorge.end.to(gorge.crosses)),
        Notch("gorge corner", at + 4, 0.0),
        Notch("shoulder", at + 4, gorge.corner.to(gorge.roll.side_neck)),
    )


def _lapel_marks(gorge: Gorge) -> tuple[Mark, ...]:
    return (Mark(MarkKind.ROLL, line(gorge.roll.break_at, gorge.crosses), "roll line"),)


def collar_piece(gorge: Gorge, values: Values, *, under: bool) -> Piece:
    """Upper collar, on the fold, or under collar, smaller at its free edges and with a seam at
    centre back, on the bias; centre back on x = 0, the front end to the right."""
    roll = gorge.roll
    front, outer = gorge.front, gorge.outer
    if under:
        front, outer = smaller((front, outer), values.number("turn_of_cloth"))
    edges = (
        Edge(EdgeName.NECK_SEAM, roll.neck.reversed()),
        Edge(EdgeName.GORGE, line(roll.side_neck, gorge.corner)),
        Edge(EdgeName.GORGE, line(gorge.corner, gorge.end)),
        Edge(EdgeName.COLLAR_END, front),
        Edge(EdgeName.OUTER_EDGE, outer),
        Edge(EdgeName.CENTRE_BACK, line(outer.end, roll.foot), on_fold=not under),
    )
    depth = roll.stand + roll.fall
    lower, upper = interfaced(values)
    across = roll.along.right
    bias = (across - roll.along).unit if under else across
    grain = _beside_neck(roll, 0.2, 0.5 * depth)
    half = bias * min(0.15 * roll.neck.length, 0.3 * depth)
    piece = Piece(
        code=UNDER if under else UPPER,
        title="Under collar" if under else "Upper collar",
        edges=edges,
        cut=CutPlan(cloth=2, interfacing=2 if lower else 0, mirrored_pair=True)
        if under
        else CutPlan(cloth=1, interfacing=int(upper), on_fold=True),
        grain=(grain - half, grain + half),
        notches=(
            Notch("centre back", 0, 0.0),
            Notch("shoulder", 0, roll.neck.length),
            Notch("gorge corner", 1, roll.side_neck.to(gorge.corner)),
            Notch("roll line", 2, gorge.corner.to(gorge.crosses)),
            Notch("gorge end", 2, gorge.corner.to(gorge.end)),
            Notch("shoulder", 4, abreast(roll, outer)),
            Notch("roll line", 5, outer.end.to(roll.back.end)),
        ),
        marks=(
            Mark(MarkKind.ROLL, joined([line(gorge.crosses, roll.top), roll.back]), "roll line"),
        ),
        label_at=_beside_neck(roll, 0.6, 0.5 * depth),
    )
    return piece.moved(
        Move.carrying(roll.foot, roll.foot - roll.along, Point(0.0, 0.0), Point(1.0, 0.0))
    )


def _beside_neck(roll: RollLine, share: float, distance: float) -> Point:
    """A point inside the collar: beside its neck seam, a share of it away from centre back."""
    t = roll.neck.t_at_length((1.0 - share) * roll.neck.length)
    return roll.neck.at(t) + roll.neck.heading(t).right * distance
