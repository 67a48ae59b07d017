"""Cards that once ended in a fault, found by scripts/fuzz.py; each with what was wrong."""

from __future__ import annotations

import pytest

from blocks.edges import EdgeName
from garment.garment import make_garment
from workroom.card.card import read_card_text
from workroom.papers.papers import papers

BODY = """\
client = "Anna Berg"
date = 2026-03-14
[measurements]
bust_girth = 86
waist_girth = 80.6
back_waist_length = 39.1
neck_base_girth = 35.8
"""


@pytest.mark.parametrize("stand", [7.276476283408687, 7.4, 7.9])
def test_a_facing_that_ends_with_the_button_stand(stand: float) -> None:
    """Its lower edge is as wide as the stand but for the rounding: no stretch of the waist."""
    card = f'{BODY}[garment]\nbutton_stand = {stand}\n[collar]\nkind = "notched"\n'

    order = make_garment(read_card_text(card, "anna.toml"))
    assert not order.failed
    assert papers(order, kinds=("checks",))


@pytest.mark.parametrize("stand", ["5e-324", "1e-9", "1e-6", "0.005"])
def test_a_button_stand_thinner_than_can_be_sewn_is_none(stand: str) -> None:
    """Its edges were too short to be parted from their ends."""
    card = f'{BODY}[garment]\nbutton_stand = {stand}\n[garment.darts]\nbust = "side"\n'

    order = make_garment(read_card_text(card, "anna.toml"))
    front = next(piece for piece in order.pieces if piece.named(EdgeName.CENTRE_FRONT))
    assert not front.named(EdgeName.BUTTON_STAND_END)
    assert all(edge.on_fold for edge in front.edges if edge.name is EdgeName.CENTRE_FRONT)
