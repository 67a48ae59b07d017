"""The one curve: evaluation, lengths, cutting and joining, polylines, parallels, drawing."""

from __future__ import annotations

import pickle
from itertools import pairwise
from math import acos, atan, atan2, cos, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from drafting.errors import DraftError
from drafting.geometry.curves import (
    Curve,
    angle_between,
    bezier,
    corner,
    joined,
    line,
    polyline,
    tangent_cubic,
    through,
)
from drafting.geometry.points import FloatArray, Move, Point, array, direction
from drafting.tolerances import SAME_POINT

#: Lengths computed in two ways may differ by the agreement asked of every span.
LENGTH = 1e-9

coordinate = st.integers(-3000, 3000).map(lambda n: n / 100)
points = st.builds(Point, coordinate, coordinate)
angles = st.floats(-pi, pi)
headings = st.none() | st.builds(direction, angles)
shares = st.floats(0.001, 0.999)


@st.composite
def spaced(draw: st.DrawFn, least: int = 2, most: int = 8) -> list[Point]:
    """Points of which no two neighbours lie closer than half a centimetre."""
    found = draw(st.lists(points, min_size=least, max_size=most))
    assume(all(a.to(b) > 0.5 for a, b in pairwise(found)))
    return found


splines = st.builds(through, spaced(), headings, headings)
polylines = st.builds(polyline, spaced())
beziers = st.builds(bezier, points, points, points, points).filter(lambda c: c.length > 0.5)


@st.composite
def knotted(draw: st.DrawFn) -> Curve:
    """Cubics with any knots there may be: doubled, tripled, unevenly spread."""
    inner = sorted(draw(st.lists(st.sampled_from([0.5, 1.0, 1.1, 3.0, 6.0]), max_size=7)))
    assume(all(inner.count(k) <= 3 for k in inner))
    controls = draw(st.lists(points, min_size=4 + len(inner), max_size=4 + len(inner)))
    curve = Curve(3, np.array([0.0] * 4 + inner + [7.0] * 4), array(controls))
    assume(curve.length > 0.5)
    return curve


curves = st.one_of(splines, polylines, beziers, knotted())
cubics = st.one_of(splines, beziers, knotted())


def scipy_points(curve: Curve, t: FloatArray, nu: int = 0) -> FloatArray:
    spline = BSpline(curve.knots, curve.controls, curve.degree)
    return np.asarray(spline(t, nu=nu), dtype=np.float64)


def places(curve: Curve, per_span: int = 40) -> FloatArray:
    """Parameters on every span, its ends but not the end of the curve included."""
    return curve.samples(per_span)[:-1]


def off_polyline(xy: FloatArray, corners: FloatArray) -> FloatArray:
    """How far points lie from a polyline."""
    a, step = corners[:-1], np.diff(corners, axis=0)
    size = np.maximum((step * step).sum(axis=1), 1e-300)
    off = np.full(len(xy), np.inf)
    for k, p in enumerate(xy):
        share = np.clip(((p - a) * step).sum(axis=1) / size, 0.0, 1.0)
        off[k] = np.hypot(*(p - a - share[:, None] * step).T).min()
    return off


# ---- what a curve may be ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degree", "knots", "controls"),
    [
        (2, [0, 0, 0, 1, 1, 1], [(0, 0), (1, 0), (2, 1)]),
        (3, [0, 0, 0, 1, 1, 1, 1], [(0, 0), (1, 0), (2, 1)]),
        (1, [0, 0, 1], [(0, 0), (1, 0)]),
        (1, [0, 0, 2, 1, 3, 3], [(0, 0), (1, 0), (2, 0), (3, 0)]),
        (1, [0, 0, 1, 1], [(0, 0), (float("nan"), 0)]),
        (1, [0, 0, float("inf"), float("inf")], [(0, 0), (1, 0)]),
        (1, [0, 0, 1, 1], [(0, 0, 0), (1, 0, 0)]),
        (3, [0, 0, 0, 1, 2, 3, 3, 3], [(0, 0), (1, 0), (2, 1), (3, 0)]),  # not clamped
        (1, [0, 0, 1, 1, 2, 2], [(0, 0), (1, 0), (5, 5), (6, 5)]),  # torn at 1
        (1, [0, 0, 0, 0], [(0, 0), (1, 0)]),  # no span at all
    ],
)
def test_what_is_no_curve_is_refused(
    degree: int, knots: list[float], controls: list[tuple[float, ...]]
) -> None:
    with pytest.raises(ValueError, match=r"curve|knots"):
        Curve(degree, np.array(knots, dtype=np.float64), np.array(controls, dtype=np.float64))


def test_a_curve_keeps_its_own_copy() -> None:
    controls = np.array([(0.0, 0.0), (3.0, 4.0)])
    curve = Curve(1, np.array([0.0, 0.0, 1.0, 1.0]), controls)
    controls[1] = (30.0, 40.0)

    assert curve.length == 5.0
    with pytest.raises(ValueError, match="read-only"):
        curve.controls[0, 0] = 1.0


def test_a_curve_can_be_pickled_before_and_after_its_length_is_known() -> None:
    curve = through([Point(0, 0), Point(5, 2), Point(7, 7)])
    early = pickle.loads(pickle.dumps(curve))
    length = curve.length

    assert early.length == length == pickle.loads(pickle.dumps(curve)).length


# ---- evaluation ---------------------------------------------------------------------------------


@given(curves)
def test_points_are_those_of_the_b_spline(curve: Curve) -> None:
    t = curve.samples(7)
    known = scipy_points(curve, t)

    assert np.allclose(curve.xy(t), known, rtol=0, atol=1e-11)
    one_by_one = [curve.at(float(x)) for x in t]
    assert np.allclose(array(one_by_one), known, rtol=0, atol=1e-11)


@given(curves)
def test_ends_are_met_exactly(curve: Curve) -> None:
    first, last = curve.span

    assert curve.at(first) == curve.start
    assert curve.at(last) == curve.end


@given(cubics)
def test_headings_and_curvature_are_those_of_the_b_spline(curve: Curve) -> None:
    t = places(curve, 7)
    d1, d2 = scipy_points(curve, t, 1), scipy_points(curve, t, 2)
    speed = np.hypot(d1[:, 0], d1[:, 1])
    clear = speed > 0.05  # a place where travel all but stops says nothing
    bend = (d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0])[clear] / speed[clear] ** 3

    assert np.allclose(curve.curvature(t)[clear], bend, rtol=1e-7, atol=1e-7)
    for x, step, size in zip(t[clear], d1[clear], speed[clear], strict=True):
        assert curve.heading(float(x)).to(Point(*(step / size))) < 1e-9


def test_heading_where_a_control_is_doubled_looks_along_the_next() -> None:
    a, b, c = Point(0, 0), Point(3, 4), Point(3, 9)

    assert bezier(a, a, b, c).start_heading == Point(0.6, 0.8)
    assert bezier(a, b, c, c).end_heading == Point(0.0, 1.0)
    assert bezier(a, a, a, b).start_heading == Point(0.6, 0.8)
    assert bezier(a, b, b, b).end_heading.to(Point(0.6, 0.8)) < 1e-15


def test_heading_at_a_cusp_is_the_way_on() -> None:
    cusp = bezier(Point(0, 0), Point(2, 2), Point(0, 2), Point(2, 0))  # stops half way, turns back

    assert cusp.heading(0.5 - 1e-9).y > 0.0
    assert cusp.heading(0.5).to(Point(0.0, -1.0)) < 1e-12


def test_at_a_corner_directions_are_those_of_what_follows() -> None:
    bent = polyline([Point(0, 0), Point(2, 0), Point(2, 3)])

    assert bent.heading(1.0) == Point(0.0, 1.0)
    assert bent.heading(0.999) == Point(1.0, 0.0)
    assert bent.end_heading == Point(0.0, 1.0)


def test_a_mere_point_has_no_heading() -> None:
    with pytest.raises(ZeroDivisionError):
        _ = line(Point(1, 1), Point(1, 1)).start_heading


def test_straight_curves_do_not_bend() -> None:
    assert polyline([Point(0, 0), Point(2, 0), Point(2, 3)]).curvature([0.3, 1.5]).tolist() == [
        0.0,
        0.0,
    ]


def test_curvature_of_a_parabola_at_its_vertex() -> None:
    """y = x^2 / 2 has curvature 1 at its vertex; raised to a cubic it is exact."""
    a = 1.5
    p0, p1, p2 = Point(-a, a * a / 2), Point(0.0, -a * a / 2), Point(a, a * a / 2)
    curve = bezier(p0, p0.towards(p1, 2 / 3), p2.towards(p1, 2 / 3), p2)

    assert curve.curvature([0.5])[0] == pytest.approx(1.0, abs=1e-12)
    assert curve.reversed().curvature([0.5])[0] == pytest.approx(-1.0, abs=1e-12)


# ---- length -------------------------------------------------------------------------------------


def test_length_of_straight_lines() -> None:
    bent = polyline([Point(0, 0), Point(3, 4), Point(3, 14)])

    assert line(Point(1, 1), Point(4, 5)).length == 5.0
    assert bent.length == 15.0
    assert bent.length_between(0.5, 1.5) == pytest.approx(7.5, abs=1e-14)
    assert bent.t_at_length(10.0) == pytest.approx(1.5, abs=1e-14)
    assert bent.at_length(2.5).to(Point(1.5, 2.0)) < 1e-14


def test_length_of_a_parabola_in_closed_form() -> None:
    a = 1.5
    p0, p1, p2 = Point(-a, a * a / 2), Point(0.0, -a * a / 2), Point(a, a * a / 2)
    curve = bezier(p0, p0.towards(p1, 2 / 3), p2.towards(p1, 2 / 3), p2)
    exact = a * sqrt(1 + a * a) + np.arcsinh(a)

    assert curve.length == pytest.approx(exact, abs=1e-10)


def test_length_past_a_cusp_in_closed_form() -> None:
    """(t^2, t^3) from -1 to 1 has a cusp; each branch is (13 sqrt 13 - 8) / 27 long."""
    curve = bezier(Point(1, -1), Point(-1 / 3, 1), Point(-1 / 3, -1), Point(1, 1))
    branch = (13 * sqrt(13) - 8) / 27

    assert curve.at(0.5).to(Point(0, 0)) < 1e-15
    assert curve.length == pytest.approx(2 * branch, abs=1e-9)
    assert curve.t_at_length(branch) == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("t", [0.0, 0.004, 0.1, 0.3, 0.49])
def test_length_of_a_curve_folded_back_on_itself(t: float) -> None:
    """Up and down one straight line, from any start before the turn: two rules of quadrature may
    agree by chance and both be wrong there."""
    fold = bezier(Point(0, 0.34), Point(0, 0), Point(0, 0), Point(0, 0.34))
    height = 0.34 * ((1 - t) ** 3 + t**3)
    exact = (height - 0.085) + (0.34 - 0.085)

    assert fold.length_between(t, 1.0) == pytest.approx(exact, abs=1e-10)
    if t > 0.0:
        assert fold.split(t)[1].length == pytest.approx(exact, abs=1e-10)


def test_there_is_no_length_backwards() -> None:
    with pytest.raises(ValueError, match="back"):
        line(Point(0, 0), Point(1, 0)).length_between(0.6, 0.5)


@given(curves, shares, shares)
def test_lengths_between_add_up(curve: Curve, one: float, other: float) -> None:
    first, last = curve.span
    a, b = sorted(first + (last - first) * share for share in (one, other))

    parts = curve.length_to(a) + curve.length_between(a, b) + curve.length_between(b, last)

    assert parts == pytest.approx(curve.length, abs=LENGTH)
    assert curve.length >= curve.start.to(curve.end) - LENGTH


@given(curves, st.floats(0.0, 1.0))
def test_t_at_length_undoes_length_to(curve: Curve, share: float) -> None:
    s = curve.length * share

    assert curve.length_to(curve.t_at_length(s)) == pytest.approx(s, abs=LENGTH)


@given(curves, st.lists(st.floats(0.0, 1.0), min_size=3, max_size=6))
def test_t_at_length_rises(curve: Curve, portions: list[float]) -> None:
    t = [curve.t_at_length(curve.length * share) for share in sorted(portions)]

    assert t == sorted(t)


def test_ends_by_length_are_the_ends_of_the_span() -> None:
    curve = through([Point(0, 0), Point(5, 2), Point(7, 7)])

    assert curve.t_at_length(-0.5 * SAME_POINT) == curve.span[0] == curve.t_at_length(0.0)
    assert curve.t_at_length(curve.length + 0.5 * SAME_POINT) == curve.span[1]
    assert curve.at_length(curve.length) == curve.end


@pytest.mark.parametrize("beyond", [-0.01, 5.01, float("nan")])
def test_a_length_outside_is_told(beyond: float) -> None:
    with pytest.raises(ValueError, match="outside a curve of 5"):
        line(Point(0, 0), Point(3, 4)).t_at_length(beyond)


@given(curves, st.builds(Move, angles, points, st.booleans()))
def test_a_rigid_move_keeps_length_and_carries_points(curve: Curve, move: Move) -> None:
    moved = curve.moved(move)
    t = curve.samples(5)

    assert moved.length == pytest.approx(curve.length, abs=LENGTH)
    assert np.allclose(moved.xy(t), move.apply(curve.xy(t)), rtol=0, atol=1e-11)


@given(curves)
def test_the_way_back_is_as_long(curve: Curve) -> None:
    back = curve.reversed()
    t = curve.samples(5)
    first, last = curve.span

    assert back.length == pytest.approx(curve.length, abs=LENGTH)
    assert (back.start, back.end) == (curve.end, curve.start)
    assert np.allclose(back.xy(first + last - t), curve.xy(t), rtol=0, atol=1e-9)


# ---- turning ------------------------------------------------------------------------------------


def test_turning_counts_corners() -> None:
    square = [Point(0, 0), Point(1, 0), Point(1, 1), Point(0, 1), Point(0, 0)]

    assert polyline(square).turning() == pytest.approx(3 * pi / 2, abs=1e-14)
    assert polyline(square[::-1]).turning() == pytest.approx(-3 * pi / 2, abs=1e-14)
    assert line(Point(0, 0), Point(1, 1)).turning() == 0.0


def test_turning_passes_over_a_doubled_point() -> None:
    doubled = polyline([Point(0, 0), Point(-1, 1), Point(-1, 1), Point(-2, 2)])

    assert doubled.turning() == pytest.approx(0.0, abs=1e-15)


def test_turning_from_a_doubled_control() -> None:
    a, b, c = Point(0, 0), Point(-3, 4), Point(-3, 9)

    assert bezier(a, a, b, c).turning() == pytest.approx(-atan(3 / 4), abs=1e-14)


def test_turning_of_a_loop_is_more_than_half_a_circle() -> None:
    loop = bezier(Point(0, 0), Point(9, 6), Point(-3, 6), Point(6, 0))
    angle = 2 * (pi - atan2(6, 9))

    assert loop.turning() == pytest.approx(angle, abs=1e-12)
    assert loop.reversed().turning() == pytest.approx(-angle, abs=1e-12)


def test_turning_of_half_a_circle_to_the_left_and_right() -> None:
    up = bezier(Point(0, 0), Point(0, 4), Point(-3, 4), Point(-3, 0))

    assert up.turning() == pytest.approx(pi, abs=1e-14)
    assert up.moved(Move(mirrored=True)).turning() == pytest.approx(-pi, abs=1e-14)


@given(splines)
def test_turning_is_the_integral_of_curvature(curve: Curve) -> None:
    t = curve.samples(64)
    d1 = scipy_points(curve, t, 1)
    assume(np.hypot(d1[:, 0], d1[:, 1]).min() > 0.1)
    nodes, weights = np.polynomial.legendre.leggauss(8)
    half = 0.5 * np.diff(t)
    x = (0.5 * (t[1:] + t[:-1]))[:, None] + half[:, None] * nodes
    d1 = scipy_points(curve, x.ravel(), 1)
    rate = curve.curvature(x.ravel()) * np.hypot(d1[:, 0], d1[:, 1])
    total = float(((rate.reshape(x.shape) @ weights) * half).sum())

    assert curve.turning() == pytest.approx(total, abs=1e-6)


# ---- cutting and joining ------------------------------------------------------------------------


@given(curves, shares)
def test_a_split_keeps_every_point_and_the_length(curve: Curve, share: float) -> None:
    first, last = curve.span
    t = first + share * (last - first)
    left, right = curve.split(t)
    at = left.span[1]
    x = curve.samples(9)

    assert abs(at - t) <= 1e-9 * (last - first)
    assert left.end == right.start
    assert (left.start, right.end) == (curve.start, curve.end)
    assert (left.span, right.span) == ((first, at), (at, last))
    assert left.length + right.length == pytest.approx(curve.length, abs=LENGTH)
    assert np.allclose(left.xy(x[x <= at]), curve.xy(x[x <= at]), rtol=0, atol=1e-10)
    assert np.allclose(right.xy(x[x >= at]), curve.xy(x[x >= at]), rtol=0, atol=1e-10)


@given(knotted())
def test_a_split_at_a_knot_of_any_multiplicity(curve: Curve) -> None:
    values, counts = np.unique(curve.knots[4:-4], return_counts=True)
    assume(len(values) > 0)
    for t, count in zip(values.tolist(), counts.tolist(), strict=True):
        left, right = curve.split(t)

        assert len(left.controls) + len(right.controls) == len(curve.controls) + 4 - count
        assert left.knots[-5] < t < right.knots[4]
        x = curve.samples(9)
        assert np.allclose(left.xy(x[x <= t]), curve.xy(x[x <= t]), rtol=0, atol=1e-10)
        assert np.allclose(right.xy(x[x >= t]), curve.xy(x[x >= t]), rtol=0, atol=1e-10)


@pytest.mark.parametrize("side", [-1e-12, 0.0, 1e-12])
def test_a_split_a_hair_from_a_knot_is_a_split_at_the_knot(side: float) -> None:
    curve = through([Point(0, 0), Point(5, 2), Point(7, 7), Point(4, 9)])
    knot = float(curve.knots[4])
    left, right = curve.split(knot + side)

    assert left.span[1] == right.span[0] == knot
    assert len(left.controls) == 4
    assert left.end_heading.to(right.start_heading) < 1e-12


@pytest.mark.parametrize("t", [-0.1, 0.0, 1e-12, 1.0 - 1e-12, 1.0, 1.1, float("nan")])
def test_a_split_at_an_end_is_refused(t: float) -> None:
    with pytest.raises(ValueError, match="cannot split"):
        bezier(Point(0, 0), Point(1, 0), Point(2, 1), Point(2, 2)).split(t)


@given(curves, shares)
def test_split_at_length(curve: Curve, share: float) -> None:
    s = share * curve.length
    left, right = curve.split_at_length(s)

    assert left.length == pytest.approx(s, abs=1e-7)
    assert right.length == pytest.approx(curve.length - s, abs=1e-7)


@given(curves, shares, shares)
def test_a_part_has_its_length_and_lies_on_the_curve(
    curve: Curve, one: float, other: float
) -> None:
    s0, s1 = sorted((one * curve.length, other * curve.length))
    assume(s1 - s0 > 1e-3)
    part = curve.part(s0, s1)

    assert part.length == pytest.approx(s1 - s0, abs=1e-7)
    x = part.samples(5)
    assert np.allclose(part.xy(x), curve.xy(x), rtol=0, atol=1e-10)


def test_a_part_up_to_the_ends_keeps_them() -> None:
    curve = through([Point(0, 0), Point(5, 2), Point(7, 7)])

    assert curve.part(0.0, curve.length) is curve
    assert curve.part(0.0, 3.0).start == curve.start
    assert curve.part(3.0, curve.length).end == curve.end


@pytest.mark.parametrize(("s0", "s1"), [(-0.1, 3), (1, 5.1), (3, 2), (2, 2), (0, float("nan"))])
def test_an_impossible_part_is_refused(s0: float, s1: float) -> None:
    with pytest.raises(ValueError, match="no stretch from"):
        line(Point(0, 0), Point(3, 4)).part(s0, s1)


@given(st.lists(st.sampled_from(["line", "curve", "bent"]), min_size=1, max_size=4), st.data())
def test_joined_curves_lie_end_to_end(kinds: list[str], data: st.DataObject) -> None:
    sort = {"line": spaced(2, 2), "curve": spaced(3, 4), "bent": spaced(3, 4)}
    at, parts = Point(0.0, 0.0), []
    for kind in kinds:
        found = data.draw(sort[kind])
        stops = [p - found[0] + at for p in found]
        parts.append(through(stops) if kind == "curve" else polyline(stops))
        at = parts[-1].end
    whole = joined(parts)

    assert whole.degree == (3 if "curve" in kinds else 1)
    assert (whole.start, whole.end) == (parts[0].start, parts[-1].end)
    assert whole.length == pytest.approx(sum(part.length for part in parts), abs=LENGTH)
    shift = 0.0
    for part in parts:
        x = part.samples(5)
        there = whole.xy(x - part.span[0] + shift)
        assert np.allclose(there, part.xy(x), rtol=0, atol=1e-9)
        shift += part.span[1] - part.span[0]


def test_curves_that_do_not_meet_cannot_be_joined() -> None:
    with pytest.raises(ValueError, match="do not meet"):
        joined([line(Point(0, 0), Point(1, 0)), line(Point(1, 1e-5), Point(2, 0))])
    with pytest.raises(ValueError, match="no curves"):
        joined([])


@given(curves)
def test_beziers_run_through_the_same_points(curve: Curve) -> None:
    pieces = list(curve.beziers())
    breaks = np.unique(curve.knots)

    assert len(pieces) == len(breaks) - 1
    assert all(a[-1] == b[0] for a, b in pairwise(pieces))
    for piece, low, high in zip(pieces, breaks[:-1], breaks[1:], strict=True):
        for u in (0.0, 0.21, 0.5, 0.87):
            row = list(piece)  # de Casteljau
            while len(row) > 1:
                row = [a.towards(b, u) for a, b in pairwise(row)]
            known = scipy_points(curve, np.array([low + u * (high - low)]))[0]
            assert row[0].to(Point(*known)) < 1e-10


# ---- polylines and parallels --------------------------------------------------------------------


@settings(max_examples=40)
@given(curves, st.sampled_from([0.5, 0.02, 0.002]))
def test_flattened_within_tolerance(curve: Curve, tolerance: float) -> None:
    flat = curve.flatten(tolerance)

    assert tuple(flat[0]) == tuple(curve.start)
    assert tuple(flat[-1]) == tuple(curve.end)
    assert off_polyline(curve.xy(curve.samples(60)), flat).max() <= tolerance + 1e-12
    middles = 0.5 * (flat[1:] + flat[:-1])
    for x, y in middles[:: max(1, len(middles) // 20)]:
        assert curve.nearest(Point(float(x), float(y)))[1] <= tolerance + 1e-12


def test_a_coarser_polyline_would_not_do() -> None:
    """The bound is reached, to a tenth, where a curve bends evenly: no points are wasted."""
    quarter = corner(Point(0, 0), Point(1, 0), Point(10, 10), Point(0, 1), 0.5523)
    flat = quarter.flatten(0.02)

    assert 0.6 * 0.02 < off_polyline(quarter.xy(quarter.samples(400)), flat).max() <= 0.02


@pytest.mark.parametrize("tolerance", [0.0, -0.1, float("nan")])
def test_a_tolerance_must_be_some_width(tolerance: float) -> None:
    curve = line(Point(0, 0), Point(1, 0))

    with pytest.raises(ValueError, match="within"):
        curve.flatten(tolerance)
    with pytest.raises(ValueError, match="within"):
        curve.offset_points(1.0, tolerance)


@settings(max_examples=40)
@given(splines, st.floats(-3.0, 3.0), st.sampled_from([0.05, 0.002]))
def test_parallel_within_tolerance(curve: Curve, distance: float, tolerance: float) -> None:
    t = curve.samples(60)
    d1 = scipy_points(curve, t, 1)
    speed = np.hypot(d1[:, 0], d1[:, 1])
    assume(speed.min() > 0.02)
    right = np.column_stack((d1[:, 1], -d1[:, 0])) / speed[:, None]
    exact = scipy_points(curve, t) + distance * right

    assert off_polyline(exact, curve.offset_points(distance, tolerance)).max() <= tolerance


@given(st.one_of(splines, polylines), st.floats(0.0, 3.0))
def test_left_and_right_parallel_have_their_points_at_the_same_places(
    curve: Curve, distance: float
) -> None:
    right, left = curve.offset_points(distance), curve.offset_points(-distance)

    assert right.shape == left.shape
    gaps = np.hypot(*(right - left).T)
    assert np.allclose(gaps, 2 * distance, rtol=0, atol=1e-12)


def test_parallel_of_corners_has_both_shifted_ends() -> None:
    bent = polyline([Point(0, 0), Point(4, 0), Point(4, 3)])
    beside = [[0, -1], [4, -1], [5, 0], [5, 3]]

    assert bent.offset_points(1.0).tolist() == beside
    cubic = joined([bent, through([Point(4, 3), Point(4, 5)])])
    corners = cubic.offset_points(1.0)
    for corner_end in beside[:3]:
        assert np.hypot(*(corners - corner_end).T).min() < 1e-12


def test_parallel_of_a_doubled_point_and_of_a_straight_joint() -> None:
    doubled = polyline([Point(0, 0), Point(2, 0), Point(2, 0), Point(5, 0)])

    assert doubled.offset_points(0.5).tolist() == [[0, -0.5], [2, -0.5], [5, -0.5]]


def test_nothing_has_no_parallel() -> None:
    with pytest.raises(ValueError, match="no parallel"):
        line(Point(1, 1), Point(1, 1)).offset_points(1.0)


def test_parallel_of_a_circle_is_a_circle() -> None:
    share = 4 / 3 * (sqrt(2) - 1)
    quarter = corner(Point(10, 0), Point(0, 1), Point(0, 10), Point(-1, 0), share)
    for distance in (2.0, -2.0):
        radii = np.hypot(*quarter.offset_points(distance).T)
        assert np.abs(radii - (10 + distance)).max() < 10 * 2.8e-4


@given(curves, points)
def test_nothing_is_nearer_than_the_nearest(curve: Curve, p: Point) -> None:
    t, distance = curve.nearest(p)
    dense = np.hypot(*(curve.xy(curve.samples(500)) - (p.x, p.y)).T)

    assert curve.at(t).to(p) == pytest.approx(distance, abs=1e-11)
    assert distance <= dense.min() + 1e-11


@given(splines, shares)
def test_a_point_on_the_curve_is_nearest_to_itself(curve: Curve, share: float) -> None:
    assert curve.nearest(curve.at_length(share * curve.length))[1] < 1e-9


@given(curves, st.lists(points, min_size=1, max_size=4))
def test_many_nearest_points_are_those_found_one_by_one(curve: Curve, some: list[Point]) -> None:
    t, distance = curve.nearest_to(np.array([tuple(p) for p in some]))

    assert [*zip(t.tolist(), distance.tolist(), strict=True)] == [curve.nearest(p) for p in some]


@given(curves, st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6))
def test_many_places_are_those_found_one_by_one(curve: Curve, shares: list[float]) -> None:
    first, last = curve.span
    t = np.array([first + share * (last - first) for share in shares]).clip(first, last)
    headings = [tuple(curve.heading(float(v))) for v in t]
    lengths = np.array(shares) * curve.length
    there = [curve.at_length(min(float(s), curve.length)) for s in lengths]

    assert curve.headings(t) == pytest.approx(np.array(headings), abs=1e-12)
    assert curve.lengths_to(t) == pytest.approx([curve.length_to(float(v)) for v in t], abs=1e-9)
    found = curve.xy(curve.ts_at_lengths(lengths))
    assert found == pytest.approx(np.array([tuple(p) for p in there]), abs=1e-9)


def test_lengths_outside_are_at_the_ends() -> None:
    curve = bezier(Point(0, 0), Point(1, 3), Point(4, 3), Point(5, 0))

    assert curve.ts_at_lengths(np.array([-1.0, 0.0, 99.0])).tolist() == [0.0, 0.0, 1.0]


def test_the_nearest_piece_need_not_be_the_one_that_is_looked_at_nearest_by() -> None:
    """Looks at a level piece lie 1.25 apart: between two of them it is nearer than any look tells,
    while the next piece ends at a look that lies between."""
    x = 40 * 20.5 / 32
    level = bezier(Point(0, 0), Point(40 / 3, 0), Point(80 / 3, 0), Point(40, 0))
    back = bezier(Point(40, 0), Point(50, 10), Point(x, 20), Point(x, 0.8))
    for turn in (Move(), Move(angle=pi / 2)):
        curve = joined([level, back]).moved(turn)
        assert curve.nearest(turn(Point(x, 0.3)))[1] == pytest.approx(0.3, abs=1e-12)


def test_nearest_is_found_to_the_last_digits() -> None:
    curve = line(Point(0, 0), Point(10, 0))

    assert curve.nearest(Point(3.3, 2)) == pytest.approx((0.33, 2.0), abs=1e-14)
    assert curve.nearest(Point(-3, 4)) == (0.0, 5.0)
    assert curve.nearest(Point(13, 4)) == (1.0, 5.0)


# ---- drawing ------------------------------------------------------------------------------------


@given(spaced(2, 8), st.builds(direction, angles), st.builds(direction, angles))
def test_through_meets_its_points_and_directions(
    stops: list[Point], start: Point, end: Point
) -> None:
    curve = through(stops, start * 2.5, end * 0.1)
    chords = np.cumsum([0.0, *(a.to(b) for a, b in pairwise(stops))])

    assert np.allclose(curve.xy(chords), array(stops), rtol=0, atol=1e-9)
    assert (curve.start, curve.end) == (stops[0], stops[-1])
    assert curve.start_heading.to(start) < 1e-7
    assert curve.end_heading.to(end) < 1e-7


@given(spaced(3, 8))
def test_through_has_no_jump_in_curvature_and_none_at_free_ends(stops: list[Point]) -> None:
    curve = through(stops)
    inner = np.unique(curve.knots)[1:-1]
    left = scipy_points(curve, inner - 1e-9, 2)
    jumps = scipy_points(curve, inner + 1e-9, 2) - left

    assert np.abs(jumps).max() < 1e-5
    ends = scipy_points(curve, np.array(curve.span), 2)
    assert np.abs(ends).max() < 1e-8


def test_two_free_points_give_a_straight_line() -> None:
    curve = through([Point(0, 0), Point(3, 4)])

    assert curve.length == pytest.approx(5.0, abs=1e-12)
    assert np.abs(curve.curvature(curve.samples())).max() < 1e-12


@pytest.mark.parametrize(
    "stops",
    [[Point(0, 0)], [], [Point(0, 0), Point(0, 1e-7)], [Point(1, 1), Point(2, 2), Point(2, 2)]],
)
def test_through_needs_points_apart(stops: list[Point]) -> None:
    with pytest.raises(DraftError, match="none of them twice"):
        through(stops)


def test_tangent_cubic_has_handles_of_the_given_lengths() -> None:
    curve = tangent_cubic(Point(0, 0), Point(3, 4), Point(9, 2), Point(0, -7), 5.0, 2.0)
    p, handle, back, q = next(curve.beziers())

    assert (p, q) == (Point(0, 0), Point(9, 2))
    assert handle.to(Point(3, 4)) < 1e-12
    assert back.to(Point(9, 4)) < 1e-12


@given(
    st.floats(0.02, pi - 0.02), st.floats(0.5, 20.0), st.floats(0.5, 20.0), st.floats(0.01, 1.0),
    angles, points, st.booleans(),
)  # fmt: skip
def test_a_corner_bends_one_way_only(
    turn: float, reach: float, on: float, share: float, angle: float, at: Point, right: bool
) -> None:
    move = Move(angle, at, mirrored=right)
    p, apex = move(Point(0, 0)), move(Point(reach, 0))
    out = move.step(direction(turn))
    curve = corner(p, apex - p, apex + out * on, out, share)
    sign = -1.0 if right else 1.0

    assert (sign * curve.curvature(curve.samples(50)[1:-1])).min() > -1e-9
    assert sign * curve.turning() == pytest.approx(turn, abs=1e-9)


@given(
    st.floats(0.1, pi - 0.1), st.floats(1.0, 20.0), st.floats(1.0, 20.0),
    st.floats(0.06, 0.97), st.floats(0.001, 0.999),
)  # fmt: skip
def test_a_corner_passes_through_its_guide_point(
    turn: float, reach: float, on: float, share: float, t: float
) -> None:
    p, apex, out = Point(0, 0), Point(reach, 0), direction(turn)
    q = apex + out * on
    guide = corner(p, apex - p, q, out, share).at(t)
    curve = corner(p, apex - p, q, out, guide)

    assert curve.nearest(guide)[1] < 1e-9
    assert curve.curvature(curve.samples(50)[1:-1]).min() > -1e-9


@given(st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_any_guide_in_the_corner_gives_a_curve_through_it_or_a_refusal(u: float, v: float) -> None:
    p, apex, q = Point(0, 0), Point(10, 0), Point(10, 8)
    guide = apex + (p - apex) * u + (q - apex) * v
    try:
        curve = corner(p, Point(1, 0), q, Point(0, 1), guide)
    except DraftError as error:
        # refused only where even the fullest or the flattest curve stays on one side of the guide
        flattest = corner(p, Point(1, 0), q, Point(0, 1), 0.05)
        fullest = corner(p, Point(1, 0), q, Point(0, 1), 0.98)

        def beyond(limit: Curve) -> bool:
            t, _ = limit.nearest(guide)
            return limit.heading(t).cross(guide - limit.at(t)) < 0

        assert "guide point" in str(error)
        assert beyond(fullest) or not beyond(flattest)
    else:
        assert curve.nearest(guide)[1] < 1e-9


def test_the_guide_half_way_round_a_circle_gives_the_known_handles() -> None:
    """Through the middle of a quarter circle the handles are 4/3 (sqrt 2 - 1) of the radius."""
    middle = Point(cos(pi / 4), sin(pi / 4))
    curve = corner(Point(1, 0), Point(0, 1), Point(0, 1), Point(-1, 0), middle)
    handle = next(curve.beziers())[1]

    assert handle.to(Point(1, 4 / 3 * (sqrt(2) - 1))) < 1e-12


@pytest.mark.parametrize(
    "guide",
    [Point(5, 4.9), Point(9.99, 0.01), Point(2, 6), Point(12, -1), Point(-1, 3), Point(10, 0)],
)
def test_a_guide_no_such_curve_passes_through_is_refused(guide: Point) -> None:
    with pytest.raises(DraftError, match="passes through the guide point"):
        corner(Point(0, 0), Point(1, 0), Point(10, 10), Point(0, 1), guide)


@pytest.mark.parametrize("share", [0.0, -0.5, 1.01, float("nan")])
def test_handles_beyond_the_corner_are_refused(share: float) -> None:
    with pytest.raises(DraftError, match="above 0 and up to 1"):
        corner(Point(0, 0), Point(1, 0), Point(10, 10), Point(0, 1), share)


def test_a_whole_number_is_a_share_too() -> None:
    curve = corner(Point(0, 0), Point(1, 0), Point(10, 10), Point(0, 1), 1)

    assert next(curve.beziers())[1] == Point(10, 0)


@pytest.mark.parametrize(
    ("start", "end"),
    [
        (Point(1, 0), Point(1, 0)),  # parallel
        (Point(-1, 0), Point(0, 1)),  # leaves away from the corner
        (Point(1, 0), Point(0, -1)),  # arrives from the far side
    ],
)
def test_directions_that_do_not_meet_between_are_refused(start: Point, end: Point) -> None:
    with pytest.raises(DraftError, match="do not meet"):
        corner(Point(0, 0), start, Point(10, 10), end, 0.5)


@given(angles, angles, st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_angle_between_turns_one_into_the_other(a: float, b: float, m: float, n: float) -> None:
    turn = angle_between(direction(a) * m, direction(b) * n)

    assert -pi < turn <= pi
    assert direction(a + turn).to(direction(b)) < 1e-12
    assert abs(turn) == pytest.approx(
        acos(max(-1.0, min(1.0, direction(a).dot(direction(b))))), abs=1e-7
    )


def test_angle_between_opposites_is_half_a_turn_to_the_left() -> None:
    for a in (Point(1, 0), Point(0, 1), Point(-1, 0), Point(0, -1), Point(3, 4)):
        assert angle_between(a, -a) == pi
    assert angle_between(direction(pi), Point(1, 0)) == pi  # a hair past half a turn to the right
    assert angle_between(Point(1, 0), Point(0, 1)) == pi / 2
    assert angle_between(Point(0, 1), Point(1, 0)) == -pi / 2
