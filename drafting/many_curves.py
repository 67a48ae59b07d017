"""Curves of many bodies at once: rounded corners and splines as arrays, and their arc lengths.

The same constructions as in ``drafting.curves``, for points whose coordinates are arrays of shape
(n,), a number a body. Where a curve of one body would be refused, the points of its curve are nan
here, and so is its length. Centimetres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drafting.arc_lengths import lengths
from drafting.curves import HANDLE_SHARES
from drafting.interpolation import clamped, interpolated
from drafting.many_roots import roots_between
from drafting.points import PARALLEL, FloatArray, Many, Point
from drafting.spans import bezier_points
from drafting.tolerances import SAME_POINT

#: The four points of a cubic a body.
Cubics = tuple[Point, Point, Point, Point]
_STEPS = 6


def corners(p: Point, start: Point, q: Point, end: Point, guide: Point | FloatArray) -> Cubics:
    """Cubics that round corners, as :func:`drafting.curves.corner` draws each of them.

    ``guide`` is the share of the way that the handles go, or the points the curves pass through.
    """
    across: Many = start.cross(end)
    apex = p + start * ((q - p).cross(end) / across)
    good = np.abs(across) >= PARALLEL * abs(start) * abs(end)
    good &= ((apex - p).dot(start) > 0.0) & ((q - apex).dot(end) > 0.0)
    if isinstance(guide, Point):
        share = _shares_through(p, apex, q, guide)
        good &= (share >= HANDLE_SHARES[0]) & (share <= HANDLE_SHARES[1])
    else:
        share = guide
        good &= (share > 0.0) & (share <= 1.0)
    handles: Many = np.where(good, share, np.nan)
    return p, p.towards(apex, handles), q.towards(apex, handles), q


def _shares_through(p: Point, apex: Point, q: Point, guide: Point) -> FloatArray:
    """The handle shares with which corners pass through guide points, nan where none does; see
    ``drafting.curves``."""
    to_p, to_q, g = p - apex, q - apex, guide - apex
    area = to_p.cross(to_q)
    u, v = np.asarray(g.cross(to_q) / area), np.asarray(to_p.cross(g) / area)
    inside = np.asarray((u > 0.0) & (v > 0.0))
    t = _inner_root(1.0 - u - v, v, inside)
    return np.where(inside, (1.0 - u - v) / (3.0 * t * (1.0 - t)), np.nan)


def _inner_root(slope: FloatArray, height: FloatArray, wanted: NDArray[np.bool_]) -> FloatArray:
    """The root between 0 and 1 of ``((2 t - 3) t + slope) t + height``.

    Newton's rule finds it from the middle in a few steps; where it does not come to rest in there,
    the slower and surer way is gone for all.
    """
    t = np.where(wanted, 0.5, np.nan)
    for _ in range(_STEPS):
        step = (((2.0 * t - 3.0) * t + slope) * t + height) / ((6.0 * t - 6.0) * t + slope)
        t -= step
    if not (wanted & ~((np.abs(step) < 1e-12) & (t > 0.0) & (t < 1.0))).any():
        return t
    low, high = np.zeros_like(slope), np.where(wanted, 1.0, np.nan)
    return roots_between(lambda t: ((2 * t - 3) * t + slope) * t + height, low, high, xtol=1e-15)


def cubic_lengths(cubics: Cubics) -> FloatArray:
    """Arc lengths of cubics, shape (n,)."""
    a, b, c, d = cubics
    return _lengths(3.0 * np.stack([_pairs(step) for step in (b - a, c - b, d - c)], axis=1))


def spline_lengths(stops: Sequence[Point], start: Point, end: Point) -> FloatArray:
    """Arc lengths of the splines through points in order, one a body, that leave and arrive in
    given directions, as :func:`drafting.curves.through` draws each of them; nan where two
    neighbours coincide."""
    return spline_lengths_of(np.stack([_pairs(stop) for stop in stops]), start, end)


def spline_lengths_of(xy: FloatArray, start: Point, end: Point) -> FloatArray:
    """:func:`spline_lengths` of points in an array of shape (k, n, 2)."""
    steps = np.hypot(*np.moveaxis(np.diff(xy, axis=0), -1, 0))
    t = np.concatenate((np.zeros_like(steps[:1]), np.cumsum(steps, axis=0)))
    apart = np.asarray((steps >= SAME_POINT).all(axis=0))
    controls = interpolated(t, xy, _pairs(start.unit), _pairs(end.unit))
    pieces = bezier_points(clamped(t), controls, np.arange(3, len(t) + 2))
    rates = 3.0 * np.diff(pieces, axis=1)
    rates = np.moveaxis(rates, 1, 2)
    each = _lengths(rates.reshape(-1, 3, 2)).reshape(rates.shape[:2])
    return np.where(apart, each.sum(axis=0), np.nan)


def _lengths(rates: FloatArray) -> FloatArray:
    """Lengths by hodographs, shape (m, 3, 2), nan where those are."""
    known = np.asarray(np.isfinite(rates).all(axis=(1, 2)))
    if known.all():
        return lengths(rates)
    return np.where(known, lengths(np.where(known[:, None, None], rates, 1.0)), np.nan)


def _pairs(p: Point) -> FloatArray:
    """Points as pairs, shape (n, 2)."""
    return np.stack(np.broadcast_arrays(np.asarray(p.x), np.asarray(p.y)), axis=-1)
