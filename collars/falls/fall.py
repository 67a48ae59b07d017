"""The fall of a collar with a stand: the part that turns down, as upper and under collar.

Half a piece on the fold, x from centre back, y up, outline counter-clockwise. The seam to the
stand is a hill: level at centre back, straight for a third, then down to the front end. The fall
lies above it, on its outer side, so its outer edge is longer than its seam and lies over the stand.
Centimetres and radians.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import degrees, pi, radians, sqrt, tan

import numpy as np

from blocks.edges import EdgeName
from collars.sewing import as_note, sharp_check
from collars.stands.bends import Bend, drawn, most_rise
from drafting.errors import Problem
from drafting.geometry.curves import Curve, angle_between, bezier, corner, joined, line, through
from drafting.geometry.points import Move, Point
from drafting.geometry.roots import root_between
from drafting.memo import memo_by_value
from drafting.pieces.checks import Check
from drafting.pieces.piece import CutPlan, Edge, Notch, Piece, ring
from drafting.sentences import DOWN, SHORT, UP, Sentence, length, span
from drafting.tolerances import SAME_POINT

#: Share of the seam that is straight from centre back: over the nape neck seam, fold and outer
#: edge are of one length (150 Cutting Questions Answered, m.158998.cn, cj-show-68608).
STRAIGHT = 1 / 3
#: The outer edge is level as far as the shoulder, but not beyond this share of its width.
MOST_LEVEL = 0.55
_PARALLEL = 17


@dataclass(frozen=True, slots=True)
class FallShape:
    """What is asked of a fall (cm).

    ``back`` is its depth at centre back, ``rise`` that of its seam, ``level`` how far the outer
    edge runs level from centre back (to the shoulder), ``point`` the length of the front edge,
    ``lean`` how far the point lies forward of the square to the seam's end, ``radius`` that of
    its rounding (0: pointed).
    """

    back: float
    rise: float
    level: float
    point: float
    lean: float
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Outline:
    """The free edges of a fall: ``tip`` where they meet, ``front`` from the seam up to it (and
    round it), ``outer`` on to centre back; ``angle`` is that of the point (radians)."""

    tip: Point
    angle: float
    front: Curve
    outer: Curve


@dataclass(frozen=True, slots=True)
class Fall:
    """A drawn fall: ``seam`` runs from centre back to its front end. ``under`` is smaller than
    ``upper`` by ``turn`` at its free edges; the seam is the same for both."""

    shape: FallShape
    bend: Bend
    seam: Curve
    upper: Outline
    under: Outline
    turn: float


def draw_fall(seam_length: float, shape: FallShape, turn: float) -> Fall:
    """Draw a fall whose seam has exactly a length (cm), with its under collar smaller by ``turn``.

    Ask :func:`collars.falls.fall.fall_problems` first; raises :class:`DraftError` when the seam
    cannot carry the rise.
    """
    bend, seam = hill(seam_length, shape.rise)
    upper, under = free_edges(seam, shape, turn)
    return Fall(shape, bend, seam, upper, under, turn)


@memo_by_value(8)
def free_edges(seam: Curve, shape: FallShape, turn: float) -> tuple[Outline, Outline]:
    """The free edges of upper and under collar over a seam, the under ones smaller by ``turn``."""
    front = line(seam.end, tip_of(seam, shape))
    bent, level = outer_of(seam, front.end, shape)
    upper = _outline(front, joined([bent, level]), shape.radius)
    radius = max(shape.radius - turn, shape.radius / 2)
    return upper, _outline(*_smaller(front, bent, level, turn), radius)


@memo_by_value(8)
def hill(length: float, rise: float) -> tuple[Bend, Curve]:
    """The seam of a fall: level at centre back, ``rise`` above its end.

    Raises :class:`DraftError` when it cannot carry the rise.
    """
    bend, curve = drawn(STRAIGHT * length, length, -rise)
    return bend, curve.moved(Move(shift=Point(0.0, rise)))


def _smaller(front: Curve, bent: Curve, level: Curve, turn: float) -> tuple[Curve, Curve]:
    """Front and outer edge of the under collar: the outer edge a parallel ``turn`` inside, the
    front edge from the same end of the seam to ``turn`` inside the point."""
    if turn <= SAME_POINT:
        return front, joined([bent, level])
    across = front.start_heading.left
    last = bent.span[1]

    def inside(t: float) -> Point:
        return bent.at(t) + bent.heading(t).left * turn

    tip = root_between(
        lambda t: (inside(t) - front.start).dot(across) - turn, *bent.span, xtol=1e-14
    )
    parallel = through(
        [inside(float(t)) for t in np.linspace(tip, last, _PARALLEL)],
        start=bent.heading(tip),
        end=bent.heading(last),
    )
    flat = line(parallel.end, level.end + Point(0.0, -turn))
    return line(front.start, parallel.start), joined([parallel, flat])


def tip_of(seam: Curve, shape: FallShape) -> Point:
    """The point: square to the seam's end, then forward by the lean, ``point`` away."""
    return tip_from(seam.end, seam.end_heading, shape)


def tip_from(end: Point, forward: Point, shape: FallShape) -> Point:
    """The point over a seam that ends somewhere in a direction; for one fall or for many."""
    square = sqrt(shape.point**2 - shape.lean**2)
    return end + forward.left * square + forward * shape.lean


def outer_of(seam: Curve, tip: Point, shape: FallShape) -> tuple[Curve, Curve]:
    """From the tip to centre back: a cubic parabola that runs into the level part without a jump
    in curvature, and the level part, square to the fold."""
    bent = bezier(*outer_handles(seam.start, tip, shape))
    return bent, line(bent.end, seam.start + Point(0.0, shape.back))


def outer_handles(start: Point, tip: Point, shape: FallShape) -> tuple[Point, Point, Point, Point]:
    """The four points of the bent part of the outer edge, from the tip; for one fall or for many.
    ``start`` is the seam at centre back."""
    y, x = start.y + shape.back, np.minimum(shape.level, MOST_LEVEL * tip.x)
    third = (tip.x - x) / 3
    return tip, Point(tip.x - third, y), Point(x + third, y), Point(x, y)


def corner_angle(seam: Curve, shape: FallShape) -> float:
    """The angle of the point between front and outer edge, radians."""
    tip = tip_of(seam, shape)
    bent, _ = outer_of(seam, tip, shape)
    return pi - angle_between(tip - seam.end, bent.start_heading)


def _outline(front: Curve, outer: Curve, radius: float) -> Outline:
    """Both edges with the corner between them rounded, if it is to be."""
    tip, turning = front.end, angle_between(front.end_heading, outer.start_heading)
    if radius > 0.0:
        reach = radius * tan(turning / 2)
        kept, rest = front.part(0.0, front.length - reach), outer.part(reach, outer.length)
        turned = angle_between(kept.end_heading, rest.start_heading)
        share = 4 / 3 * tan(turned / 4) / tan(turned / 2)
        round_ = corner(kept.end, kept.end_heading, rest.start, rest.start_heading, share)
        front, outer = joined([kept, round_]), rest
    return Outline(tip, pi - turning, front, outer)


def fall_piece(
    fall: Fall, outline: Outline, cut: CutPlan, *, code: str, title: str, shoulder: float
) -> Piece:
    """One layer of the fall as a piece, half on the fold; ``shoulder`` is the place of the
    shoulder notch on its seam, from centre back."""
    back = outline.outer.end
    depth = back.y - fall.seam.start.y
    x = 0.15 * fall.seam.length
    return Piece(
        code=code,
        title=title,
        edges=ring(
            Edge(EdgeName.STAND_SEAM, fall.seam),
            Edge(EdgeName.COLLAR_END, outline.front),
            Edge(EdgeName.OUTER_EDGE, outline.outer),
            Edge(EdgeName.CENTRE_BACK, line(back, fall.seam.start), on_fold=True),
        ),
        cut=cut,
        grain=(
            Point(x, fall.seam.start.y + 0.12 * depth),
            Point(x, back.y - 0.12 * depth),
        ),
        notches=(
            Notch("centre back", 0, 0.0),
            Notch("shoulder", 0, shoulder),
            Notch("centre back", 2, outline.outer.length),
        ),
        label_at=Point(0.3 * fall.seam.length, fall.seam.start.y + 0.4 * depth),
    )


# ---- What makes a fall impossible to draw, and what would do instead. Centimetres and radians

#: The folded fall hides the neck seam by this and by what the cloth takes to turn.
COVER = 0.8
COVER_SOURCE = (
    f"Zhou L. 2015, turn-down collar structure: {span(0.8, 1.0, places=SHORT)}; and the turn of "
    "the cloth"
)
#: A point sharper than this cannot be turned; common practice.
SHARPEST = radians(25.0)
#: A point blunter than this is none.
BLUNTEST = radians(165.0)
#: A point blunter than the first no longer looks like one: its outer edge climbs from the point to
#: centre back. What is named instead has the second. Common practice: 60 to 90 degrees.
BLUNT, WELL_POINTED = radians(95.0), radians(85.0)
#: The point may lean by this share of its length.
MOST_LEAN = 0.7
#: A rounded corner may take this share of the front edge and of the outer edge.
MOST_ROUND = 0.8
#: Lengths of a point that are tried, in tenths of a centimetre.
_TRIED = range(30, 201)


def fall_problems(seam_length: float | None, shape: FallShape) -> list[Problem]:
    """Everything that makes a fall on a seam of a length impossible, each with what would do.

    Keys are ``collar.`` and fall_rise, point_lean, point_length or point_radius. Without a seam
    (the stand is impossible already) only what does not rest on it is looked at.
    """
    problems = lean_problems(shape)
    if seam_length is None:
        return problems
    most = most_rise((1.0 - STRAIGHT) * seam_length)
    if shape.rise > most:
        problems.append(
            Problem(
                f"this rise is more than a seam of {length(seam_length)} can carry",
                key="collar.fall_rise",
                got=length(shape.rise),
                accepted=span(0.0, most),
                advice="Take a smaller rise of the fall; left out, it follows the stand's rise.",
            )
        )
    return problems or corner_problems(hill(seam_length, shape.rise)[1], shape)


def lean_problems(shape: FallShape) -> list[Problem]:
    """What is wrong with how far the point leans, key ``point_lean``."""
    far = MOST_LEAN * shape.point
    if abs(shape.lean) <= far + SAME_POINT:
        return []
    return [
        Problem(
            f"a point {length(shape.point)} long cannot lean that far",
            key="collar.point_lean",
            got=length(shape.lean),
            accepted=span(-far, far),
            advice="Let it lean less, or take a longer point.",
        )
    ]


def covering(stand: float, turn: float) -> Sentence:
    """The least fall (cm) that hides the neck seam of a stand, for a sentence."""
    return length(stand + COVER + turn, places=2, rounding=UP)


def deeper_fall(stand: float, turn: float) -> str:
    """What to do when the fall does not hide the neck seam."""
    return f"Take a fall of {covering(stand, turn)} or more."


def cover_problems(fall: float, stand: float, turn: float) -> list[Problem]:
    """What is wrong with a fall (cm, at centre back) lower than its stand, key ``fall_back``."""
    if fall >= stand:
        return []
    return [
        Problem(
            f"this fall cannot cover a stand {length(stand)} high",
            key="collar.fall_back",
            got=length(fall),
            accepted=f"{covering(stand, turn)} or more",
            advice="Take a deeper fall or a lower stand.",
        )
    ]


def corner_problems(seam: Curve, shape: FallShape) -> list[Problem]:
    """What is wrong with the front corner over a seam, keys ``point_length`` and
    ``point_radius``."""
    angle = corner_angle(seam, shape)
    if not SHARPEST <= angle <= BLUNTEST:
        return [_bad_point(seam, shape, angle)]
    bent, _ = outer_of(seam, tip_of(seam, shape), shape)
    most = min(shape.point, bent.length) * MOST_ROUND * tan(angle / 2)
    if shape.radius <= most:
        return []
    return [
        Problem(
            "there is no room for a corner as round as this",
            key="collar.point_radius",
            got=length(shape.radius),
            accepted=f"up to {length(most, rounding=DOWN)}",
            advice="Take a smaller radius, or a longer point.",
        )
    ]


def _bad_point(seam: Curve, shape: FallShape, angle: float) -> Problem:
    """The point is no point: say which lengths would make one with the rest as it is."""
    good = [
        k / 10.0
        for k in _TRIED
        if abs(shape.lean) <= MOST_LEAN * k / 10.0
        and SHARPEST <= corner_angle(seam, replace(shape, point=k / 10.0)) <= BLUNTEST
    ]
    what = "sharper than can be turned" if angle < SHARPEST else "no point at all"
    return Problem(
        f"with this length the point is {what}: {degrees(angle):.0f} degrees",
        key="collar.point_length",
        got=length(shape.point),
        accepted=span(good[0], good[-1]) if good else "",
        advice="Change the length or lean of the point, or the depth of the fall.",
    )


def point_check(angle: float, seam: Curve, shape: FallShape, where: str) -> Check:
    """Whether the point (radians) can be turned well and still is one; of a blunt one the length
    that would make it a point over this seam."""
    check = sharp_check("angle of the point", angle, where)
    if angle <= BLUNT:
        return check

    longer = (k / 10.0 for k in _TRIED if k / 10.0 > shape.point)
    pointed = (
        point for point in longer if corner_angle(seam, replace(shape, point=point)) <= WELL_POINTED
    )
    good = next(pointed, None)
    blunt = "The point is blunt: its front edge is short for the depth of the fall. "
    cure = "Take a shallower fall." if good is None else f"Take a front edge of {length(good)}."
    return replace(as_note(check, blunt + cure), target=degrees(BLUNT), least=False)
