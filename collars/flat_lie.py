"""How far a collar that was drawn on overlapping shoulders will stand at centre back.

Overlapping shoulders make the outer edge shorter than the line on the garment where the collar
would lie flat, so the collar rises from its seam until its edge finds a line of its own length.
Its height is greatest at centre back, level there, and falls to nothing at centre front as a
parabola does. Both ways of reckoning are estimates, good to about a third: cloth, pressing and the
turn of the seam do the rest. Centimetres and radians.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from blocks.neckline import Neckline
from collars.fairing import evenly
from collars.flat_neck import NeckEdge, NeckShape, draw_neck_edge
from collars.laid_shoulders import lay_front_on_back
from drafting.curves import Curve
from drafting.points import FloatArray
from drafting.roots import root_between

#: The outer edge is walked in steps of this (cm).
_SPACING = 0.35
#: Lengths along neck seams are read off a table in steps of this (cm).
_FINE = 0.02
#: A point stands square to the seam when it is off by less than this share of its distance.
_SQUARE = 1e-3


def stand_by_angle(width: float, angle: float, turning: float) -> float:
    """The stand at centre back by the angle between the overlapping shoulders, for a collar of one
    ``width`` on a neckline that turns by ``turning``.

    Computed: a collar that stands evenly all round needs half of this
    (:func:`collars.lying.stand_of`); one whose stand falls to nothing in front, about twice that
    at centre back.
    """
    return width * angle / turning


@dataclass(frozen=True, slots=True)
class Lie:
    """The outer edge of a collar and its place on the garment: its ``length``, the points of the
    garment's neckline that its points stand square to (``feet``), the directions ``outward`` there,
    its ``distances`` from the neck seam, and the share of the stand at centre back that it has
    there (``tapers``)."""

    length: float
    feet: FloatArray
    outward: FloatArray
    distances: FloatArray
    tapers: FloatArray

    def line(self, stand: float) -> float:
        """Length of the line on the garment where the outer edge comes to lie with a stand."""
        reach = self.distances - 2.0 * stand * self.tapers
        xy = self.feet + self.outward * reach[:, None]
        return float(np.hypot(*np.diff(xy, axis=0).T).sum())

    def stand(self, most: float) -> float:
        """The stand at centre back at which that line is as long as the outer edge: 0 when the
        edge is long enough to lie flat, ``most`` when it is too short for any up to that."""
        if self.line(0.0) <= self.length:
            return 0.0
        if self.line(most) >= self.length:
            return most
        return root_between(lambda a: self.line(a) - self.length, 0.0, most, xtol=1e-6)


def lie_of(outer: Curve, neck: NeckEdge, neckline: Neckline, least: float) -> Lie:
    """How the outer edge of a collar lies. ``outer`` runs from centre back to the front, ``neck``
    is its neck edge. What lies nearer to that than ``least`` is an end of the collar, not its outer
    edge, and does not count.
    """
    seam = neck.whole
    xy = outer.xy(evenly(outer, _SPACING)[0])
    t, distance = seam.nearest_to(xy)
    feet, along = _feet(seam, t)
    # beyond the ends of the seam the nearest point is the end, but not square to it
    square = np.abs(((xy - feet) * along).sum(axis=1)) < _SQUARE * distance
    proper = square & (distance > least)
    xy, t, distance = xy[proper], t[proper], distance[proper]
    place = np.interp(t, *evenly(seam, _FINE))
    garment = draw_neck_edge(lay_front_on_back(neckline, 0.0), NeckShape(0.0, 0.0))
    shares = np.interp(place, (0.0, neck.back.length, seam.length), (0.0, 1.0, 2.0))
    where = np.interp(shares, (0.0, 1.0, 2.0), (0.0, garment.back.length, garment.length))
    whole = garment.whole
    there, lengths = evenly(whole, _FINE)
    feet, along = _feet(whole, np.interp(where, lengths, there))
    return Lie(
        length=float(np.hypot(*np.diff(xy, axis=0).T).sum()),
        feet=feet,
        outward=np.column_stack((-along[:, 1], along[:, 0])),
        distances=distance,
        tapers=1.0 - (place / seam.length) ** 2,
    )


def _feet(curve: Curve, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Points of a curve and its directions there, each shape (n, 2)."""
    return curve.xy(t), curve.headings(t)
