"""Which points of a curve lie nearest to given ones: many at once, for one costs nearly as much.

The nearest point is an end of a polynomial piece or a place where travel is square to the way to
the point: a root of a quintic. Pieces that come nowhere near enough, by a few looks at each, are
left out.
"""

from __future__ import annotations

from math import hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drafting.geometry.points import FloatArray

IntArray = NDArray[np.intp]

#: Looks at a piece to tell whether it may hold the nearest point.
LOOKS = 32
_BELOW = np.arange(1, 5), np.arange(4)  # the diagonal below the main one, of five rows
#: The companion matrix of a quintic with nothing but its highest power.
_EMPTY = np.zeros((5, 5))
_EMPTY[_BELOW] = 1.0


def nearest_straight(
    beziers: FloatArray, rates: FloatArray, xy: FloatArray
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Piece, ``u`` and distance of the point nearest to each of ``xy`` (n, 2), on straight pieces
    by their ends (m, 2, 2) and rates (m, 3, 2)."""
    at, way = beziers[:, 0], rates[:, 0]
    to_x, to_y = xy[:, :1] - at[:, 0], xy[:, 1:] - at[:, 1]
    size = np.maximum((way * way).sum(axis=1), 1e-300)
    u = np.clip((to_x * way[:, 0] + to_y * way[:, 1]) / size, 0.0, 1.0)
    gaps = np.hypot(to_x - u * way[:, 0], to_y - u * way[:, 1])
    k = np.argmin(gaps, axis=1)
    every = np.arange(len(xy))
    return k, u[every, k], gaps[every, k]


def nearest_curved(
    beziers: FloatArray, rates: FloatArray, looks: FloatArray, xy: FloatArray
) -> tuple[IntArray, FloatArray, FloatArray]:
    """:func:`nearest_straight` on cubic pieces by their Bezier points (m, 4, 2) and rates
    (m, 3, 2); ``looks`` are ``LOOKS`` + 1 points evenly in ``u`` on each, (m, LOOKS + 1, 2)."""
    gaps = np.hypot(looks[..., 0] - xy[:, 0, None, None], looks[..., 1] - xy[:, 1, None, None])
    step = np.hypot(rates[..., 0], rates[..., 1]).max(axis=1) / LOOKS
    k, j = np.divmod(np.argmin(gaps.reshape(len(xy), -1), axis=1), LOOKS + 1)
    best_k, best_u = k.tolist(), (j / LOOKS).tolist()
    least = gaps[np.arange(len(xy)), k, j]
    best = least.tolist()
    owner, piece = np.nonzero(gaps.min(axis=2) <= least[:, None] + 0.5 * step)
    found = _square(beziers[piece], rates[piece], xy[owner])
    away = _points(beziers[piece], found) - xy[owner, None]
    for i, n, us, xs, ys in zip(
        owner.tolist(),
        piece.tolist(),
        found.tolist(),
        away[..., 0].tolist(),
        away[..., 1].tolist(),
        strict=True,
    ):
        for u, x, y in zip(us, xs, ys, strict=True):
            if (gap := hypot(x, y)) <= best[i]:
                best_k[i], best_u[i], best[i] = n, u, gap
    return np.array(best_k, dtype=np.intp), np.array(best_u), np.array(best)


def _points(at: FloatArray, u: FloatArray) -> FloatArray:
    """Points of cubic pieces, each at its own places; shape (n, places, 2)."""
    s = 1.0 - u
    shares = s * s * s, 3 * s * s * u, 3 * s * u * u, u * u * u
    a, b, c, d = (share[..., None] * at[:, n, None] for n, share in enumerate(shares))
    return np.asarray(a + b + c + d, dtype=np.float64)


def _square(beziers: FloatArray, rates: FloatArray, xy: FloatArray) -> FloatArray:
    """Where the nearest point of each piece to its point may lie: both ends, and where the way to
    it may stand square to travel: real parts of all roots, for a root where the curve just touches
    may come out complex; each made sharp. Shape (n, 12)."""
    way = beziers[:, 0] - xy
    a, b, c = rates[:, 0], rates[:, 1], rates[:, 2]
    r2, r1, r0 = a - 2 * b + c, 2 * (b - a), a
    slope = np.empty((6, len(xy)))  # highest power first
    slope[0] = _both(r2 * r2 / 3)
    slope[1] = _both(r2 * r1 * (5 / 6))
    slope[2] = _both(r2 * r0 * (4 / 3) + r1 * r1 / 2)
    slope[3] = _both(r1 * r0 * 1.5 + way * r2)
    slope[4] = _both(r0 * r0 + way * r1)
    slope[5] = _both(way * r0)
    found = np.clip(_roots(slope), 0.0, 1.0)
    ends = np.zeros((len(xy), 2))
    ends[:, 1] = 1.0
    return np.concatenate((ends, found, _sharpened(slope[:, :, None], found)), axis=1)


def _both(terms: FloatArray) -> FloatArray:
    total: FloatArray = terms[:, 0] + terms[:, 1]
    return total


def _roots(quintics: FloatArray) -> FloatArray:
    """Real parts of the roots of quintics, shape (6, n), highest power first: eigenvalues of their
    companion matrices. Shape (n, 5); a quintic of a lower degree has some roots twice."""
    companions = np.tile(_EMPTY, (quintics.shape[1], 1, 1))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        companions[:, 0] = (-quintics[1:] / quintics[0]).T
    odd = ~np.isfinite(companions[:, 0]).all(axis=1) | (quintics[5] == 0.0)
    companions[odd] = _EMPTY
    found = np.array(np.linalg.eigvals(companions).real, dtype=np.float64)
    for k in np.flatnonzero(odd).tolist():
        roots: NDArray[Any] = np.roots(quintics[:, k]).real
        found[k] = np.resize(roots, 5) if len(roots) else 0.0
    return found


def _sharpened(quintic: FloatArray, u: FloatArray) -> FloatArray:
    """Roots in the piece made sharp where the quintic rises, by Newton's steps."""
    a, b, c, d, e, f = quintic
    on = np.ones(u.shape, dtype=bool)
    for _ in range(3):
        rise = (((5 * a * u + 4 * b) * u + 3 * c) * u + 2 * d) * u + e
        on &= rise > 0.0
        height = ((((a * u + b) * u + c) * u + d) * u + e) * u + f
        with np.errstate(over="ignore"):
            step = np.divide(height, rise, out=np.zeros_like(u), where=on)
        u = np.clip(u - step, 0.0, 1.0)
    return u
