"""The stand: exact neck seam, fair curve, true heights, top edge by Steiner's rule."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import BSpline

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.stands.bends import RAMP, Bend, bend_with_rise, drawn, lean, most_rise
from collars.stands.stand import (
    LEAST_RADIUS_SHARE,
    Stand,
    StandShape,
    draw_stand,
    rise_for_top,
    stand_piece,
    stand_problems,
    top_length,
)
from drafting.errors import DraftError
from drafting.geometry.curves import Curve
from drafting.pieces.piece import CutPlan, Piece

NECK = Neckline(7.57, 10.92)
ARCS = st.builds(Neckline, st.floats(7, 11), st.floats(9, 19))
HEIGHTS = st.floats(1.5, 5)
RISES = st.floats(0, 3.5)


def quad_length(curve: Curve, upto: float | None = None) -> float:
    """Arc length by an integrator that knows nothing of ours."""
    spline = BSpline(curve.knots, curve.controls, curve.degree).derivative()
    first, last = curve.span
    end = last if upto is None else upto
    breaks = [first, *(t for t in np.unique(curve.knots) if first < t < end), end]
    return sum(
        quad(lambda t: math.hypot(*spline(t)), a, b, epsabs=1e-12, epsrel=1e-12)[0]
        for a, b in pairwise(breaks)
    )


def stand_of(neckline: Neckline, shape: StandShape) -> Stand:
    assert stand_problems(neckline, shape) == []
    return draw_stand(neckline, shape)


def plain(neckline: Neckline, height: float, rise: float, share: float = 1.0) -> StandShape:
    return StandShape(height, height, rise, share * neckline.back_arc, 1.5, 1.0)


def naive_end(bend: Bend, steps: int = 40_000) -> tuple[float, float]:
    """End of a bend walked in tiny straight steps along its curvature, from the rule as told."""
    bent = bend.length - bend.straight
    s = np.linspace(0.0, bent, steps + 1)
    share = s / bent
    curvature = np.select(
        [share < RAMP, share <= 1 - RAMP], [share / RAMP, np.ones_like(share)], (1 - share) / RAMP
    )
    heading = np.concatenate(
        ([0.0], np.cumsum(0.5 * (curvature[1:] + curvature[:-1]) * np.diff(s)))
    )
    heading *= bend.angle / heading[-1]
    middle = 0.5 * (heading[1:] + heading[:-1])
    step = bent / steps
    return bend.straight + float(np.cos(middle).sum() * step), float(np.sin(middle).sum() * step)


@given(ARCS, st.floats(0, 1), RISES)
def test_a_bend_has_its_length_and_rise_by_another_integrator(
    neckline: Neckline, share: float, rise: float
) -> None:
    straight = share * neckline.back_arc
    bend, curve = drawn(straight, neckline.half, rise)
    assert quad_length(curve) == pytest.approx(neckline.half, abs=1e-8)
    assert curve.end.y == pytest.approx(rise, abs=1e-8)
    assert (curve.start.x, curve.start.y) == (0.0, 0.0)
    assert curve.start_heading.y == pytest.approx(0.0, abs=1e-12)
    assert curve.end_heading.angle == pytest.approx(bend.angle, abs=1e-9)


@pytest.mark.parametrize(
    ("straight", "length", "rise"), [(7.57, 18.49, 1.2), (0.0, 18.5, 3.0), (9.0, 18.0, 3.5)]
)
def test_a_bend_ends_where_a_naive_walk_ends(straight: float, length: float, rise: float) -> None:
    bend, curve = drawn(straight, length, rise)
    x, y = naive_end(bend)
    assert curve.end.x == pytest.approx(x, abs=1e-6)
    assert curve.end.y == pytest.approx(y, abs=1e-6)


@given(ARCS, st.floats(0.2, 3.5))
def test_the_neck_seam_is_straight_to_the_shoulder_and_then_bends_one_way(
    neckline: Neckline, rise: float
) -> None:
    _, curve = drawn(neckline.back_arc, neckline.half, rise)
    t = curve.samples(12)
    xy, bends = curve.xy(t), curve.curvature(t)
    over_back = xy[:, 0] <= neckline.back_arc
    assert np.abs(xy[over_back, 1]).max() < 1e-6
    assert bends.min() > -1e-3 * bends.max()
    assert (np.diff(xy[:, 1]) > -1e-8).all()


def test_the_curvature_has_no_jump_from_straight_to_straight() -> None:
    """It starts and ends at nothing, and changes less the closer one looks."""
    bend, curve = drawn(7.57, 18.49, 1.2)
    for steps, most in ((200, 0.08), (2000, 0.008)):
        s = np.linspace(0.0, curve.length, steps + 1)
        bends = curve.curvature([curve.t_at_length(float(x)) for x in s])
        assert abs(bends[0]) < 1e-4
        assert abs(bends[-1]) < 1e-4
        assert np.abs(np.diff(bends)).max() < most * bend.most_curvature
        assert np.abs(bends - bend.curvature(s)).max() < 1e-4


@given(ARCS, HEIGHTS, st.floats(0, 3))
def test_steiner_a_parallel_top_edge_is_shorter_by_height_times_turning(
    neckline: Neckline, height: float, rise: float
) -> None:
    """J. Steiner, Über parallele Flächen, Berlin 1840: L(h) = L - h * turning, exactly."""
    shape = plain(neckline, height, rise)
    if stand_problems(neckline, shape):
        return
    stand = draw_stand(neckline, shape)
    expected = neckline.half - height * stand.neck.turning()
    assert quad_length(stand.top) == pytest.approx(expected, abs=1e-6)
    assert top_length(neckline, shape) == pytest.approx(expected, abs=1e-6)


@given(ARCS, HEIGHTS, st.floats(1.0, 4.5), st.floats(0, 3), st.floats(0, 1))
def test_heights_are_true_and_the_top_edge_is_square_at_both_ends(
    neckline: Neckline, back: float, front: float, rise: float, share: float
) -> None:
    shape = StandShape(back, front, rise, share * neckline.back_arc)
    if stand_problems(neckline, shape):
        return
    stand = draw_stand(neckline, shape)
    assert stand.top.start.x == pytest.approx(0.0, abs=1e-9)
    assert stand.top.start.y == pytest.approx(back, abs=1e-9)
    assert stand.top.end.to(stand.neck.end) == pytest.approx(front, abs=1e-9)
    assert stand.top.start_heading.y == pytest.approx(0.0, abs=1e-9)
    along = stand.neck.end_heading
    assert (stand.top.end - stand.neck.end).dot(along) == pytest.approx(0.0, abs=1e-9)
    assert stand.top.end_heading.cross(along) == pytest.approx(0.0, abs=1e-9)
    assert top_length(neckline, shape) == pytest.approx(stand.top.length, abs=1e-5)
    low, high = sorted((back, front))
    for x, y in stand.top.xy(stand.top.samples(3)):
        gap = shapely.Point(x, y).distance(shapely.LineString(stand.neck.flatten(1e-5)))
        assert low - 0.01 <= gap <= high + 0.01


@given(ARCS, HEIGHTS, st.floats(0.05, 3), st.floats(0, 1))
def test_the_rise_that_is_advised_gives_the_top_edge_that_is_wanted(
    neckline: Neckline, height: float, wanted: float, share: float
) -> None:
    """Draw with a rise, ask for the rise of that top edge, get it back."""
    shape = plain(neckline, height, wanted, share)
    if stand_problems(neckline, shape):
        return
    top = draw_stand(neckline, shape).top.length
    assert rise_for_top(neckline, plain(neckline, height, 1.0, share), top, 3.5) == pytest.approx(
        wanted, abs=1e-4
    )


def test_no_rise_is_advised_where_none_helps() -> None:
    shape = plain(NECK, 3.0, 1.2)
    assert rise_for_top(NECK, shape, NECK.half + 0.1, 3.5) is None
    assert rise_for_top(NECK, shape, NECK.half - 3.0, 3.5) is None


def test_more_rise_than_the_front_can_carry_is_refused_with_the_most() -> None:
    neckline = Neckline(7.0, 5.0)
    most = most_rise(5.0)
    assert stand_problems(neckline, plain(neckline, 2.0, math.floor(most * 10) / 10)) == []
    (problem,) = stand_problems(neckline, plain(neckline, 2.0, most + 0.01))
    assert problem.key == "collar.rise"
    assert problem.accepted == f"0 to {math.floor(most * 10) / 10:.1f} cm"
    with pytest.raises(DraftError, match="more than the edge can carry"):
        bend_with_rise(7.0, 12.0, most + 0.01)
    bend, curve = drawn(7.0, 12.0, most)
    assert math.degrees(bend.angle) == pytest.approx(60.0, abs=1e-3)
    assert curve.length == pytest.approx(12.0, abs=1e-8)


def test_a_stand_too_high_for_its_bend_is_refused_with_the_highest() -> None:
    neckline = Neckline(8.0, 6.5)
    shape = plain(neckline, 5.5, 2.8)
    (problem,) = stand_problems(neckline, shape)
    assert problem.key == "collar.stand_back"
    highest = float(problem.accepted.removeprefix("up to ").removesuffix(" cm"))
    assert highest < 5.5
    allowed = stand_of(neckline, plain(neckline, highest, 2.8))
    tightest = float(allowed.top.curvature(allowed.top.samples(20)).max())
    assert tightest < 1.05 / (LEAST_RADIUS_SHARE * highest / (1 - LEAST_RADIUS_SHARE))
    (front,) = stand_problems(neckline, StandShape(3.0, 5.5, 2.8, 8.0))
    assert front.key == "collar.stand_front"


@pytest.mark.parametrize("arcs", [(0.0, 10.0), (8.0, -1.0), (math.nan, 10.0), (8.0, math.inf)])
def test_a_neckline_without_both_arcs_is_refused(arcs: tuple[float, float]) -> None:
    (problem,) = stand_problems(Neckline(*arcs), StandShape(3.0, 2.5, 1.2, 7.0))
    assert problem.key == "neckline"


def test_the_lean_is_that_of_a_cone() -> None:
    """A ring of paper: half length n, turning phi; its cone has the slope that lets the top ring
    of radius rho - h sin(lean) have the girth 2 (n - h phi)."""
    n, h, phi = 18.5, 3.0, math.radians(20)
    rho = n / math.pi
    assert 2 * math.pi * (rho - h * math.sin(lean(phi))) == pytest.approx(2 * (n - h * phi))
    assert lean(0.0) == 0.0


# ---- the piece --------------------------------------------------------------------------------


def piece_of(shape: StandShape, neckline: Neckline = NECK, setback: float = 0.0) -> Piece:
    return stand_piece(stand_of(neckline, shape), CutPlan(2, on_fold=True), setback=setback)


def test_edges_run_counter_clockwise_and_the_neck_seam_comes_in_three() -> None:
    piece = piece_of(StandShape(3.0, 2.5, 1.2, 7.57, 1.5, 1.5))
    assert [edge.name.value for edge in piece.edges] == [
        "neck seam",
        "neck seam",
        "neck seam",
        "collar end",
        "stand seam",
        "centre back",
    ]
    lengths = [edge.length for edge in piece.named(EdgeName.NECK_SEAM)]
    assert lengths == pytest.approx([7.57, 10.92, 1.5], abs=1e-8)
    ring = shapely.LinearRing(piece.outline())
    assert ring.is_ccw
    assert ring.is_simple


def test_the_corner_is_round_with_its_radius_and_stays_before_centre_front() -> None:
    shape = StandShape(3.0, 2.5, 1.2, 7.57, 1.5, 1.2)
    stand = stand_of(NECK, shape)
    end = piece_of(shape).named(EdgeName.COLLAR_END)[0].curve
    centre = stand.top_end - stand.neck.end_heading * 1.2 - stand.neck.end_heading.left * 1.2
    xy = end.xy(end.samples(8))
    gaps = np.hypot(xy[:, 0] - centre.x, xy[:, 1] - centre.y)
    assert gaps.min() == pytest.approx(1.2, abs=1e-3)
    on_arc = gaps < 1.2 * 1.0005
    assert on_arc.sum() >= 8
    assert xy[-1] == pytest.approx(tuple(stand.top.end), abs=1e-9)


def test_without_a_button_stand_the_front_is_straight_and_the_corners_are_centre_front() -> None:
    piece = piece_of(StandShape(3.0, 2.5, 1.2, 7.57))
    assert len(piece.named(EdgeName.NECK_SEAM)) == 2
    assert piece.length(EdgeName.COLLAR_END) == pytest.approx(2.5, abs=1e-9)
    assert "centre front" not in {notch.name for notch in piece.notches}
    assert piece.drills == ()


def test_a_fall_that_stops_short_leaves_the_rest_of_the_top_to_the_end() -> None:
    shape = StandShape(3.0, 2.5, 1.2, 7.57, 1.5, 0.0)
    whole, short = piece_of(shape), piece_of(shape, setback=0.25)
    lost = whole.length(EdgeName.STAND_SEAM) - short.length(EdgeName.STAND_SEAM)
    assert lost == pytest.approx(0.25, abs=1e-8)
    gained = short.length(EdgeName.COLLAR_END) - whole.length(EdgeName.COLLAR_END)
    assert gained == pytest.approx(0.25, abs=1e-8)
    names = [(notch.name, short.edges[notch.edge].name.value) for notch in short.notches]
    assert ("fall end", "stand seam") in names
    assert ("centre front", "collar end") in names
    front = next(n for n in short.notches if n.name == "centre front" and n.edge == 3)
    assert short.notch_point(front).to(stand_of(NECK, shape).top.end) < 1e-6


@given(ARCS, HEIGHTS, st.floats(0, 3), st.floats(0, 4), st.floats(0, 1))
def test_notches_lie_where_they_say(
    neckline: Neckline, height: float, rise: float, beyond: float, share: float
) -> None:
    shape = StandShape(height, height, rise, share * neckline.back_arc, beyond)
    if stand_problems(neckline, shape):
        return
    piece = piece_of(shape, neckline)
    stand = draw_stand(neckline, shape)
    points = {
        (notch.name, piece.edges[notch.edge].name): piece.notch_point(notch)
        for notch in piece.notches
    }
    shoulder = points["shoulder", EdgeName.NECK_SEAM]
    assert shoulder.to(stand.neck.at_length(neckline.back_arc)) < 1e-7
    above = points["shoulder", EdgeName.STAND_SEAM]
    assert above.to(shoulder) == pytest.approx(height, abs=1e-5)
    if beyond > 1e-6:
        front = points["centre front", EdgeName.NECK_SEAM]
        assert front.to(stand.neck.end) < 1e-7
        assert points["centre front", EdgeName.STAND_SEAM].to(stand.top.end) < 1e-7
