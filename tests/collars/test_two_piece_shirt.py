"""The two-piece shirt collar: sews to its neckline, covers its stand, says what is wrong."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft
from collars.falls import two_piece_shirt
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, Verdict, failed
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import CutPlan, Edge, Piece, Stretch, seam_mismatch, stretch_length
from drafting.tolerances import SAME_POINT

NECK = Neckline(7.57, 10.92)


def draft(neckline: Neckline = NECK, **wishes: float | str) -> CollarDraft:
    return two_piece_shirt.draft(neckline, wishes)


def attempt(neckline: Neckline, wishes: dict[str, float | str]) -> CollarDraft | DraftError:
    """The collar, or why there is none."""
    try:
        return two_piece_shirt.draft(neckline, wishes)
    except DraftError as error:
        return error


def check(collar: CollarDraft, name: str) -> Check:
    (found,) = [one for one in collar.checks if one.name == name]
    return found


def problems(neckline: Neckline = NECK, **wishes: float | str) -> dict[str, str]:
    """What is refused, by its key."""
    with pytest.raises(DraftError) as caught:
        draft(neckline, **wishes)
    return {problem.key: str(problem) for problem in caught.value.problems}


def shape(piece: Piece) -> Any:
    return shapely.Polygon(piece.outline())


@st.composite
def orders(draw: st.DrawFn, realistic: bool) -> tuple[Neckline, dict[str, float | str]]:
    """A neckline and wishes for some of the parameters, anywhere within their ranges."""
    back, front = ((7, 11), (9, 19)) if realistic else ((4, 25), (5, 45))
    neckline = Neckline(
        draw(st.floats(*back)),
        draw(st.floats(*front)),
        shoulders_slope=draw(st.none() | st.floats(0.4, 1.0)),
        neck_girth=draw(st.none() | st.floats(27, 48)),
    )
    narrow = {
        "stand_back": (2, 4.5),
        "stand_front": (2, 4.5),
        "rise": (0, 2.5),
        "fall_back": (4, 9),
        "fall_rise": (0, 3.5),
        "point_length": (4, 9),
        "point_lean": (-2, 2.5),
        "point_radius": (0.5, 2.5),
    }
    wishes: dict[str, float | str] = {}
    for key, rule in COLLARS[two_piece_shirt.KIND].parameters.items():
        if draw(st.booleans()):
            if rule.choices:
                wishes[key] = draw(st.sampled_from(rule.choices))
            else:
                low, high = (rule.low, rule.high)
                if realistic:
                    low, high = narrow.get(key, (low, high))
                wishes[key] = draw(st.floats(low, high))
    return neckline, wishes


# ---- what must always hold ----------------------------------------------------------------------


def assert_sound(neckline: Neckline, collar: CollarDraft) -> None:
    stand, upper, under = collar.pieces
    for piece in collar.pieces:
        outline = shapely.LinearRing(piece.outline())
        assert outline.is_simple
        assert outline.is_ccw
        corners = [
            (e.curve.end, f.curve.start) for e, f in zip(piece.edges, piece.edges[1:], strict=False)
        ]
        assert max(a.to(b) for a, b in corners) < SAME_POINT
        fold = piece.named(EdgeName.CENTRE_BACK)[0]
        assert fold.on_fold
        assert abs(fold.curve.start.x) < 1e-9
        assert abs(fold.curve.end.x) < 1e-9
        for notch in piece.notches:
            assert -1e-9 <= notch.at <= piece.edges[notch.edge].length + 1e-6
        inside = shapely.Polygon(outline).buffer(1e-9)
        assert all(inside.contains(shapely.Point(*p)) for p in piece.grain)
        assert piece.grain[0].x == pytest.approx(piece.grain[1].x)
    neck = [edge.length for edge in stand.named(EdgeName.NECK_SEAM)]
    assert neck[0] == pytest.approx(neckline.back_arc, abs=1e-6)
    assert neck[1] == pytest.approx(neckline.front_arc, abs=1e-6)
    for seam in collar.seams:
        if seam.first.piece in ("UPPER", "UNDER"):
            assert seam_mismatch(collar.pieces, seam) == pytest.approx(0.0, abs=1e-6)
    assert upper.length(EdgeName.STAND_SEAM) == under.length(EdgeName.STAND_SEAM)
    names = {piece.code: [n.name for n in piece.notches] for piece in collar.pieces}
    assert names["UPPER"] == names["UNDER"] == ["centre back", "shoulder", "centre back"]
    assert names["STAND"][:2] == ["centre back", "shoulder"]
    assert names["STAND"][-2:] == ["shoulder", "centre back"]


@given(orders(realistic=True))
def test_any_realistic_collar_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, dict[str, float | str]],
) -> None:
    neckline, wishes = order
    collar = attempt(neckline, wishes)
    if isinstance(collar, DraftError):
        assert all(p.key and p.got and p.advice for p in collar.problems)
        return
    assert_sound(neckline, collar)
    may_fail = {"closed top edge round the neck", "the fall hides the neck seam by"}
    assert {one.name for one in failed(collar.checks)} <= may_fail


@given(orders(realistic=False))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, dict[str, float | str]],
) -> None:
    neckline, wishes = order
    collar = attempt(neckline, wishes)
    if isinstance(collar, DraftError):
        assert all(p.key and p.got and p.advice for p in collar.problems)
        return
    assert_sound(neckline, collar)


@given(st.floats(7, 11), st.floats(9, 19), st.floats(0, 2.5))
def test_with_everything_else_left_out_nothing_fails(
    back: float, front: float, rise: float
) -> None:
    collar = two_piece_shirt.draft(Neckline(back, front), {"rise": rise})
    assert not failed(collar.checks)


@given(orders(realistic=True))
def test_the_under_collar_lies_inside_the_upper_one_by_the_turn_of_the_cloth(
    order: tuple[Neckline, dict[str, float | str]],
) -> None:
    """Outer edge: smaller by the turn all along. Front edge: from nothing at the seam to all of it
    at the point. Seam: the very same."""
    neckline, wishes = order
    wishes["point"] = "pointed"
    collar = attempt(neckline, wishes)
    assume(isinstance(collar, CollarDraft))
    _, upper, under = collar.pieces
    turn = collar.numbers["turn_of_cloth"]
    whole, smaller = (shapely.Polygon(piece.outline(1e-5)) for piece in (upper, under))
    assert whole.buffer(3e-5).contains(smaller)
    for name in (EdgeName.STAND_SEAM,):
        a, b = (piece.named(name)[0].curve.flatten() for piece in (upper, under))
        assert np.abs(a - b).max() == 0.0
    outer, front = (
        shapely.LineString(upper.named(name)[0].curve.flatten(1e-4))
        for name in (EdgeName.OUTER_EDGE, EdgeName.COLLAR_END)
    )
    inner = under.named(EdgeName.OUTER_EDGE)[0].curve
    gaps = [outer.distance(shapely.Point(*xy)) for xy in inner.xy(inner.samples(4))]
    assert gaps[-1] == pytest.approx(turn, abs=1e-6)
    assert gaps == pytest.approx([turn] * len(gaps), abs=1e-3)
    end = under.named(EdgeName.COLLAR_END)[0].curve
    assert front.distance(shapely.Point(*end.start)) < 1e-9
    assert front.distance(shapely.Point(*end.end)) == pytest.approx(turn, abs=1e-3)


# ---- against the neckline -----------------------------------------------------------------------


def test_it_sews_to_the_pieces_of_a_bodice() -> None:
    """Its seams name back and front neckline; measured on such pieces nothing is left over."""

    def bodice(code: str, arc: float) -> Piece:
        a, b, c = Point(0, 0), Point(arc, 0), Point(0, 5)
        edges = (
            Edge(EdgeName.NECKLINE, line(a, b)),
            Edge(EdgeName.SHOULDER, line(b, c)),
            Edge(EdgeName.CENTRE_BACK, line(c, a)),
        )
        return Piece(code, code, edges, CutPlan(), (a, c))

    back, front = bodice("BACK", 7.57), bodice("FRONT", 10.92)
    drawn = Neckline(7.57, 10.92, back.edges[0].curve, front.edges[0].curve)
    collar = draft(drawn)
    sewn = [seam for seam in collar.seams if seam.first.edge is EdgeName.NECK_SEAM]
    assert [seam.second.piece for seam in sewn] == ["BACK", "FRONT"]
    for seam in sewn:
        assert seam_mismatch((back, front, *collar.pieces), seam) == pytest.approx(0.0, abs=1e-6)


def test_a_tape_is_enough_and_no_bodice_is_spoken_of() -> None:
    collar = draft()
    assert {seam.first.piece for seam in collar.seams} == {"STAND", "UPPER", "UNDER"}
    assert not {"BACK", "FRONT"} & {seam.second.piece for seam in collar.seams}
    assert any("tape" in note for note in collar.notes)
    assert not COLLARS[two_piece_shirt.KIND].needs_block


def test_a_collar_of_a_cutter_with_a_tape() -> None:
    """Common practice: half neck seam 28 with the shoulder notch 18 from centre front, stand 3
    high, raised 2.5, button stand 3, fall 7."""
    collar = draft(
        Neckline(10, 18), stand_back=3, stand_front=3, rise=2.5, button_stand=3, fall_back=7
    )
    assert not failed(collar.checks)
    stand, upper, _ = collar.pieces
    assert sum(e.length for e in stand.named(EdgeName.NECK_SEAM)) == pytest.approx(31, abs=1e-6)
    front = stand.named(EdgeName.NECK_SEAM)[1]
    assert front.length == pytest.approx(18, abs=1e-6)
    assert front.curve.end.y == pytest.approx(2.5, abs=1e-6)
    assert front.curve.end.x < 28
    assert upper.length(EdgeName.CENTRE_BACK) == pytest.approx(7)
    turning = collar.numbers["turning_angle"]
    assert collar.numbers["top_edge"] == pytest.approx(28 - 3 * turning, abs=1e-6)


def test_a_piece_that_does_not_fit_fails_its_check() -> None:
    """The checks measure the pieces: sewn to another neckline they fail."""
    from collars.sewing import neck_seam_checks

    stand = draft().pieces[0]
    found = neck_seam_checks(stand, Neckline(7.67, 10.82))
    assert [one.verdict for one in found] == [Verdict.FAIL] * 3
    assert found[0].off == pytest.approx(-0.1, abs=1e-6)


# ---- room for the neck --------------------------------------------------------------------------


def room(**wishes: Any) -> Check:
    girth = wishes.pop("neck_girth")
    guessed = wishes.pop("guessed", False)
    neckline = Neckline(7.57, 10.92, neck_girth=girth, neck_girth_estimated=guessed)
    return check(draft(neckline, **wishes), "closed top edge round the neck")


def test_the_closed_top_edge_is_twice_the_half_and_compared_with_neck_and_ease() -> None:
    top = draft().numbers["top_edge"]
    seam = Stretch("STAND", EdgeName.STAND_SEAM)
    assert stretch_length(draft().pieces, seam) == pytest.approx(top)
    found = room(neck_girth=34.2, finger_ease=1.6)
    assert (found.measured, found.target) == pytest.approx((2 * top, 35.8))
    assert found.verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("spare", "verdict", "said"),
    [
        (0.99, Verdict.FAIL, "presses on the vessels"),
        (1.01, Verdict.NOTE, "tighter than asked"),
        (1.19, Verdict.NOTE, "tighter than asked"),
        (1.21, Verdict.PASS, ""),
        (1.79, Verdict.PASS, ""),
        (1.81, Verdict.NOTE, "longer than asked"),
    ],
)
def test_too_tight_stops_cutting_and_too_loose_is_said(
    spare: float, verdict: Verdict, said: str
) -> None:
    closed = draft().numbers["closed_top_girth"]
    found = room(neck_girth=closed - spare)
    assert found.verdict is verdict
    assert said in found.advice


@pytest.mark.parametrize("girth", [33.2, 34.9, 35.2])
def test_the_rise_that_is_advised_cures_it(girth: float) -> None:
    neckline = Neckline(7.57, 10.92, neck_girth=girth)
    before = draft(neckline)
    assert check(before, "closed top edge round the neck").verdict is not Verdict.PASS
    rise = before.numbers["rise_for_neck"]
    assert f"{rise:.2f}" in check(before, "closed top edge round the neck").advice
    after = check(draft(neckline, rise=rise), "closed top edge round the neck")
    assert after.measured == pytest.approx(girth + 1.5, abs=1e-4)
    assert after.verdict is Verdict.PASS


def test_where_no_rise_cures_it_the_neckline_must() -> None:
    tight = room(neck_girth=36.5)
    assert tight.verdict is Verdict.FAIL
    assert "lay the neckline farther out" in tight.advice
    loose = room(neck_girth=29.0)
    assert loose.verdict is Verdict.NOTE
    assert "fit the neckline closer" in loose.advice
    assert "is estimated" in room(neck_girth=29.0, guessed=True).advice


def test_without_a_neck_girth_it_says_that_nothing_was_checked() -> None:
    found = room(neck_girth=None)
    assert found.verdict is Verdict.NOTE
    assert found.advice.startswith("Not checked")
    assert f"{found.measured - 1.5:.1f}" in found.advice
    assert "rise_for_neck" not in draft().numbers


# ---- the fall -----------------------------------------------------------------------------------


def test_a_fall_that_barely_hides_the_seam_fails_and_says_the_least() -> None:
    name = "the fall hides the neck seam by"
    assert check(draft(fall_back=3.95), name).verdict is Verdict.PASS
    short = check(draft(fall_back=3.94), name)
    assert short.verdict is Verdict.FAIL
    assert "3.95" in short.advice
    assert check(draft(cloth="coating"), name).verdict is Verdict.PASS


def test_a_fall_that_rises_no_more_than_its_stand_is_noted() -> None:
    name = "the fall's seam rises more than the stand's"
    assert check(draft(rise=1.5, fall_rise=1.5), name).verdict is Verdict.NOTE
    assert check(draft(rise=1.5, fall_rise=1.6), name).verdict is Verdict.PASS
    assert check(draft(rise=3.0), name).verdict is Verdict.PASS


@given(st.floats(4, 9), st.floats(-2, 3))
def test_the_point_is_as_long_and_leans_as_far_as_asked(length: float, lean: float) -> None:
    assume(abs(lean) < 0.7 * length)
    upper = draft(point_length=length, point_lean=lean).pieces[1]
    seam, front = upper.edges[0].curve, upper.edges[1].curve
    step = front.end - front.start
    assert abs(step) == pytest.approx(length, abs=1e-9)
    assert step.dot(seam.end_heading) == pytest.approx(lean, abs=1e-9)
    assert step.dot(seam.end_heading.left) > 0


@given(st.floats(0.5, 2.5), st.floats(-1, 1))
def test_a_rounded_corner_has_its_radius_and_no_corner_left(radius: float, lean: float) -> None:
    upper = draft(point="rounded", point_radius=radius, point_lean=lean).pieces[1]
    end, outer = upper.edges[1].curve, upper.edges[2].curve
    assert end.end_heading.cross(outer.start_heading) == pytest.approx(0.0, abs=1e-6)
    first, last = end.span
    bends = end.curvature(np.linspace(first + 0.2 * (last - first), last, 200))
    round_ = bends[bends > 0.3 / radius]
    assert 1 / round_.mean() == pytest.approx(radius, rel=0.05)


def test_the_outer_edge_is_level_over_the_back_and_bends_without_a_jump() -> None:
    outer = draft(fall_back=7, point_length=6).pieces[1].edges[2].curve
    xy, bends = outer.xy(outer.samples(500)), outer.curvature(outer.samples(500))
    over_back = xy[:, 0] <= 7.57 + 1e-9
    assert np.ptp(xy[over_back, 1]) < 1e-9
    assert np.abs(np.diff(bends)).max() < 0.005 * np.abs(bends).max()


def test_the_fall_ends_on_centre_front_or_as_short_of_it_as_asked() -> None:
    whole, short = draft(), draft(setback=0.3)
    assert whole.numbers["fall_seam"] == pytest.approx(whole.numbers["top_edge"], abs=1e-8)
    assert short.numbers["fall_seam"] == pytest.approx(short.numbers["top_edge"] - 0.3, abs=1e-8)


def test_front_edges_open_less_the_more_the_point_leans() -> None:
    slope = Neckline(7.57, 10.92, shoulders_slope=math.radians(40))
    straight, forward = (draft(slope, point_lean=q).numbers["spread_angle"] for q in (0, 1))
    assert straight - forward == pytest.approx(2 * math.asin(1 / 6.5))
    assert any("estimate" in note for note in draft(slope).notes)
    assert "spread_angle" not in draft().numbers


# ---- cutting ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wishes", "interfacing"),
    [
        ({}, (2, 1, 1)),
        ({"cloth": "suiting"}, (1, 0, 1)),
        ({"cloth_thickness": 0.2}, (1, 0, 1)),
        ({"cloth": "coating", "interfacing": "both"}, (2, 1, 1)),
        ({"interfacing": "none"}, (0, 0, 0)),
    ],
)
def test_interfacing_by_thickness(
    wishes: dict[str, float | str], interfacing: tuple[int, int, int]
) -> None:
    plans = [piece.cut for piece in two_piece_shirt.draft(NECK, wishes).pieces]
    assert tuple(plan.interfacing for plan in plans) == interfacing
    assert [plan.cloth for plan in plans] == [2, 1, 1]
    assert all(plan.on_fold for plan in plans)


@pytest.mark.parametrize(
    "wishes", [{}, {"point": "rounded"}, {"button_stand": 0.0, "setback": 0.2}]
)
def test_every_piece_can_be_opened_and_cut(wishes: dict[str, float | str]) -> None:
    for piece in two_piece_shirt.draft(NECK, wishes).pieces:
        whole = opened(piece.with_allowances({EdgeName.NECK_SEAM: 0.6}, 1.0))
        assert shape(whole).area == pytest.approx(2 * shape(piece).area, rel=1e-3)
        assert cut_line(whole).polygon().contains(shape(whole))


def test_the_same_order_gives_the_same_collar() -> None:
    a, b = draft(rise=1.7), draft(rise=1.7)
    assert a.numbers == b.numbers
    for one, other in zip(a.pieces, b.pieces, strict=True):
        assert (one.outline() == other.outline()).all()


# ---- what cannot be drafted ---------------------------------------------------------------------


def test_everything_wrong_is_said_at_once() -> None:
    said = problems(
        Neckline(8.0, 6.0),
        stand_back=4.0,
        fall_back=3.0,
        rise=3.5,
        button_stand=-1,
        cloth="silk",
        rize=1.0,
        point_lean=5.0,
    )
    assert set(said) == {
        "collar.fall_back",
        "collar.rise",
        "collar.button_stand",
        "collar.cloth",
        "collar.rize",
        "collar.point_lean",
    }
    assert "Did you mean rise" in said["collar.rize"]
    assert "0 to 8 cm" in said["collar.button_stand"]
    assert "4.95 cm or more" in said["collar.fall_back"]


@pytest.mark.parametrize(
    ("neckline", "wishes", "key"),
    [
        (NECK, {"fall_back": 2.9}, "collar.fall_back"),
        (Neckline(8, 6), {"rise": 3.0}, "collar.rise"),
        (Neckline(8, 6.5), {"stand_back": 5.5, "rise": 2.8}, "collar.stand_back"),
        (NECK, {"point_lean": 4.0, "point_length": 5.0}, "collar.point_lean"),
        (NECK, {"point_length": 14.0, "fall_back": 4.0}, "collar.point_length"),
        (
            NECK,
            {"point": "rounded", "point_radius": 6.0, "point_length": 4.0},
            "collar.point_radius",
        ),
        (Neckline(7, 9), {"fall_rise": 5.5}, "collar.fall_rise"),
        (Neckline(0, 9), {}, "neckline"),
    ],
)
def test_what_is_impossible_is_refused_with_what_would_do(
    neckline: Neckline, wishes: dict[str, float | str], key: str
) -> None:
    said = problems(neckline, **wishes)
    assert set(said) == {key}
    assert "accepted:" in said[key]


@pytest.mark.parametrize(
    ("neckline", "wishes", "key"),
    [
        (Neckline(8, 6), {"rise": 3.0, "fall_rise": 3.4}, "rise"),
        (Neckline(8, 6.5), {"stand_back": 5.5, "rise": 2.8, "fall_rise": 3.4}, "stand_back"),
        (NECK, {"point_lean": 4.0, "point_length": 5.0}, "point_lean"),
        (NECK, {"point_length": 14.0, "fall_back": 4.0}, "point_length"),
        (NECK, {"point": "rounded", "point_radius": 6.0, "point_length": 4.0}, "point_radius"),
        (Neckline(7, 9), {"fall_rise": 5.5}, "fall_rise"),
    ],
)
def test_the_most_that_is_said_to_do_does(
    neckline: Neckline, wishes: dict[str, float | str], key: str
) -> None:
    with pytest.raises(DraftError) as caught:
        two_piece_shirt.draft(neckline, wishes)
    (problem,) = caught.value.problems
    most = float(problem.accepted.removesuffix(" cm").split()[-1])
    assert not failed(
        tuple(
            one
            for one in two_piece_shirt.draft(neckline, {**wishes, key: most}).checks
            if not one.name.startswith("the fall hides")
        )
    )
