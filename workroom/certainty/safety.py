"""The chance that a closed collar is no danger: that it leaves the neck the least room it needs."""

from __future__ import annotations

from workroom.certainty.sure import Certainty


def room_chance(found: Certainty) -> float | None:
    """The chance that the closed collar, as cut, is longer than her neck really is where it is
    compared with it, by the least room there must be; ``None`` when nothing closes or no neck
    girth is known."""
    closed = [one.chance for one in found.checks if one.worn is not None and one.worn.room]
    return min(closed, default=None)
