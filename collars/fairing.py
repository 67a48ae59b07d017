"""One fair line through a traced one: near it, but without its breaks and dents, as a cutter draws
with a curve what was pricked through with the wheel.

A cubic spline whose distance from the traced points and whose change of curvature are least
together (after C. H. Reinsch, Smoothing by spline functions, Numerische Mathematik 10, 1967, from
memory), held straight where it would bend the wrong way. Centimetres.
"""

from __future__ import annotations

import numpy as np

from drafting.curves import Curve
from drafting.points import FloatArray, Point

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
