"""Cards of the invented clients for the tests of certainty."""

from __future__ import annotations

from dataclasses import replace

from collars.registry import COLLARS
from drafting.library import data_folder
from garment.wishes import Commission
from workroom.card.card import open_card


def client(name: str = "demo") -> Commission:
    """The card of an invented client, its collar by the usual rules whatever her neck asks."""
    card = open_card(data_folder() / "clients" / f"{name}.toml")
    known = COLLARS[card.collar.kind].parameters if card.collar.kind in COLLARS else {}
    return with_collar(card, **{key: "rule" for key in ("rise_by", "fall_rise_by") if key in known})


def with_collar(card: Commission, **wishes: float | str) -> Commission:
    """The card with other wishes for its collar."""
    return replace(card, collar=replace(card.collar, values={**card.collar.values, **wishes}))
