"""The one-piece shirt collar: sews to its neckline, hides its seam, says how it will lie."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.falls.one_piece_seam import SeamShape, draw_seam, seam_problems
from collars.falls.one_piece_shirt import KIND
from collars.lying import line_on_garment, standing_height
from drafting.errors import DraftError
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.piece import MarkKind
from tests.collar_orders import (
    Wishes,
    assert_can_be_cut,
    assert_sound,
    assert_sound_or_refused,
    attempt,
    check,
    draft,
    orders,
    refused,
    sewn_to,
)

SLOPE = math.radians(40)
NECK = sewn_to(7.57, 10.92, shoulders_slope=SLOPE, neck_girth=34.0)
GIVEN = "stand that the neck seam gives"
LIES = "as it will lie, the fall hides the neck seam by"
EDGE = "outer edge where it is to lie"
OUTER = EdgeName.OUTER_EDGE
ROOM = "closed roll line round the neck"
NARROW = {
    "stand_back": (2.0, 3.5),
    "fall_back": (3.5, 7.0),
    "raise_back": (0.5, 3.0),
    "dip": (0.3, 0.5),
    "straight_back": (0.0, 1.0),
    "point_length": (5.0, 10.0),
    "point_lean": (-1.0, 2.5),
    "point_radius": (0.5, 2.0),
}


@given(orders(KIND))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, Wishes],
) -> None:
    assert_sound_or_refused(KIND, order)


@given(orders(KIND, NARROW))
def test_a_usual_collar_fails_only_when_it_chokes_or_cannot_cover(
    order: tuple[Neckline, Wishes],
) -> None:
    collar = attempt(KIND, *order)
    if isinstance(collar, DraftError):
        keys = {problem.key for problem in collar.problems}
        assert keys <= {
            "collar.dip",
            "collar.fall_back",
            "collar.point_length",
            "collar.point_radius",
        }
        return
    assert_sound(order[0], collar)
    may_fail = {ROOM, "the fall hides the neck seam by"}
    assert {one.name for one in failed(collar.checks)} <= may_fail


@settings(max_examples=40)
@given(st.floats(7, 11), st.floats(9, 19), st.sampled_from(["straight", "shaped"]))
def test_with_everything_else_left_out_nothing_fails(back: float, front: float, seam: str) -> None:
    neckline = sewn_to(back, front, shoulders_slope=SLOPE, neck_girth=2 * (back + front) - 3.0)
    assert not failed(draft(KIND, neckline, {"neck_seam": seam}).checks)


@given(
    st.floats(7, 11),
    st.floats(9, 19),
    st.floats(0, 1),
    st.floats(0.5, 3),
    st.sampled_from([0.0, 0.2, 0.4, 0.8]),
)
def test_the_seam_is_half_the_neckline_square_to_the_fold_and_rises_and_dips_as_asked(
    back: float, front: float, level: float, rise: float, dip: float
) -> None:
    shape = SeamShape(back, front, level * back, rise, dip)
    if seam_problems(shape):
        return
    seam, turning = draw_seam(shape)
    assert seam.length == pytest.approx(back + front, abs=1e-8)
    assert seam.start_heading.y == pytest.approx(0.0, abs=1e-9)
    assert (seam.start.x, seam.start.y) == pytest.approx((0.0, rise), abs=1e-9)
    assert seam.end.y == pytest.approx(0.0, abs=1e-8)
    y = seam.xy(seam.samples(40))[:, 1]
    assert y.min() == pytest.approx(-dip, abs=2e-3)
    headings = np.array([seam.heading(float(t)).angle for t in seam.samples(4)])
    assert headings.min() == pytest.approx(-turning, abs=2e-3)
    if dip:
        low = seam.samples(40)[int(np.argmin(y))]
        assert seam.length_to(float(low)) == pytest.approx(back + front / 2, abs=0.2)
        signs = np.sign(np.diff(headings)[np.abs(np.diff(headings)) > 1e-5])
        assert np.count_nonzero(np.diff(signs)) == 1  # down, then up, and no more waves


def test_the_roll_line_runs_from_the_stand_to_the_end_of_the_neck_seam() -> None:
    for seam in ("straight", "shaped"):
        upper, under = draft(KIND, NECK, {"neck_seam": seam, "stand_back": 2.5}).pieces
        for piece in (upper, under):
            (roll,) = [mark.curve for mark in piece.marks if mark.kind is MarkKind.ROLL]
            neck = piece.named(EdgeName.NECK_SEAM)
            assert roll.start.y - neck[0].curve.start.y == pytest.approx(2.5)
            assert roll.start_heading.y == pytest.approx(0.0, abs=1e-9)
            assert roll.end.to(neck[1].curve.end) < 1e-9
            line = shapely.LineString(piece.named(EdgeName.NECK_SEAM)[0].curve.flatten())
            xy = roll.xy(roll.samples(8))
            over_back = xy[xy[:, 0] < 7.0]
            gaps = [line.distance(shapely.Point(*p)) for p in over_back]
            assert (np.diff(gaps) < 1e-9).all()  # the stand only grows less


# ---- how it will lie ----------------------------------------------------------------------------


@settings(max_examples=40)
@given(st.floats(0, 4.5), st.sampled_from(["straight", "shaped"]))
def test_the_stand_told_is_that_of_the_turning_measured_on_the_piece(
    raised: float, seam: str
) -> None:
    collar = attempt(KIND, NECK, {"raise_back": raised, "neck_seam": seam})
    if isinstance(collar, DraftError):
        return
    curves = [edge.curve for edge in collar.pieces[0].named(EdgeName.NECK_SEAM)]
    steepest = min(c.heading(float(t)).angle for c in curves for t in c.samples(16))
    expected = standing_height(7.0, -steepest, math.pi - SLOPE)
    assert check(collar, GIVEN).measured == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize("seam", ["straight", "shaped"])
def test_the_raise_that_is_advised_gives_the_stand_that_was_asked_for(seam: str) -> None:
    wishes: Wishes = {"raise_back": 0.8, "neck_seam": seam, "stand_back": 2.5, "fall_back": 4.5}
    before = draft(KIND, NECK, wishes)
    told = check(before, GIVEN)
    assert told.verdict is Verdict.NOTE
    raised = before.numbers["raise_for_stand"]
    said = float(told.advice.split("A raise of ")[1].split(" cm")[0])
    assert 0.0 <= raised - said < 0.1  # downwards, so that it is never more than may be asked
    assert check(draft(KIND, NECK, {**wishes, "raise_back": said}), GIVEN).verdict is Verdict.PASS
    after = check(draft(KIND, NECK, {**wishes, "raise_back": raised}), GIVEN)
    assert after.measured == pytest.approx(2.5, abs=0.01)
    assert after.verdict is Verdict.PASS


def test_what_no_raise_can_give_is_told_as_such() -> None:
    collar = draft(KIND, NECK, {"stand_back": 1.0, "fall_back": 9.0, "point_length": 8.0})
    assert "raise_for_stand" not in collar.numbers
    assert "No raise up to 6 cm" in check(collar, GIVEN).advice


def test_an_edge_too_short_to_lie_where_it_should_is_noted_and_more_raise_cures_it() -> None:
    short = draft(KIND, NECK, {"raise_back": 0.3, "stand_back": 2.2})
    found = check(short, EDGE)
    needed = line_on_garment(NECK, short.numbers["collar_width"] - 2 * 2.2)
    assert found.target == pytest.approx(needed)
    assert found.measured == pytest.approx(short.pieces[0].length(EdgeName.OUTER_EDGE))
    assert found.verdict is Verdict.NOTE
    assert any("opens by about" in note for note in short.notes)
    for cure in ({"raise_back": 3.0}, {"point_lean": 2.5}):
        cured = check(draft(KIND, NECK, {"raise_back": 0.3, "stand_back": 2.2, **cure}), EDGE)
        assert cured.verdict is Verdict.PASS


def test_a_straight_strip_would_show_its_seam_and_that_is_noted() -> None:
    found = check(draft(KIND, NECK, {"raise_back": 0.0}), LIES)
    assert found.measured == pytest.approx(0.0, abs=1e-6)
    assert found.verdict is Verdict.NOTE
    assert check(draft(KIND, NECK, {}), LIES).verdict is Verdict.PASS


def test_a_fall_that_cannot_hide_the_seam_fails() -> None:
    name = "the fall hides the neck seam by"
    assert check(draft(KIND, NECK, {"fall_back": 3.65}), name).verdict is Verdict.PASS
    short = check(draft(KIND, NECK, {"fall_back": 3.64}), name)
    assert short.verdict is Verdict.FAIL
    assert "3.65" in short.advice


def test_with_a_tape_nothing_is_said_of_how_it_lies() -> None:
    collar = draft(KIND, Neckline(7.57, 10.92), {})
    assert check(collar, GIVEN).advice.startswith("Not checked")
    assert {"stand_given", "raise_for_stand"}.isdisjoint(collar.numbers)
    assert EDGE not in {one.name for one in collar.checks}
    assert any("tape" in note for note in collar.notes)
    assert not any(seam.second.edge is EdgeName.NECKLINE for seam in collar.seams)


@pytest.mark.parametrize(
    ("spare", "verdict"),
    [(0.99, Verdict.FAIL), (1.01, Verdict.NOTE), (1.21, Verdict.PASS), (6.0, Verdict.PASS)],
)
def test_a_roll_line_that_chokes_stops_cutting(spare: float, verdict: Verdict) -> None:
    closed = draft(KIND, NECK, {}).numbers["closed_roll_girth"]
    found = check(draft(KIND, sewn_to(7.57, 10.92, neck_girth=closed - spare), {}), ROOM)
    assert found.verdict is verdict
    assert ("vessels" in found.advice) is (verdict is Verdict.FAIL)


# ---- layers and cutting -------------------------------------------------------------------------


@given(orders(KIND, NARROW))
def test_the_under_collar_lies_inside_the_upper_one_and_keeps_its_neck_seam(
    order: tuple[Neckline, Wishes],
) -> None:
    collar = attempt(KIND, order[0], {**order[1], "point": "pointed", "turn_of_cloth": 0.3})
    if isinstance(collar, DraftError):
        return
    upper, under = collar.pieces
    whole, smaller = (shapely.Polygon(piece.outline(1e-5)) for piece in (upper, under))
    assert whole.buffer(3e-5).contains(smaller)
    for a, b in zip(upper.named(EdgeName.NECK_SEAM), under.named(EdgeName.NECK_SEAM), strict=True):
        assert np.abs(a.curve.controls - b.curve.controls).max() == 0.0
    outer = shapely.LineString(upper.named(EdgeName.OUTER_EDGE)[0].curve.flatten(1e-4))
    inner = under.named(EdgeName.OUTER_EDGE)[0].curve
    gaps = [outer.distance(shapely.Point(*xy)) for xy in inner.xy(inner.samples(4))]
    assert gaps == pytest.approx([0.3] * len(gaps), abs=1e-3)


@pytest.mark.parametrize(
    ("wishes", "interfacing"),
    [({}, (1, 1)), ({"cloth": "coating"}, (0, 1)), ({"interfacing": "none"}, (0, 0))],
)
def test_interfacing_by_thickness(wishes: Wishes, interfacing: tuple[int, int]) -> None:
    plans = [piece.cut for piece in draft(KIND, NECK, wishes).pieces]
    assert tuple(plan.interfacing for plan in plans) == interfacing
    assert [(plan.cloth, plan.on_fold) for plan in plans] == [(1, True), (1, True)]


@pytest.mark.parametrize("wishes", [{}, {"neck_seam": "shaped"}, {"point": "rounded"}])
def test_it_can_be_opened_and_cut(wishes: Wishes) -> None:
    assert_can_be_cut(draft(KIND, NECK, wishes))


@pytest.mark.parametrize("radius", [0.8, 1.5, 2.0])
def test_a_rounded_corner_takes_from_both_edges_what_its_radius_needs(radius: float) -> None:
    """A corner rounded to a radius begins the radius times tan(turn / 2) before its tip."""
    pointed, rounded = (
        draft(KIND, NECK, {"point": point, "point_radius": radius}).pieces[0]
        for point in ("pointed", "rounded")
    )
    front, outer = (pointed.named(name)[0].curve for name in (EdgeName.COLLAR_END, OUTER))
    turned = front.end_heading
    turn = math.acos(turned.dot(outer.start_heading))
    reach = radius * math.tan(turn / 2)
    assert rounded.length(OUTER) == pytest.approx(outer.length - reach, abs=1e-6)
    end = rounded.named(EdgeName.COLLAR_END)[0].curve
    begun = front.length - reach
    assert end.at_length(begun).to(front.at_length(begun)) < 1e-6
    bends = end.curvature(end.samples(64))
    assert bends.min() > -1e-6
    # the outer edge falls a little towards its point, so the arc is tighter than its two reaches
    assert 0.85 * radius < 1 / bends.max() < radius


# ---- what cannot be drafted ---------------------------------------------------------------------


def test_everything_wrong_is_said_at_once() -> None:
    said = refused(
        KIND,
        NECK,
        neck_seam="wavy",
        stand_back=4.0,
        fall_back=3.0,
        raise_back=9.0,
        point_lean=5.0,
        point_length=4.0,
        roll=1.0,
    )
    assert set(said) == {
        "collar.neck_seam",
        "collar.fall_back",
        "collar.raise_back",
        "collar.point_lean",
        "collar.roll",
    }
    assert "4.95 cm or more" in said["collar.fall_back"]


@pytest.mark.parametrize(
    ("neckline", "wishes", "key"),
    [
        (Neckline(7, 9), {"raise_back": 5.9}, "collar.raise_back"),
        (NECK, {"neck_seam": "shaped", "raise_back": 5.0, "dip": 1.0}, "collar.dip"),
        (NECK, {"point_length": 16.0, "fall_back": 3.0}, "collar.point_length"),
        (
            NECK,
            {"point": "rounded", "point_radius": 6.0, "point_length": 4.0},
            "collar.point_radius",
        ),
        (Neckline(0, 9), {}, "neckline"),
    ],
)
def test_what_is_impossible_is_refused_with_what_would_do(
    neckline: Neckline, wishes: Wishes, key: str
) -> None:
    said = refused(KIND, neckline, **wishes)
    assert set(said) == {key}
    assert "accepted:" in said[key]
