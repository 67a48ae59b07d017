"""The notched (rever) collar: lapel grown on to the front, upper and under collar sewn to its gorge
and to the back neckline, facing with the lapel's other side.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import degrees, pi

from blocks.bodice.making_up import BACK, FRONT
from blocks.edges import EdgeName
from blocks.finishing.neckline_facing import BACK_FACING, shoulders_check
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.falls.fall import SHARPEST
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
from collars.layers import inset_under_layer
from collars.outlines import grain_inside, refuse_crossing
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import layer_seams, matches_request, sharp_check, twin_seams
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, bezier, joined, line
from drafting.geometry.points import Move, Point, crossing, direction
from drafting.pieces.checks import Check, within
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Notch, Piece, Seam, Stretch
from drafting.sentences import DOWN, length
from drafting.tolerances import SEAM

# ---- The lines of a notched collar on its front: gorge, lapel, step and the collar's own edges

#: The gorge must cross the roll line at least this far above the break point, and the point of the
#: lapel lie at least so far up; less is no lapel.
LEAST_LAPEL = 6.0
#: So much of the gorge at least is sewn beyond the roll line, and so far the collar's point lies
#: outside it: else the collar has no front.
LEAST_GORGE = 1.0
#: The corner of the gorge keeps at least this share of the side neck point's distance from the
#: roll line, so that the neck part never reaches the fold.
LEAST_INSIDE = 0.4


@dataclass(frozen=True, slots=True)
class Gorge:
    """The drawn lines. ``corner`` is where neck part and gorge meet, ``crosses`` where the gorge
    crosses the roll line, ``point`` that of the lapel, ``end`` where the collar ends on the gorge
    line, ``collar_point`` the collar's own. ``lapel`` runs from the break point to ``point``,
    ``outer`` from ``collar_point`` to centre back."""

    roll: RollLine
    corner: Point
    crosses: Point
    point: Point
    end: Point
    collar_point: Point
    lapel: Curve
    outer: Curve

    @property
    def step(self) -> Curve:
        """From the lapel's point along the gorge line to the collar's end."""
        return line(self.point, self.end)

    @property
    def front(self) -> Curve:
        """The collar's front edge, from the gorge to its point."""
        return line(self.end, self.collar_point)


def draw_gorge(
    front: LapelFront, neckline: Neckline, values: Values
) -> tuple[Gorge | None, list[Problem]]:
    """Roll line, gorge and lapel, or every reason why they cannot be; ask
    :func:`collars.lapels.roll_line.roll_problems` first."""
    plain = draw_roll_line(front, neckline, values)
    up, width = plain.up, values.number("lapel_width")
    drop = values.number("gorge_drop")
    crosses = plain.top - up * drop
    # worn, the line is the mirror image over the roll line of the one on the table
    slope = values.number("gorge_slope")
    run = direction(2.0 * up.angle - (pi + slope))
    lean = up.right.dot(run)
    point = crosses + run * (width / lean) if lean > 0.2 else crosses
    problems = _impossible(plain, values, crosses, point, lean)
    if problems:
        return None, problems
    end = point - run * values.number("notch_step")
    inside = front.out.left
    corner = crossing(front.side_neck, inside, crosses, run)
    nearest = LEAST_INSIDE * -plain.beside(front.side_neck)
    if corner is None or -plain.beside(corner) < nearest:
        corner = crosses - run * (nearest / lean)
    away = -plain.beside(corner)
    if plain.along_roll(corner) > plain.along_roll(front.side_neck) - 1.0 or away > 3.0 * nearest:
        corner = crosses - run * (-plain.beside(front.side_neck) / lean)
    if plain.along_roll(corner) > plain.along_roll(front.side_neck) - 1.0:
        return None, [
            Problem(
                "the gorge would lie at the side neck point itself",
                key="collar.gorge_drop",
                got=length(drop),
                advice="Draw the gorge lower or less sloping.",
            )
        ]
    roll = draw_roll_line(front, neckline, values, (front.side_neck - corner).unit)
    to_point = run.turned(values.number("notch_angle"))
    collar_point = end + to_point * values.number("collar_front")
    if roll.beside(collar_point) < LEAST_GORGE:
        return None, [
            Problem(
                "the point of the collar would lie beyond the roll line",
                key="collar.notch_angle",
                got=f"{degrees(values.number('notch_angle')):.0f} degrees",
                advice="Open the notch less, or take a shorter front edge of the collar.",
            )
        ]
    return (
        Gorge(
            roll=roll,
            corner=corner,
            crosses=crosses,
            point=point,
            end=end,
            collar_point=collar_point,
            lapel=_lapel(roll.break_at, point, values.number("lapel_belly")),
            outer=_outer(collar_point, roll),
        ),
        [],
    )


def _impossible(
    roll: RollLine, values: Values, crosses: Point, point: Point, lean: float
) -> list[Problem]:
    drop, width, step = (values.number(key) for key in ("gorge_drop", "lapel_width", "notch_step"))
    problems = []
    most = roll.along_roll(roll.top) - LEAST_LAPEL
    if drop > most or roll.along_roll(point) < LEAST_LAPEL:
        problems.append(
            Problem(
                f"the gorge lies so low that it leaves no lapel on a roll line of "
                f"{length(roll.along_roll(roll.top))}",
                key="collar.gorge_drop",
                got=length(drop),
                accepted=f"up to {length(most, rounding=DOWN)}" if drop > most else "",
                advice="Draw the gorge higher or less steep, or take a lower break point.",
            )
        )
    if lean <= 0.2:
        problems.append(
            Problem(
                "the gorge would run along the roll line",
                key="collar.gorge_slope",
                got=f"{degrees(values.number('gorge_slope')):.0f} degrees",
                advice="Let it slope less.",
            )
        )
    elif width - step * lean < LEAST_GORGE:
        problems.append(
            Problem(
                "the step leaves nothing of the gorge to sew beyond the roll line",
                key="collar.notch_step",
                got=length(step),
                accepted=f"up to {length((width - LEAST_GORGE) / lean, rounding=DOWN)}",
                advice="Take a shorter step or a wider lapel.",
            )
        )
    return problems


def _lapel(start: Point, point: Point, belly: float) -> Curve:
    """From the break point to the lapel's point, rounded outwards by ``belly`` at its middle."""
    out = (point - start).unit.right * (4.0 / 3.0 * belly)
    return bezier(
        start, start.towards(point, 1 / 3) + out, start.towards(point, 2 / 3) + out, point
    )


def _outer(start: Point, roll: RollLine) -> Curve:
    """From the collar's point to centre back, which it meets square; straight at both ends, one
    bend between."""
    reach = start.to(roll.outer)
    handle = roll.outer - roll.along * (0.45 * reach)
    return bezier(start, start.towards(handle, 0.5), handle, roll.outer)


# ---- The pieces of a notched collar, made from its drawn lines. Centimetres; outlines counter-
# clockwise

UPPER, UNDER = "UPPER", "UNDER"


def front_piece(front: LapelFront, gorge: Gorge, values: Values) -> Piece:
    """The front with its lapel, whose free edges are smaller by the turn of the cloth."""
    lapel, step = inset_under_layer(
        (gorge.lapel, gorge.step), values.number("turn_of_cloth"), both_ends=True
    )
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
        front, outer = inset_under_layer((front, outer), values.number("turn_of_cloth"))
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


KIND = "notched"


def draft(ground: CollarBase, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a notched collar on a front with a button stand.

    ``wishes`` are parameters of ``data/collars/notched.toml`` (centimetres, radians, words). Raises
    :class:`DraftError` listing everything that cannot be drafted, each with what can.
    """
    values, problems = resolve_parameters(KIND, wishes)
    front, impossible = read_front(ground, collar_sheet(KIND).title.lower())
    gorge = None
    if front is not None:
        impossible += facing_problems(front, values)
        unrolled = roll_problems(front, ground.neckline, values)
        impossible += unrolled
        if not unrolled:
            gorge, unsewn = draw_gorge(front, ground.neckline, values)
            impossible += unsewn
    refuse(problems, impossible)
    assert front is not None
    assert gorge is not None
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
        matches_request(
            "step of the notch",
            facing.named(EdgeName.LAPEL_EDGE)[1].length,
            values.number("notch_step"),
            f"{FACING}, lapel edge",
        ),
        matches_request(
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
