"""Where many functions pass through nought, each between two places of its own, all at once.

The method is that of T. R. Chandrupatla, A new hybrid quadratic/bisection algorithm for finding the
zero of a nonlinear function without using derivatives, Advances in Engineering Software 28 (1997),
145 to 149 (from memory): inverse interpolation where three places promise that it helps, halving
where they do not, so that the place sought is never lost.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from drafting.points import FloatArray

_ROUNDS = 120
_ROUNDING = 4.440892098500626e-16


def roots_between(
    function: Callable[[FloatArray], FloatArray],
    low: FloatArray,
    high: FloatArray,
    *,
    ends: tuple[FloatArray, FloatArray] | None = None,
    start: FloatArray | None = None,
    xtol: float = 1e-13,
) -> FloatArray:
    """The places between ``low`` and ``high`` (n,) where ``function``, taken of n places at once,
    passes through nought in each, right to ``xtol`` and a rounding.

    ``ends`` are the values at both places where they are known already, ``start`` a third place
    between them to begin with, the middle when left out. Where a
    function has one sign at both ends, or is no number at a place that was tried, the answer is
    nan.
    """
    with np.errstate(all="ignore"):
        f_low, f_high = (function(low), function(high)) if ends is None else ends
        if start is None:
            start = 0.5 * (low + high)
        return _sought(function, (start, high, low), (function(start), f_high, f_low), xtol)


def _sought(
    function: Callable[[FloatArray], FloatArray],
    places: tuple[FloatArray, FloatArray, FloatArray],
    values: tuple[FloatArray, FloatArray, FloatArray],
    xtol: float,
) -> FloatArray:
    (a, b, c), (fa, fb, fc) = places, values  # a is the newest; the root lies between a and b
    lost = ~((fb <= 0.0) & (fc >= 0.0) | (fb >= 0.0) & (fc <= 0.0)) | np.isnan(fa)
    same = np.signbit(fa) == np.signbit(fb)
    b, c = np.where(same, c, b), np.where(same, b, c)
    fb, fc = np.where(same, fc, fb), np.where(same, fb, fc)
    for _ in range(_ROUNDS):
        nearer = np.abs(fa) < np.abs(fb)
        best, least = np.where(nearer, a, b), np.where(nearer, fa, fb)
        limit = (2.0 * _ROUNDING * np.abs(best) + 0.5 * xtol) / np.abs(b - a)
        done = lost | (limit > 0.5) | (least == 0.0) | (a == b)
        if done.all():
            break
        at = np.clip(_share(a, b, c, fa, fb, fc), limit, 1.0 - limit)
        x = np.where(done, best, a + at * (b - a))
        f = np.where(done, least, function(x))
        lost = lost | np.isnan(f)
        same = np.signbit(f) == np.signbit(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, f
    return np.where(lost, np.nan, best)


def _share(
    a: FloatArray, b: FloatArray, c: FloatArray, fa: FloatArray, fb: FloatArray, fc: FloatArray
) -> FloatArray:
    """How far from ``a`` to ``b`` to look next."""
    xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
    smooth = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
    guess = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(smooth & np.isfinite(guess), guess, 0.5)
