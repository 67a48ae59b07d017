"""How long pieces of a curve are, by the rates at which they are travelled.

A piece's hodograph is the quadratic Bezier of its rate of travel, over a parameter ``u`` from 0 to
1.
"""

from __future__ import annotations

from cmath import sqrt
from collections.abc import Sequence
from math import inf

import numpy as np

from drafting.points import FloatArray

#: A hodograph: three rates, each by x and y.
_Row = Sequence[Sequence[float]]


def _rule(count: int) -> tuple[FloatArray, FloatArray]:
    """Quadratic Bernstein basis at the nodes of Gauss-Legendre on [0, 1], and the weights there."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    u = 0.5 * (1.0 + nodes)
    return np.array([(1 - u) ** 2, 2 * u * (1 - u), u**2]), 0.5 * weights


#: A rule of n nodes is right to about r^-2n where no zero of the speed lies within the ellipse
#: whose half axes add up to r: each of these to 2^-48.
_RULES = tuple((2.0 ** (24 / count), _rule(count)) for count in (12, 16, 24))
#: Rules for pieces that hardly bend: the fewest nodes, the farthest zeros.
_EASY_RULES = tuple((2.0 ** (24 / count), _rule(count)) for count in (4, 6, 8, 12))
#: The clearance of what does not move.
_STANDS = 1e300
_FEW = 4  # pieces that are quicker looked at one by one
_DEPTH = 40  # halvings of a stretch for its length; reached only by what is shorter than any thread
#: Rates below this (cm per piece) are rounding: a doubled control, a cusp.
STILL = 1e-12


def lengths(rates: FloatArray) -> FloatArray:
    """Integrals of speed over pieces by their hodographs, shape (m, 3, 2), right to 1e-10.

    Where no zero of the speed is near, few nodes do. A stretch is halved as long as a cusp, or
    nearly one, is so close that Gauss-Legendre would blur it; two rules that agree would be no
    proof, for there they may agree by chance.
    """
    if len(rates) > _FEW:
        easy = _least_clearance(rates)
        for least, rule in _EASY_RULES:
            if easy >= least:
                return _speeds(rates, rule)
    clear = _clearances(rates)
    worst = min(clear, default=_STANDS) if len(rates) <= _FEW else float(np.min(clear))
    for least, rule in _RULES:
        if worst >= least:
            return _speeds(rates, rule)
    found, far = np.zeros(len(rates)), np.asarray(clear)
    most = inf
    for least, rule in _RULES:
        some = np.flatnonzero((far >= least) & (far < most))
        if len(some):
            found[some] = _speeds(rates[some], rule)
        most = least
    blurred = np.flatnonzero(far < most)
    if len(blurred):
        few = len(blurred) <= _FEW
        halved = _of_few_halves(rates[blurred].tolist()) if few else _of_halves(rates[blurred])
        found[blurred] = halved
    return found


def _of_halves(rates: FloatArray) -> FloatArray:
    """Lengths of stretches that are blurred as a whole, from their halves."""
    found, owner = np.zeros(len(rates)), np.arange(len(rates))
    for _ in range(_DEPTH - 1):
        first, second = 0.5 * (rates[:, 0] + rates[:, 1]), 0.5 * (rates[:, 1] + rates[:, 2])
        middle = 0.25 * (first + second)
        left = np.stack((0.5 * rates[:, 0], 0.5 * first, middle), axis=1)
        right = np.stack((middle, 0.5 * second, 0.5 * rates[:, 2]), axis=1)
        rates, owner = np.concatenate((left, right)), np.concatenate((owner, owner))
        clear = np.asarray(_clearances(rates))  # what is left at the depth allowed has no length
        most = inf
        for least, rule in _RULES:
            some = (clear >= least) & (clear < most)
            np.add.at(found, owner[some], _speeds(rates[some], rule))
            most = least
        blurred = clear < most
        if not blurred.any():
            break
        rates, owner = rates[blurred], owner[blurred]
    return found


def _of_few_halves(rows: Sequence[_Row]) -> list[float]:
    """:func:`_of_halves` of few stretches, without the weight of arrays."""
    found, owner = [0.0] * len(rows), list(range(len(rows)))
    for _ in range(_DEPTH - 1):
        left, right = zip(*(_halves(row) for row in rows), strict=True)
        rows, owner = [*left, *right], owner * 2
        clear = list(_clearances(np.array(rows)))  # what is left at the depth allowed has no length
        most = inf
        for least, rule in _RULES:
            some = [k for k, at in enumerate(clear) if least <= at < most]
            if some:
                whole = _speeds(np.array([rows[k] for k in some]), rule).tolist()
                for k, length in zip(some, whole, strict=True):
                    found[owner[k]] += length
            most = least
        blurred = [k for k, at in enumerate(clear) if at < most]
        if not blurred:
            break
        rows, owner = [rows[k] for k in blurred], [owner[k] for k in blurred]
    return found


def _halves(row: _Row) -> tuple[_Row, _Row]:
    """The hodographs of both halves of a stretch, each over a ``u`` from 0 to 1 of its own."""
    (ax, ay), (bx, by), (cx, cy) = row
    ab_x, ab_y, bc_x, bc_y = 0.5 * (ax + bx), 0.5 * (ay + by), 0.5 * (bx + cx), 0.5 * (by + cy)
    middle = 0.25 * (ab_x + bc_x), 0.25 * (ab_y + bc_y)
    left = (0.5 * ax, 0.5 * ay), (0.5 * ab_x, 0.5 * ab_y), middle
    return left, (middle, (0.5 * bc_x, 0.5 * bc_y), (0.5 * cx, 0.5 * cy))


def _speeds(rates: FloatArray, rule: tuple[FloatArray, FloatArray]) -> FloatArray:
    basis, weights = rule
    x, y = rates[..., 0] @ basis, rates[..., 1] @ basis
    return np.asarray(np.sqrt(x * x + y * y) @ weights, dtype=np.float64)


def _least_clearance(rates: FloatArray) -> float:
    """A bound that no :func:`_clearances` of pieces is below, quick to tell and near enough where
    they hardly bend; nought where it tells nothing."""
    first, second, third = rates[:, 0], rates[:, 1], rates[:, 2]
    far, middle = third - first, first + 2.0 * second + third
    curl = np.abs(middle - 4.0 * second).sum(axis=1)
    way = np.abs(far).sum(axis=1)
    most = np.maximum(np.abs(middle[:, 0]), np.abs(middle[:, 1]))
    # the hodograph is (curl w w + 2 far w + middle) / 4, so it is not nought for a smaller w
    with np.errstate(divide="ignore", invalid="ignore"):
        nearest = float((most / (way + np.sqrt(way * way + curl * most))).min(initial=np.inf))
    return nearest + (nearest * nearest - 1.0) ** 0.5 if nearest > 1.0 else 0.0


def _clearances(rates: FloatArray) -> Sequence[float] | FloatArray:
    """How far the zeros of the speed keep from each stretch, complex ones counted: the sum of the
    half axes of the ellipse about -1 and 1 through the nearest, [0, 1] stretched on to [-1, 1].
    Large where nothing moves.

    The square of the speed is the product of the hodograph, taken as one complex number, and its
    mirror image; so its zeros are those of a quadratic, and theirs mirrored.
    """
    if len(rates) <= _FEW:
        return [_one_clearance(row) for row in rates.tolist()]
    h = rates[..., 0] + 1j * rates[..., 1]
    far, middle = h[:, 2] - h[:, 0], h[:, 0] + 2.0 * h[:, 1] + h[:, 2]
    curl = middle - 4.0 * h[:, 1]  # hodograph: (curl w w + 2 far w + middle) / 4, w from -1 to 1
    root = np.sqrt(far * far - curl * middle)
    one, other = far + root, far - root
    q = -np.where(np.abs(one) > np.abs(other), one, other)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        zeros = np.stack((q / curl, middle / q))
        axes = np.abs(zeros - 1.0) + np.abs(zeros + 1.0)  # from both foci: twice the longer one
        longer = 0.5 * np.fmin(axes[0], axes[1])  # nan for a zero that there is not
        nearest = longer + np.sqrt(np.maximum(longer * longer - 1.0, 0.0))
    nearest = np.fmin(nearest, _STANDS)  # or is too far away for a number
    nearest = np.where(q == 0.0, np.where(curl == 0.0, _STANDS, 1.0), nearest)
    still = np.abs(rates).max(axis=(1, 2)) <= STILL
    return np.asarray(np.where(still, _STANDS, nearest), dtype=np.float64)


def _one_clearance(row: _Row) -> float:
    """:func:`_clearances` of one stretch, which takes a tenth of the time that arrays do."""
    h0, h1, h2 = (complex(x, y) for x, y in row)
    if max(abs(h0), abs(h1), abs(h2)) <= STILL:
        return _STANDS
    far, middle = h2 - h0, h0 + 2.0 * h1 + h2
    curl = middle - 4.0 * h1
    root = sqrt(far * far - curl * middle)
    q = -max(far + root, far - root, key=abs)
    if q == 0.0:
        return _STANDS if curl == 0.0 else 1.0
    nearest = _STANDS
    for zero in (middle / q, *((q / curl,) if curl != 0.0 else ())):
        around = sqrt(zero * zero - 1.0)
        nearest = min(nearest, max(abs(zero + around), abs(zero - around)))
    return nearest
