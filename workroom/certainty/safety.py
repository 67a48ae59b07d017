"""The chance that a closed collar is no danger: that it leaves the neck the least room it needs."""

from __future__ import annotations

from collections.abc import Mapping
from math import erf, sqrt

from collars.neckroom import LEAST_ROOM
from workroom.certainty.sure import Certainty, spread

#: Numbers of collars that close round the neck.
_CLOSED = ("closed_top_girth", "closed_roll_girth")


def room_chance(found: Certainty) -> float | None:
    """The chance that the closed collar, as cut, is longer than the neck as it really is by the
    least room there must be; ``None`` when nothing closes or no neck girth is known."""
    order = found.order
    numbers: Mapping[str, float] = order.collar.numbers if order.collar else {}
    closed = next((numbers[key] for key in _CLOSED if key in numbers), None)
    if closed is None or order.neckline.neck_girth is None:
        return None
    neck = numbers.get("neck_at_top", order.neckline.neck_girth)
    spare = closed - neck - LEAST_ROOM
    sd = spread(found.roots.body["neck_girth"], found.readings)
    return 0.5 * (1.0 + erf(spare / sd / sqrt(2.0)))
