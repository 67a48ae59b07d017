"""What makes a fall impossible to draw, and what would do instead. Centimetres and radians."""

from __future__ import annotations

from dataclasses import replace
from math import degrees, radians, tan

from collars.bends import most_rise
from collars.fall import STRAIGHT, FallShape, corner_angle, hill, outer_of, tip_of
from collars.sewing import noted, sharp_check
from drafting.checks import Check
from drafting.curves import Curve
from drafting.errors import Problem
from drafting.sentences import DOWN, SHORT, UP, Sentence, length, span
from drafting.tolerances import SAME_POINT

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
                advice="Take a smaller fall_rise; left out, it follows the stand's rise.",
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
        advice="Change the length or lean of the point, or the depth of the fall (fall_back).",
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
    return replace(noted(check, blunt + cure), target=degrees(BLUNT), least=False)
