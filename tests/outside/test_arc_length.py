"""Arc lengths against independent quadrature and closed forms.

Sources: mpmath's tanh-sinh quadrature at 20 digits (F. Johansson and others, mpmath); the ellipse's
perimeter by the complete elliptic integral of the second kind (mpmath.ellipe); the cubic that
touches a quarter circle at its ends and middle stays within 2.7253e-4 of the radius outside it (a
commonly quoted figure); J. Steiner, 1840, for parallel curves: a curve moved sideways by h changes
its length by h times its turning.
"""

from __future__ import annotations

from math import cos, pi, sin, sqrt

import mpmath
import numpy as np
import pytest
from scipy.interpolate import BSpline, PPoly

from drafting.curves import Curve, bezier, corner, joined, line, through
from drafting.points import FloatArray, Point, direction

#: Handles of the cubic that meets a quarter circle at its ends and its middle.
QUARTER = 4.0 / 3.0 * (sqrt(2.0) - 1.0)


def random_spline(seed: int) -> Curve:
    """A walk of 3 to 7 points, as wild as no pattern piece is."""
    rng = np.random.default_rng(seed)
    steps = rng.normal(size=(rng.integers(3, 8), 2)) * rng.uniform(1, 15)
    points = [Point(float(x), float(y)) for x, y in np.cumsum(steps, axis=0)]
    ends = [direction(float(a)) if rng.random() < 0.7 else None for a in rng.uniform(-3, 3, 2)]
    return through(points, *ends)


def quadrature(curve: Curve) -> float:
    """Length by mpmath on each polynomial piece, from knots and controls alone."""
    spline = BSpline(curve.knots, curve.controls, curve.degree)
    pieces = PPoly.from_spline(spline).derivative()  # type: ignore[arg-type]
    total = mpmath.mpf(0)
    for k in range(pieces.c.shape[1]):
        if pieces.x[k] == pieces.x[k + 1]:
            continue
        rates = [[mpmath.mpf(float(c)) for c in pieces.c[:, k, n]] for n in (0, 1)]

        def speed(t: mpmath.mpf, rates: list[list[mpmath.mpf]] = rates) -> mpmath.mpf:
            return mpmath.hypot(*(mpmath.polyval(rate, t) for rate in rates))

        width = float(pieces.x[k + 1]) - float(pieces.x[k])
        total += mpmath.quad(speed, mpmath.linspace(0, width, 5))
    return float(total)


def polyline_length(xy: FloatArray) -> float:
    return float(np.hypot(*np.diff(xy, axis=0).T).sum())


def test_the_quadrature_itself_on_a_parabola() -> None:
    """y = x^2 / 2 from -1 to 1 is sqrt 2 + asinh 1 long."""
    ends, low = (Point(-1.0, 0.5), Point(1.0, 0.5)), Point(0.0, -0.5)
    curve = bezier(ends[0], ends[0].towards(low, 2 / 3), ends[1].towards(low, 2 / 3), ends[1])

    assert quadrature(curve) == pytest.approx(sqrt(2.0) + np.arcsinh(1.0), abs=1e-14)


@pytest.mark.parametrize("first", range(0, 200, 25))
def test_200_random_splines_agree_with_quadrature(first: int) -> None:
    with mpmath.workdps(20):
        for seed in range(first, first + 25):
            curve = random_spline(seed)

            assert curve.length == pytest.approx(quadrature(curve), abs=1e-7)


def test_a_random_stretch_agrees_with_quadrature() -> None:
    """Cut at arc lengths, a stretch is as long as it was asked to be."""
    rng = np.random.default_rng(7)
    with mpmath.workdps(20):
        for seed in range(40):
            curve = random_spline(seed)
            s0, s1 = sorted(float(s) for s in rng.uniform(0.0, curve.length, 2))

            assert quadrature(curve.part(s0, s1)) == pytest.approx(s1 - s0, abs=1e-7)


def test_curves_with_corners_agree_with_quadrature() -> None:
    bent = joined(
        [
            line(Point(0, 0), Point(4, 1)),
            through([Point(4, 1), Point(6, 5), Point(3, 8)]),
            bezier(Point(3, 8), Point(3, 8), Point(-4, 8), Point(-4, 2)),
        ]
    )
    with mpmath.workdps(20):
        assert bent.length == pytest.approx(quadrature(bent), abs=1e-7)


def test_a_quarter_circle_to_what_one_cubic_can_do() -> None:
    """Through the middle of the arc the cubic's handles are 0.5523 of the radius; it stands at most
    2.7253e-4 of the radius off, never inside, which makes it 1.403e-4 too long."""
    radius = 7.0
    middle = Point(cos(pi / 4), sin(pi / 4)) * radius
    curve = corner(Point(radius, 0), Point(0, 1), Point(0, radius), Point(-1, 0), middle)
    off = np.hypot(*curve.xy(curve.samples(2000)).T) / radius - 1.0

    assert next(curve.beziers())[1].y / radius == pytest.approx(QUARTER, abs=1e-12)
    assert off.max() == pytest.approx(2.7253e-4, abs=5e-9)
    assert off.min() > -1e-14
    assert curve.length / (radius * pi / 2) - 1.0 == pytest.approx(1.403e-4, abs=5e-8)


@pytest.mark.parametrize(("a", "b"), [(1.0, 1.0), (6.7, 7.2), (6.9, 7.4), (5.0, 9.0), (9.0, 2.0)])
def test_a_quarter_ellipse_to_what_one_cubic_can_do(a: float, b: float) -> None:
    """Stretched with the circle, the cubic is outside everywhere and too long, by no more than it
    may stand outside: 2.7253e-4 (for ellipses like necklines it is half of that)."""
    across, down = Point(1.0, 0.0), Point(0.0, -1.0)
    quarter = corner(Point(0.0, b), across, Point(a, 0.0), down, QUARTER)
    exact = float(b * mpmath.ellipe(1 - (a / b) ** 2))

    assert 1e-5 < quarter.length / exact - 1.0 < 1.5e-4


@pytest.mark.parametrize(("a", "b"), [(7.0, 7.0), (5.0, 9.0)])
def test_a_spline_through_many_points_nears_the_ellipse_with_the_fourth_power(
    a: float, b: float
) -> None:
    exact = float(b * mpmath.ellipe(1 - (a / b) ** 2))
    off = []
    for steps in (8, 16, 32):
        angles = np.linspace(0.0, pi / 2, steps + 1)
        stops = [Point(a * sin(t), b * cos(t)) for t in angles]
        off.append(abs(through(stops, Point(1, 0), Point(0, -1)).length - exact))

    assert off[1] < 2.5e-6
    assert 14.0 < off[0] / off[1] < 21.0
    assert 14.0 < off[1] / off[2] < 21.0


ARCH = bezier(Point(0, 0), Point(6, 0), Point(12, 2), Point(15, 7))
TURNED_LEFT = {
    "arch": ARCH,
    "spline": through(
        [Point(0, 0), Point(7, -1), Point(12, 2), Point(14, 9)], Point(1, -0.4), Point(0, 1)
    ),
    "corner": corner(Point(0, 0), Point(1, 0), Point(8, 9), Point(0.2, 1), 0.55),
}


@pytest.mark.parametrize("distance", [-1.0, 0.6, 1.0, 3.0])
@pytest.mark.parametrize("name", TURNED_LEFT)
def test_parallel_curves_follow_steiner(name: str, distance: float) -> None:
    """Turning left and offset to the right: longer by distance times turning; walked the other
    way, to the left: as much longer."""
    curve = TURNED_LEFT[name]
    assert curve.turning() > 0.5
    there = polyline_length(curve.offset_points(distance, 1e-7))
    back = polyline_length(curve.reversed().offset_points(-distance, 1e-7))

    assert there == pytest.approx(curve.length + distance * curve.turning(), abs=1e-6)
    assert back == pytest.approx(there, abs=1e-6)
    assert (there > curve.length) == (distance > 0)


def test_steiner_where_a_curve_turns_both_ways() -> None:
    """What the bends to the left win, those to the right lose again."""
    wave = through(
        [Point(0, 0), Point(5, 2), Point(10, -2), Point(15, 0)], Point(1, 0), Point(1, 0)
    )
    moved = polyline_length(wave.offset_points(0.8, 1e-7))

    assert wave.turning() == pytest.approx(0.0, abs=1e-12)
    assert moved == pytest.approx(wave.length, abs=1e-6)


@pytest.mark.parametrize("distance", [-1.0, 0.6, 3.0])
def test_the_parallel_from_the_control_points_alone(distance: float) -> None:
    """The same without our normals: the parallel of a Bezier curve by its own formula."""
    control = np.array([tuple(p) for p in next(ARCH.beziers())])
    t = np.linspace(0.0, 1.0, 40001)[:, None]
    s, step = 1.0 - t, np.diff(control, axis=0)
    xy = s**3 * control[0] + 3 * s * t * (s * control[1] + t * control[2]) + t**3 * control[3]
    d1 = s * s * step[0] + 2.0 * s * t * step[1] + t * t * step[2]
    normal = np.column_stack((d1[:, 1], -d1[:, 0])) / np.hypot(d1[:, 0], d1[:, 1])[:, None]
    length = polyline_length(xy + distance * normal)

    assert length == pytest.approx(ARCH.length + distance * ARCH.turning(), abs=1e-6)
