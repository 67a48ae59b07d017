"""Stretches of a piece's ring that remember where they came from, so that notches and darts find
their places again when the ring is cut and joined. Centimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drafting.curves import Curve, angle_between, joined, line
from drafting.pieces import Edge, EdgeName, Notch
from drafting.points import Move
from drafting.tolerances import SAME_POINT, SMOOTH

#: Two straight edges whose headings differ by less are one straight line.
_STRAIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class Part:
    """An edge and the stretches of old edges it is made of: for each the old place in the ring and
    the arc length at which it starts there."""

    edge: Edge
    holds: tuple[tuple[int, float], ...]
    lengths: tuple[float, ...] = ()

    @staticmethod
    def whole(edge: Edge, place: int) -> Part:
        """A whole old edge."""
        return Part(edge, ((place, 0.0),), (edge.length,))

    @property
    def key(self) -> tuple[int, float]:
        """The first stretch."""
        return self.holds[0]

    def split(self, at: float) -> tuple[Part, Part]:
        """The two stretches of a whole old edge that meet at an arc length."""
        place = self.key[0]
        one, two = self.edge.curve.split_at_length(at)
        return (
            Part(replace(self.edge, curve=one), ((place, 0.0),), (at,)),
            Part(replace(self.edge, curve=two), ((place, at),), (self.edge.length - at,)),
        )

    def moved(self, move: Move) -> Part:
        """The part after a rigid move."""
        return replace(self, edge=replace(self.edge, curve=self.edge.curve.moved(move)))


def joined_parts(parts: Sequence[Part], at: int, watched: int) -> tuple[list[Part], int]:
    """The ring with the part at ``at`` joined to the one before it when both are of one name and
    run on smoothly; and the new place of the part ``watched``."""
    ring = list(parts)
    after = at % len(ring)
    one, two = ring[after - 1], ring[after]
    turn = angle_between(one.edge.curve.end_heading, two.edge.curve.start_heading)
    alike = one.edge == replace(two.edge, curve=one.edge.curve)
    if not alike or one.edge.name is EdgeName.DART_MOUTH or abs(turn) > SMOOTH:
        return ring, watched
    curve = one_line(one.edge.curve, two.edge.curve)
    ring[after - 1] = Part(
        replace(one.edge, curve=curve), one.holds + two.holds, one.lengths + two.lengths
    )
    del ring[after]
    return ring, watched - 1 if watched > after else watched


def one_line(one: Curve, two: Curve) -> Curve:
    """Two curves that meet as one; two straight ones in one direction as one straight line."""
    both = one.degree == two.degree == 1 and len(one.controls) == len(two.controls) == 2
    if both and abs(angle_between(one.end_heading, two.start_heading)) < _STRAIGHT:
        return line(one.start, two.end)
    return joined((one, two))


def notches_on(parts: Sequence[Part], notches: Sequence[Notch]) -> tuple[Notch, ...]:
    """The notches at the same distance along their seams. Those on a mouth that is shut go."""
    done = []
    for notch in notches:
        found = _found(parts, notch)
        if found is not None:
            done.append(replace(notch, edge=found[0], at=found[1]))
    return tuple(done)


def _found(parts: Sequence[Part], notch: Notch) -> tuple[int, float] | None:
    for place, part in enumerate(parts):
        done = 0.0
        for (old, start), length in zip(part.holds, part.lengths, strict=True):
            within = start - SAME_POINT <= notch.at <= start + length + SAME_POINT
            if old == notch.edge and within:
                return place, min(max(done + notch.at - start, 0.0), part.edge.length)
            done += length
    return None
