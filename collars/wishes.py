"""Settled values of a collar put into the shapes that are drawn. Centimetres."""

from __future__ import annotations

from blocks.neckline import Neckline
from collars.parameters import Values
from collars.stand import StandShape
from drafting.tolerances import SEAM

#: Cloth up to this thickness has interfacing in both layers when nothing else is asked.
THIN_CLOTH = 0.1


def seen(length: float) -> float:
    """A length, or 0 for one too short to be seen, so that no edge is a mere hair."""
    return length if length >= SEAM else 0.0


def stand_shape(
    neckline: Neckline, values: Values, *, beyond: float | None = None, past_front: bool = False
) -> StandShape:
    """The stand that is asked for by ``stand_back``, ``stand_front``, ``rise``, ``straight_back``,
    ``end_round`` and ``button_stand`` (or ``beyond`` in its place). Its corner is not rounded
    farther than centre front unless ``past_front``."""
    front = values.number("stand_front")
    beyond = seen(values.number("button_stand") if beyond is None else beyond)
    radius = values.number("end_round") * front
    return StandShape(
        back=values.number("stand_back"),
        front=front,
        rise=values.number("rise"),
        straight=values.number("straight_back") * neckline.back_arc,
        button_stand=beyond,
        radius=seen(radius if past_front else min(radius, beyond)),
    )


def interfaced(values: Values) -> int:
    """How many of two layers have interfacing, by ``interfacing`` and ``cloth_thickness``."""
    word = values.word("interfacing")
    if word == "by cloth":
        word = "both" if values.number("cloth_thickness") <= THIN_CLOTH else "one"
    return {"both": 2, "one": 1, "none": 0}[word]
