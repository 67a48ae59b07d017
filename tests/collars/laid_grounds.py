"""Grounds for collars traced from laid shoulders: real blocks with necklines of several kinds."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.neckline.on_block import NeckChange
from collars.drafts import CollarBase
from drafting.errors import DraftError
from drafting.geometry.curves import Curve, bezier, line
from drafting.geometry.points import Point
from tests.strategies import bodies

BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 40.0,
    "neck_girth": 33.5,
    "neck_base_girth": 37.5,
    "shoulder_length": 13.0,
}
LOWERED = NeckChange(-2.0, 1.0, 1.0)
WIDENED = NeckChange(-3.0, 3.0, 2.0)
STYLES = (None, LOWERED, WIDENED)
VEES = (NeckChange(-8.0, 0.5, 0.0), NeckChange(-14.0, 1.5, 1.0))


def ground_of(
    taken: dict[str, float] = BODY,
    method: str = "direct-measure",
    style: NeckChange | None = LOWERED,
    fit: str = "both",
) -> CollarBase:
    """What lies on the table for a body."""
    draft = draft_bodice(complete(taken), BlockWish(method, fit=fit, style=style, button_stand=1.5))
    return CollarBase(draft.neckline, *make_up(draft))


def with_v(ground: CollarBase, hollow: float = 0.0) -> CollarBase:
    """The same with a V drawn by hand: straight from the side neck point to the front neck point,
    or hollow by so much."""
    front = ground.neckline.front
    assert front is not None
    a, b = front.start, front.end
    out: Point = (b - a).unit.right * (hollow / 0.75)
    drawn: Curve = line(a, b)
    if hollow:
        drawn = bezier(a, a.towards(b, 1 / 3) + out, a.towards(b, 2 / 3) + out, b)
    neckline = replace(ground.neckline, front=drawn, front_arc=drawn.length, shape="v")
    return replace(ground, neckline=neckline)


@st.composite
def grounds(draw: st.DrawFn, vee: bool = False) -> CollarBase:
    """Any survey-like woman's block, its neckline fitted or not and then as it is, lowered or
    widened; or a V, straight or a little hollow."""
    style = draw(st.sampled_from(VEES if vee else STYLES))
    fit = draw(st.sampled_from(["both", "none"]))
    try:
        ground = ground_of(draw(bodies()), draw(st.sampled_from(method_names())), style, fit)
    except DraftError:
        assume(False)
        raise
    return with_v(ground, draw(st.sampled_from([0.0, 0.5]))) if vee else ground
