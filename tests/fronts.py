"""A front to button, face or hem, drafted from an invented body."""

from __future__ import annotations

from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.hip.hip import to_hip
from drafting.pieces.piece import Piece

METHODS = st.sampled_from(method_names())
BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "hip_girth": 98.0,
    "waist_to_hip": 20.0,
    "back_waist_length": 39.0,
    "neck_base_girth": 37.0,
}


def drafted_front(taken: dict[str, float], chosen: str, *, long: bool, stand: float) -> Piece:
    """The front of a bodice by a method, to the waist or long to the hip, with a button stand."""
    draft = draft_bodice(complete(taken), BlockWish(chosen, button_stand=stand))
    back, front = make_up(draft)
    return to_hip(draft, back, front, hip_ease=5.0).front if long else front
