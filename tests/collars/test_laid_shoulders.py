"""Front and back laid together at the shoulder, and the fair line through what is traced."""

from __future__ import annotations

from math import asin, cos, degrees, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.neckline.neckline import Neckline
from collars.flat.neck_edge import (
    LOOKS_STRAIGHT,
    NeckShape,
    dent,
    draw_neck_edge,
    fair_line,
    turned_back,
)
from collars.laid_shoulders import lay_front_on_back, most_overlap, overlap_of
from collars.lying import neckline_turning
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, through
from drafting.geometry.points import Point
from tests.collars.laid_grounds import WIDENED, ground_of, grounds


@settings(max_examples=25)
@given(grounds(), st.floats(0.0, 8.0))
def test_the_shoulders_overlap_by_so_much_and_no_line_changes(ground, overlap: float) -> None:
    neckline = ground.neckline
    overlap = min(overlap, most_overlap(neckline))
    laid = lay_front_on_back(neckline, overlap)
    length = laid.front_shoulder.length
    assert length == pytest.approx(neckline.front.start.to(neckline.front_tip), abs=1e-9)
    along = laid.back_shoulder.start_heading
    assert laid.front_shoulder.end.to(laid.side_neck + along * length) == pytest.approx(
        overlap, abs=1e-9
    )
    # the front reaches over the back: towards its body, which lies at greater y
    assert laid.front_shoulder.start_heading.cross(along) <= 1e-12
    assert laid.angle == pytest.approx(2 * asin(overlap / (2 * length)), abs=1e-12)
    assert (laid.back.length, laid.front.length) == pytest.approx(
        (neckline.back_arc, neckline.front_arc), abs=1e-9
    )
    assert laid.neck.length == pytest.approx(neckline.half, abs=1e-8)
    assert laid.neck.at_length(laid.shoulder_at).to(laid.side_neck) < 1e-6
    assert tuple(laid.neck.start) == pytest.approx((0.0, 0.0), abs=1e-9)
    # from centre back, level, it bends to the right by the neckline's turning less the overlap
    turned = -angle_between(Point(1.0, 0.0), laid.front.end_heading) % (2 * pi)
    assert turned == pytest.approx(neckline_turning(neckline) - laid.angle, abs=1e-9)
    assert abs(laid.down_front.dot(laid.front.end_heading)) < 1e-9  # square at centre front


def test_a_turn_and_no_mirror_keeps_the_front_neckline_bending_as_it_did() -> None:
    """Both block curves bend left on the table, x from centre back to centre front; laid as the
    collar is cut, y down the back, both bend right."""
    neckline = ground_of().neckline
    laid = lay_front_on_back(neckline, 1.25)
    for on_block, on_table in ((neckline.back, laid.back), (neckline.front, laid.front)):
        assert on_table.turning() == pytest.approx(-on_block.turning(), abs=1e-9)
        assert on_block.turning() > 1.0


def test_more_overlap_than_the_shoulder_carries_is_refused_with_the_most() -> None:
    neckline = ground_of(style=WIDENED).neckline
    with pytest.raises(DraftError) as caught:
        lay_front_on_back(neckline, 8.0)
    (problem,) = caught.value.problems
    assert problem.key == "collar.overlap"
    most = float(problem.accepted.removeprefix("0 to ").removesuffix(" cm"))
    laid = lay_front_on_back(neckline, most)
    assert degrees(laid.angle) == pytest.approx(40.0, abs=1.0)
    assert overlap_of(neckline, laid.angle) == pytest.approx(most, abs=1e-9)


def test_a_tape_is_refused() -> None:
    with pytest.raises(DraftError, match="a tape is not enough"):
        lay_front_on_back(Neckline(7.6, 10.9), 1.25)


# ---- the fair line ------------------------------------------------------------------------------


def arc(radius: float, angle: float, count: int = 200) -> np.ndarray:
    """Points of a circle from (0, 0), level, bending to the right."""
    t = np.linspace(0.0, angle, count)
    return np.column_stack((radius * np.sin(t), radius * (np.cos(t) - 1.0)))


@pytest.mark.parametrize(("radius", "turn"), [(7.0, 140.0), (9.0, 100.0), (14.0, 60.0)])
def test_a_line_that_is_fair_already_stays_where_it_is(radius: float, turn: float) -> None:
    angle = radians(turn)
    curve = fair_line(arc(radius, angle), Point(1.0, 0.0), Point(cos(angle), -sin(angle)))
    gaps = np.hypot(*(curve.xy(curve.samples(20)) - [0.0, -radius]).T) - radius
    assert np.abs(gaps).max() < 0.02
    assert curve.length == pytest.approx(radius * angle, abs=0.02)


def test_how_far_a_line_turns_the_wrong_way_is_measured() -> None:
    """An arc to the left turns by its angle, one to the right by nothing."""
    angle = radians(70.0)
    points = [Point(*xy) for xy in arc(8.0, angle, 12)]
    right = through(points, Point(1.0, 0.0), Point(cos(angle), -sin(angle)))
    assert turned_back(right) == pytest.approx(0.0, abs=1e-3)
    assert turned_back(right.reversed()) == pytest.approx(angle, abs=1e-3)


@pytest.mark.parametrize("kink", [3.0, 10.0, 20.0])
def test_a_break_becomes_a_bend_near_it_and_no_dent(kink: float) -> None:
    """Two arcs that meet with a break to the left: the line bends one way, leaves and arrives as
    asked, and stays near."""
    first = arc(8.0, radians(70.0))
    turn = radians(-70.0 + kink)
    c, s = cos(turn), sin(turn)
    second = arc(10.0, radians(70.0)) @ np.array([[c, s], [-s, c]]) + first[-1]
    end = turn - radians(70.0)
    points = np.vstack((first, second[1:]))
    curve = fair_line(points, Point(1.0, 0.0), Point(cos(end), sin(end)))
    assert dent(curve) <= LOOKS_STRAIGHT
    assert curve.start_heading.y == pytest.approx(0.0, abs=1e-9)
    assert curve.end_heading.cross(Point(cos(end), sin(end))) == pytest.approx(0.0, abs=1e-9)
    assert max(curve.nearest(Point(*xy))[1] for xy in points[::5]) < 0.03 + 0.025 * kink
    steps = curve.curvature(curve.samples(60))
    assert np.abs(np.diff(steps)).max() < 0.02  # no jump in curvature


@settings(max_examples=20)
@given(grounds(), st.floats(0.0, 6.0), st.floats(0.0, 0.3), st.floats(0.0, 0.8))
def test_the_neck_edge_is_fair_and_starts_and_ends_where_it_was_traced(
    ground, overlap: float, raised: float, dropped: float
) -> None:
    overlap = min(overlap, most_overlap(ground.neckline))
    laid = lay_front_on_back(ground.neckline, overlap)
    neck = draw_neck_edge(laid, NeckShape(raised, dropped, adjusted=False))
    whole = neck.whole
    assert tuple(whole.start) == pytest.approx((0.0, -raised), abs=1e-9)
    assert whole.start_heading.y == pytest.approx(0.0, abs=1e-9)
    assert whole.end.to(laid.front.end + laid.down_front * dropped) < 1e-9
    assert whole.end_heading.cross(laid.front.end_heading) == pytest.approx(0.0, abs=1e-9)
    assert dent(whole) <= 2 * LOOKS_STRAIGHT
    assert whole.nearest(laid.side_neck)[1] < 0.6
    assert (neck.moved, neck.length) == (0.0, pytest.approx(neck.traced, abs=1e-8))
    adjusted = draw_neck_edge(laid, NeckShape(raised, dropped, ease=-0.1))
    assert adjusted.length == pytest.approx(ground.neckline.half - 0.1, abs=1e-7)
    assert adjusted.back.length == pytest.approx(ground.neckline.back_arc - 0.05, abs=1e-7)
    # moved along its own line: what is left of it lies on the traced one
    shared = min(neck.length, adjusted.length)
    for share in (0.2, 0.6, 0.99):
        assert adjusted.whole.at_length(share * shared).to(whole.at_length(share * shared)) < 1e-6
