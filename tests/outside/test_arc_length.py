"""Arc lengths against independent quadrature and closed forms.

Sources: mpmath's tanh-sinh quadrature at 30 digits (F. Johansson and others, mpmath); the ellipse's
perimeter by the complete elliptic integral of the second kind (mpmath.ellipe); J. Steiner, 1840,
for parallel curves: a curve moved sideways by h changes its length by h times its turning.
"""

from __future__ import annotations

import mpmath
import numpy as np
import pytest

from drafting.geometry.curves import Curve, bezier, corner, through
from drafting.geometry.points import Point, direction


def random_spline(seed: int) -> Curve:
    """A walk of 3 to 7 points, as wild as no pattern piece is."""
    rng = np.random.default_rng(seed)
    steps = rng.normal(size=(rng.integers(3, 8), 2)) * rng.uniform(1, 15)
    points = [Point(float(x), float(y)) for x, y in np.cumsum(steps, axis=0)]
    ends = [direction(float(a)) if rng.random() < 0.7 else None for a in rng.uniform(-3, 3, 2)]
    return through(points, *ends)


def quadrature(curve: Curve) -> float:
    """Length by mpmath on each Bezier piece, from its control points alone."""
    total = mpmath.mpf(0)
    for p0, p1, p2, p3 in curve.beziers():
        d = [(b.x - a.x, b.y - a.y) for a, b in ((p0, p1), (p1, p2), (p2, p3))]

        def speed(t: mpmath.mpf, d: list[tuple[float, float]] = d) -> mpmath.mpf:
            s = 1 - t
            x, y = (3 * (s * s * d[0][k] + 2 * s * t * d[1][k] + t * t * d[2][k]) for k in (0, 1))
            return mpmath.sqrt(x * x + y * y)

        total += mpmath.quad(speed, mpmath.linspace(0, 1, 9))
    return float(total)


@pytest.mark.parametrize("first", range(0, 200, 25))
def test_200_random_splines_agree_with_quadrature(first: int) -> None:
    with mpmath.workdps(20):
        for seed in range(first, first + 25):
            curve = random_spline(seed)

            assert curve.length == pytest.approx(quadrature(curve), abs=1e-10)


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (6.7, 7.2), (6.9, 7.4), (5.0, 9.0)])
def test_a_quarter_ellipse_to_what_one_cubic_can_do(a: float, b: float) -> None:
    """One cubic with handles 4/3 (sqrt 2 - 1) is longer than the quarter by up to 0.02 %."""
    share = 4.0 / 3.0 * (2.0**0.5 - 1.0)
    across, down = Point(1.0, 0.0), Point(0.0, -1.0)
    quarter = corner(Point(0.0, b), across, Point(a, 0.0), down, share)
    exact = float(b * mpmath.ellipe(1 - (a / b) ** 2))

    assert 0.0 <= quarter.length - exact < 2.5e-4 * exact


def test_a_quarter_circle_by_a_spline_through_many_points() -> None:
    points = [direction(np.pi / 2 * k / 16) * 7.0 for k in range(17)]
    curve = through(points, Point(0.0, 1.0), Point(-1.0, 0.0))

    assert curve.length == pytest.approx(7.0 * np.pi / 2, abs=2e-6)


@pytest.mark.parametrize("distance", [-1.0, 0.6, 1.0, 3.0])
def test_parallel_curves_follow_steiner(distance: float) -> None:
    """Turning left and offset to the right: longer by distance times turning."""
    control = np.array([(0.0, 0.0), (6.0, 0.0), (12.0, 2.0), (15.0, 7.0)])
    curve = bezier(*(Point(float(x), float(y)) for x, y in control))
    t = np.linspace(0.0, 1.0, 40001)
    s = (1.0 - t)[:, None]
    step, at = np.diff(control, axis=0), t[:, None]
    d1 = 3.0 * (s * s * step[0] + 2.0 * s * at * step[1] + at * at * step[2])
    normal = np.column_stack((d1[:, 1], -d1[:, 0])) / np.hypot(d1[:, 0], d1[:, 1])[:, None]
    moved = curve.xy(t) + distance * normal
    length = float(np.hypot(*np.diff(moved, axis=0).T).sum())

    assert length == pytest.approx(curve.length + distance * curve.turning(), abs=1e-6)
    ours = curve.offset_points(distance)
    drawn = float(np.hypot(*np.diff(ours, axis=0).T).sum())
    assert drawn == pytest.approx(length, abs=2e-3)
