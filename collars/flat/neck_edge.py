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

from blocks.neckline.neckline import Neckline
from collars.laid_shoulders import Laid, lay_front_on_back
from drafting.geometry.curves import Curve, joined, line
from drafting.geometry.points import FloatArray, Point
from drafting.geometry.roots import root_between
from drafting.tolerances import SAME_POINT

# ---- One fair line through a traced one: near it, but without its breaks and dents, as a cutter
# draws with a curve what was pricked through with the wheel

#: Waves shorter than about six times this (cm) are drawn through.
REACH = 1.2
#: A line bent the other way by less than this (1/cm, a radius of two metres) looks straight.
LOOKS_STRAIGHT = 0.005
_LEAST_SPANS, _SPAN = 6, 1.5
#: How firmly it is held straight against how firmly it is held to the traced points, and how many
#: times it is looked over for dents.
_HELD, _ROUNDS, _PER_SPAN = 1e4, 12, 6


def fair_line(points: FloatArray, start: Point, end: Point) -> Curve:
    """The fair line nearest to traced ``points`` (n, 2), from the first to the last, leaving and
    arriving along ``start`` and ``end``, that never bends to the left by more than can be seen.

    Ends that ask for a bend to the left get one: see :func:`dent`.
    """
    from scipy.interpolate import BSpline  # slow to load, and most collars do without

    at = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
    length = float(at[-1])
    spans = max(_LEAST_SPANS, round(length / _SPAN))
    breaks = np.linspace(0.0, length, spans + 1)
    knots = np.concatenate(([0.0] * 3, breaks, [length] * 3))
    count = spans + 3
    basis = BSpline.design_matrix(at, knots, 3).toarray()
    weights = np.gradient(at)
    change = BSpline(knots, np.eye(count), 3).derivative(3)(0.5 * (breaks[1:] + breaks[:-1]))
    one = basis.T @ (basis * weights[:, None]) + REACH**6 * (length / spans) * change.T @ change
    wanted = np.kron(np.eye(2), one)
    pull = (basis.T @ (points * weights[:, None])).T.ravel()
    ties, sums = _ties(count, points, start, end)
    watched = np.linspace(0.0, length, spans * _PER_SPAN + 1)
    rates = BSpline(knots, np.eye(count), 3).derivative(1)(watched)
    bends = BSpline(knots, np.eye(count), 3).derivative(2)(watched)
    held = np.zeros(len(watched), dtype=bool)
    for _ in range(_ROUNDS):
        found = _solved(wanted, pull, ties, sums)
        controls = found.reshape(2, count).T
        way = rates @ controls
        left = np.column_stack((-way[:, 1], way[:, 0])) / np.hypot(*way.T)[:, None]
        dents = ((bends @ controls) * left).sum(axis=1) > LOOKS_STRAIGHT / 2.0
        if not (dents & ~held).any():
            break
        held |= dents
        rows = np.hstack((left[:, :1] * bends, left[:, 1:] * bends))[held]
        wanted = np.kron(np.eye(2), one) + _HELD * (length / len(watched)) * rows.T @ rows
    controls[0], controls[-1] = points[0], points[-1]
    return Curve(3, knots, controls)


def evenly(curve: Curve, spacing: float) -> tuple[FloatArray, FloatArray]:
    """Parameters about evenly along a curve, ends included, and their lengths from its start,
    right to a hundredth of a millimetre."""
    fine = curve.samples(48)
    lengths = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(curve.xy(fine), axis=0).T))))
    wanted = np.linspace(0.0, lengths[-1], max(round(lengths[-1] / spacing), 8) + 1)
    return np.interp(wanted, lengths, fine), wanted


def dent(curve: Curve) -> float:
    """The most a curve bends to the left anywhere (1/cm); 0 when it never does."""
    return max(0.0, float(curve.curvature(curve.samples(8)).max()))


def turned_back(curve: Curve) -> float:
    """How far a curve turns to the left in all, radians; 0 when it bends to the right only."""
    t, lengths = evenly(curve, 0.05)
    left = np.maximum(curve.curvature(t), 0.0)
    return float((0.5 * (left[1:] + left[:-1]) * np.diff(lengths)).sum())


def _solved(wanted: FloatArray, pull: FloatArray, ties: FloatArray, sums: FloatArray) -> FloatArray:
    """The controls (all x, then all y) that do best what is wanted and keep the ties."""
    free, tied = len(pull), len(sums)
    both = np.block([[wanted, ties.T], [ties, np.zeros((tied, tied))]])
    return np.asarray(np.linalg.solve(both, np.concatenate((pull, sums)))[:free])


def _ties(
    count: int, points: FloatArray, start: Point, end: Point
) -> tuple[FloatArray, FloatArray]:
    """What holds both ends: their points, and the controls next to them in line."""
    ties = np.zeros((6, 2 * count))
    sums = np.zeros(6)
    for row, (column, value) in enumerate(
        (
            (0, points[0, 0]),
            (count, points[0, 1]),
            (count - 1, points[-1, 0]),
            (2 * count - 1, points[-1, 1]),
        )
    ):
        ties[row, column], sums[row] = 1.0, value
    for row, a, b, along in ((4, 0, 1, start), (5, count - 2, count - 1, end)):
        ties[row, [a, b]] = along.y, -along.y
        ties[row, [count + a, count + b]] = -along.x, along.x
    return ties, sums


# ---- The neck edge of a collar that lies on the shoulders: one fair line through the traced
# neckline, a little inside it at centre back and below it at centre front, so that the seam
# rolls under

#: The traced line is pricked through this often (cm).
_PRICKED = 0.1


@dataclass(frozen=True, slots=True)
class NeckShape:
    """What is asked of a neck edge: how far it is raised above the neckline at centre back and
    drawn below it at centre front. ``adjusted``: its front end is moved along its own line until
    it is longer than the neckline by ``ease`` (shorter when negative)."""

    back_raise: float
    front_drop: float
    adjusted: bool = True
    ease: float = 0.0


@dataclass(frozen=True, slots=True)
class NeckEdge:
    """A drawn neck edge. ``back`` runs from centre back to the shoulder notch, ``front`` from there
    to centre front; ``traced`` is how long the line was before its end was moved by ``moved`` (cm,
    negative when it was cut off)."""

    back: Curve
    front: Curve
    traced: float
    moved: float

    @property
    def whole(self) -> Curve:
        """Both as one line."""
        return joined([self.back, self.front])

    @property
    def length(self) -> float:
        """From centre back to centre front."""
        return self.back.length + self.front.length


def draw_neck_edge(laid: Laid, shape: NeckShape) -> NeckEdge:
    """The neck edge on front and back laid together."""
    points = _traced(laid, shape)
    curve = fair_line(points, laid.back.start_heading, laid.front.end_heading)
    traced, moved = curve.length, 0.0
    if shape.adjusted:
        moved = laid.neck.length + shape.ease - traced
        if moved > SAME_POINT:
            curve = joined([curve, line(curve.end, curve.end + curve.end_heading * moved)])
        elif moved < -SAME_POINT:
            curve = curve.part(0.0, traced + moved)
    # what is to be eased is shared by both sides of the shoulder
    notch = laid.shoulder_at + (curve.length - laid.neck.length) / 2.0
    back, front = curve.split_at_length(notch)
    return NeckEdge(back, front, traced, moved)


def _traced(laid: Laid, shape: NeckShape) -> FloatArray:
    """Points of the traced neckline, drawn in at centre back and down at centre front."""
    back, at_back = _pricked(laid.back)
    front, at_front = _pricked(laid.front)
    up, down = _across(laid.back.start_heading.right), _across(laid.down_front)
    back = back + up * (shape.back_raise * (1.0 - _eased(at_back)))[:, None]
    front = front + down * (shape.front_drop * _eased(at_front))[:, None]
    return np.vstack((back, front[1:]))


def _pricked(curve: Curve) -> tuple[FloatArray, FloatArray]:
    """Points evenly along a curve, and their shares of its length."""
    t, lengths = evenly(curve, _PRICKED)
    return curve.xy(t), lengths / lengths[-1]


def _across(step: Point) -> FloatArray:
    return np.array([[step.x, step.y]])


def _eased(share: FloatArray) -> FloatArray:
    return np.asarray(share * share * (3.0 - 2.0 * share), dtype=np.float64)


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
