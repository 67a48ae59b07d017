"""How fast lengths are: ratios of times taken in one run, so that runs on busy and on idle machines
can be compared.

Usage: python scripts/bench_lengths.py

The arc length of one and the same spline, to 1e-9 cm: by Neckarc, by itself and as one of many
at once; by scipy.integrate.quad of the speed of scipy's own derivative of the spline, and of the
fastest speed that plain Python can be given; and by a polyline fine enough for 1e-6 cm.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from itertools import pairwise
from math import hypot
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import BSpline

from drafting.geometry.curves import Curve, through
from drafting.geometry.points import FloatArray, Point
from drafting.geometry.spans import lengths

_ROUNDS = 5
#: So many splines are worked out at once.
_MANY = 1000


def best(work: Callable[[], object]) -> float:
    """The shortest time of several (seconds of the processor: other work does not count)."""
    times = []
    for _ in range(_ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> int:
    """Print the table."""
    arc_lengths()
    return 0


def arc_lengths() -> None:
    """One curve like a front neckline, one like a stand's neck seam."""
    print("arc length of one spline, and how many times that others take")
    print(f"{'spline':26}{'one':>10}{'one of many':>13}", end="")
    print(f"{'quad, scipy spline':>20}{'quad, polynomials':>19}{'polyline':>10}")
    for name, points in (
        ("front neckline, 4 points", [(0, 0), (1.2, -4.1), (4.4, -7.0), (9.1, -8.0)]),
        ("stand seam, 17 points", [(1.2 * k, 0.004 * k**2) for k in range(17)]),
    ):
        curve = through([Point(*map(float, p)) for p in points])
        pieces, rates = _pieces(curve), _rates(curve)
        steps, found = _fine_enough(curve)
        many = np.tile(rates, (_MANY, 1, 1))
        own = best(lambda rates=rates: [lengths(rates) for _ in range(40)]) / 40
        of_many = best(lambda many=many: lengths(many)) / _MANY
        spline = BSpline(curve.knots, curve.controls, curve.degree).derivative()
        others = (
            best(lambda curve=curve, spline=spline: _by_spline(curve, spline)),
            best(lambda pieces=pieces: _by_quad(pieces)),
            best(lambda curve=curve, steps=steps: _by_polyline(curve, steps)),
        )
        print(f"{name:26}{1e6 * own:7.1f} us{1e6 * of_many:10.2f} us", end="")
        print("".join(f"{o / own:{w}.1f}x" for o, w in zip(others, (19, 18, 9), strict=True)))
        print(f"{'  to one of many':49}", end="")
        print("".join(f"{o / of_many:{w}.0f}x" for o, w in zip(others, (19, 18, 9), strict=True)))
        apart = max(abs(curve.length - by) for by in (_by_quad(pieces), _by_spline(curve, spline)))
        print(f"  quad agrees to {apart:.0e} cm; {steps} lines are {found:.0e} cm off")


def _rates(curve: Curve) -> FloatArray:
    """Hodographs of the knot spans, from which lengths are worked out."""
    return np.array([[tuple(3.0 * (q - p)) for p, q in pairwise(b)] for b in curve.beziers()])


def _by_spline(curve: Curve, rate: BSpline) -> float:
    """As one would write it down: the speed of scipy's own derivative of the same spline."""
    inner = np.unique(curve.knots)[1:-1]
    first, last = curve.span
    return float(
        quad(lambda t: hypot(*rate(t)), first, last, points=inner, epsabs=1e-9, epsrel=0.0)[0]
    )


def _pieces(curve: Curve) -> list[tuple[list[float], list[float], float]]:
    """The rate of travel on each knot span as two polynomials (highest power first), and the length
    of the span: the fastest speed for ``quad`` that plain Python can be given."""
    breaks = np.unique(curve.knots)
    pieces = []
    for a, b, four in zip(breaks[:-1], breaks[1:], curve.beziers(), strict=True):
        step = [(q - p) * (3.0 / (b - a)) for p, q in pairwise(four)]
        rows = []
        for h in ([s.x for s in step], [s.y for s in step]):
            rows.append([h[0] - 2 * h[1] + h[2], 2 * (h[1] - h[0]), h[0]])
        pieces.append((rows[0], rows[1], float(b - a)))
    return pieces


def _by_quad(pieces: list[tuple[list[float], list[float], float]]) -> float:
    total = 0.0
    for (x2, x1, x0), (y2, y1, y0), size in pieces:

        def speed(u: float) -> float:
            return hypot((x2 * u + x1) * u + x0, (y2 * u + y1) * u + y0)  # noqa: B023

        total += size * quad(speed, 0.0, 1.0, epsabs=1e-9 / len(pieces) / size, epsrel=0.0)[0]
    return total


def _by_polyline(curve: Curve, steps: int) -> float:
    xy = curve.xy(np.linspace(*curve.span, steps + 1))
    return float(np.hypot(*np.diff(xy, axis=0).T).sum())


def _fine_enough(curve: Curve) -> tuple[int, float]:
    """The fewest lines, doubled from 16, that are within 1e-6 cm, and how far they are off."""
    steps = 16
    while abs(_by_polyline(curve, steps) - curve.length) > 1e-6:
        steps *= 2
    return steps, abs(_by_polyline(curve, steps) - curve.length)


if __name__ == "__main__":
    sys.exit(main())
