"""The controls of a cubic spline through points: one system of equations with three unknowns in a
row, solved from one end to the other and back."""

from __future__ import annotations

import numpy as np

from drafting.points import FloatArray


def interpolated(
    t: FloatArray, xy: FloatArray, start: FloatArray | None, end: FloatArray | None
) -> FloatArray:
    """Controls, shape (n + 2, 2), of the cubic B-spline through ``xy`` (n, 2) at rising parameters
    ``t`` (n >= 2), which are its knots, both ends four times.

    ``start`` and ``end`` are rates of travel there; where none is given the end is free: its second
    derivative is nought. For m splines at once ``t`` is (n, m), ``xy`` (n, m, 2), the rates (m, 2)
    and the controls (n + 2, m, 2).
    """
    knots = clamped(t)
    # unknown are the controls 1 to n; controls 0 and n + 1 are the end points
    low, middle, high = np.zeros(t.shape), np.empty(t.shape), np.zeros(t.shape)
    right = np.empty(xy.shape)
    right[1:-1] = xy[1:-1]
    _inner_rows(knots, low, middle, high)
    first, last = knots[4] - knots[3], knots[-4] - knots[-5]
    if start is None:  # both legs of the second derivative at the end are alike
        a, b = 1.0 / first, 1.0 / (knots[5] - knots[3])
        middle[0], high[0], right[0] = a + b, -b, a[..., None] * xy[0]
    else:
        middle[0], right[0] = 1.0, xy[0] + start * (first / 3.0)[..., None]
    if end is None:
        a, b = 1.0 / last, 1.0 / (knots[-4] - knots[-6])
        middle[-1], low[-1], right[-1] = a + b, -b, a[..., None] * xy[-1]
    else:
        middle[-1], right[-1] = 1.0, xy[-1] - end * (last / 3.0)[..., None]
    swept = _swept if t.ndim == 1 else _swept_together
    return np.concatenate((xy[:1], swept(low, middle, high, right), xy[-1:]))


def clamped(t: FloatArray) -> FloatArray:
    """Parameters as the knots of a cubic spline through its points: both ends four times."""
    return np.concatenate((t[:1], t[:1], t[:1], t, t[-1:], t[-1:], t[-1:]))


def _inner_rows(knots: FloatArray, low: FloatArray, middle: FloatArray, high: FloatArray) -> None:
    """Shares of three neighbouring controls at each inner knot, by de Boor's recurrence."""
    at = np.arange(4, len(knots) - 4)
    k1, k2, k3, k4, k5 = (knots[at + n] for n in (-2, -1, 0, 1, 2))
    wide = k4 - k2
    before, after = (k4 - k3) / wide, (k3 - k2) / wide
    low[1:-1] = before * (k4 - k3) / (k4 - k1)
    high[1:-1] = after * (k3 - k2) / (k5 - k2)
    middle[1:-1] = 1.0 - low[1:-1] - high[1:-1]


def _swept(
    low: FloatArray, middle: FloatArray, high: FloatArray, right: FloatArray
) -> list[tuple[float, float]]:
    """The unknowns of rows of three, each row's middle one outweighing the others."""
    a, b, c, d = low.tolist(), middle.tolist(), high.tolist(), right.tolist()
    for k in range(1, len(b)):
        share = a[k] / b[k - 1]
        b[k] -= share * c[k - 1]
        d[k] = [d[k][0] - share * d[k - 1][0], d[k][1] - share * d[k - 1][1]]
    x = y = 0.0
    found = []
    for k in range(len(b) - 1, -1, -1):
        x, y = (d[k][0] - c[k] * x) / b[k], (d[k][1] - c[k] * y) / b[k]
        found.append((x, y))
    return found[::-1]


def _swept_together(
    low: FloatArray, middle: FloatArray, high: FloatArray, right: FloatArray
) -> FloatArray:
    """:func:`_swept` for many splines at once, row by row."""
    for k in range(1, len(middle)):
        share = low[k] / middle[k - 1]
        middle[k] -= share * high[k - 1]
        right[k] -= share[:, None] * right[k - 1]
    right[-1] /= middle[-1][:, None]
    for k in range(len(middle) - 2, -1, -1):
        right[k] = (right[k] - high[k][:, None] * right[k + 1]) / middle[k][:, None]
    return right
