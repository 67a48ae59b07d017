"""A style neckline: the fitted one moved and given its shape, or refused with what is accepted.

Centimetres.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, floor

import numpy as np

from blocks.neckline.on_block import NeckChange, NeckFrame, Shape, shapes
from drafting.errors import DraftError, Problem
from drafting.geometry.points import direction
from drafting.parameters import lies_within
from drafting.sentences import DOWN, SHORT, UP, length, span

#: The back shoulder dart stands at least this far from the neckline, or this share of what is left
#: of a short shoulder; common practice.
DART_FROM_NECK, DART_SHARE = 2.0, 0.4


def styled(fitted: NeckFrame, style: NeckChange, shape: str) -> NeckFrame:
    """The fitted frame after a style's moves, in its shape.

    A back shoulder dart that the widened neckline would reach is moved out along the shoulder.
    Raises :class:`DraftError` naming each move that this shape or this body does not allow.
    """
    known = shapes()
    if shape not in known:
        raise DraftError(
            Problem(
                "there is no such neckline shape",
                key="neckline.style.shape",
                got=repr(shape),
                accepted=", ".join(known),
                advice="Choose one of these.",
            )
        )
    _check_moves(style, known[shape])
    moved = _with_room_for_dart(replace(fitted.changed(style), shape=shape))
    _check_frame(moved, style, known[shape])
    return moved


def how_far_inside(finished: NeckFrame, fitted: NeckFrame) -> float:
    """How far the finished front neckline comes on the neck's side of the fitted one."""
    own, theirs = finished.front_curve(), fitted.front_curve()
    xy = own.xy(np.linspace(*own.span, 25))
    t, distance = theirs.nearest_to(xy)
    out = theirs.headings(t)
    off = xy - theirs.xy(t)
    left = out[:, 0] * off[:, 1] - out[:, 1] * off[:, 0] > 0.0
    lies_within = (t > theirs.span[0]) & (t < theirs.span[1])  # beyond its ends it has no side
    return float(distance[left & lies_within].max(initial=0.0))


def _check_moves(style: NeckChange, shape: Shape) -> None:
    problems = []
    for key, value in (
        ("front_lower", -style.front_raise),
        ("side_widen", style.side_shift),
        ("back_lower", style.back_lower),
    ):
        allowed = shape.moves[key]
        if lies_within(value, allowed.least, allowed.most):
            continue
        too_little = 0.0 <= value < allowed.least
        problems.append(
            Problem(
                f"this is too little for a {shape.title} neckline"
                if too_little
                else "this is more than a neckline can move"
                if shape.key == "round"
                else f"this is more than a {shape.title} neckline can move",
                key=f"neckline.style.{key}",
                got=length(value),
                accepted=span(allowed.least, allowed.most, places=0),
                advice=allowed.advice,
            )
        )
    if problems:
        raise DraftError(problems)


def _check_frame(frame: NeckFrame, style: NeckChange, shape: Shape) -> None:
    problems = []
    least = shape.figures["shoulder_least"]
    left = frame.front_length if frame.front_side.x > frame.front_tip.x else -frame.front_length
    if left < least:
        most = floor(10.0 * (style.side_shift - (least - left))) / 10.0
        enough = most >= shape.moves["side_widen"].least
        problems.append(
            Problem(
                f"this style neckline leaves only {length(left)} of shoulder",
                key="neckline.style.side_widen",
                got=length(style.side_shift),
                accepted=f"{length(least, places=SHORT)} of shoulder or more"
                + (f": {length(most, rounding=DOWN)} or less here" if enough else ""),
                advice="Widen the sides less."
                if enough
                else f"This shoulder is too short for a {shape.title} neckline.",
            )
        )
    rise, wanted = frame.back_side.y - frame.back_neck.y, shape.figures["back_rise_least"]
    if rise < wanted:
        lower = ceil(10.0 * (style.back_lower + wanted - rise)) / 10.0
        problems.append(
            Problem(
                "the back neckline would turn over"
                if rise <= 0.2
                else f"a back neckline only {length(rise)} deep has no fair line",
                key="neckline.style.back_lower",
                got=length(style.back_lower),
                accepted=f"{length(lower, rounding=UP)} or more with sides this wide",
                advice="Lower the back, or widen the sides less.",
            )
        )
    if problems:
        raise DraftError(problems)


def _with_room_for_dart(frame: NeckFrame) -> NeckFrame:
    wanted = min(DART_FROM_NECK, DART_SHARE * frame.front_length)
    out = direction(-frame.back_slope)
    if (frame.dart_leg - frame.back_side).dot(out) >= wanted:
        return frame
    return replace(frame, dart_leg=frame.back_side + out * wanted)
