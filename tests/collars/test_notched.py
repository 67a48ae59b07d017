"""The notched collar: lapel, gorge and notch on the front, two collars that sew to it."""

from __future__ import annotations

from dataclasses import replace
from math import acos, degrees, pi, radians

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from blocks.bodice.making_up import FRONT
from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.piece import Piece
from tests.lapels import (
    all_pieces,
    assert_passes,
    check,
    draft,
    ground,
    grounds,
    long_front,
    notches_meet,
    problems,
    sound,
    turned_ring,
    wishes_for,
    with_dart_in,
)

KIND = "notched"


@settings(max_examples=25)
@given(on=grounds())
def test_a_notched_collar_for_every_woman(on: CollarBase) -> None:
    assert_passes(KIND, on)


@settings(max_examples=25)
@given(on=grounds(), wishes=wishes_for(KIND))
def test_ordinary_wishes_are_drafted_and_pass(
    on: CollarBase, wishes: dict[str, float | str]
) -> None:
    try:
        collar = draft(KIND, on, **wishes)
    except DraftError as error:
        assert all(p.accepted or p.advice for p in error.problems)
        assert {p.key for p in error.problems} <= {
            "collar.break_height",
            "collar.gorge_drop",
            "collar.notch_step",
            "collar.notch_angle",
        }
        return
    sound(on, collar)
    notches_meet(on, collar)
    assert failed(collar.checks) == ()


@settings(max_examples=60)
@given(wishes=wishes_for(KIND, anything=True))
def test_any_wish_is_drafted_or_refused_with_a_reason(wishes: dict[str, float | str]) -> None:
    on = ground()
    try:
        collar = draft(KIND, on, **wishes)
    except DraftError as error:
        assert all(p.key and (p.accepted or p.advice) for p in error.problems)
        return
    sound(on, collar)


def test_points_that_are_hard_to_turn_are_told_and_sharper_ones_refused() -> None:
    name = "angle of the lapel's point"
    assert check(draft(KIND, gorge_slope=0.0), name).verdict is Verdict.PASS
    collar = draft(KIND, break_height=13.0, gorge_slope=-0.25)
    facing = next(piece for piece in collar.pieces if piece.code == "FACING")
    lapel, step = (edge.curve for edge in facing.named(EdgeName.LAPEL_EDGE))
    back, on = lapel.end_heading * -1.0, step.start_heading
    told = check(collar, name)
    assert told.verdict is Verdict.NOTE
    assert told.measured == pytest.approx(degrees(acos(back.dot(on))), abs=1e-6)
    assert 25.0 < told.measured < 40.0
    refused = problems(KIND, break_height=14.0, gorge_slope=-0.3125)
    assert refused.keys() == {"collar.gorge_slope"}


def test_the_front_has_a_lapel_and_both_collars_its_gorge() -> None:
    on = ground()
    pieces = all_pieces(on, draft(KIND, on))
    names = [edge.name for edge in pieces[FRONT].edges]
    at = names.index(EdgeName.FRONT_EDGE)
    assert names[at : at + 6] == [
        EdgeName.FRONT_EDGE,
        EdgeName.LAPEL_EDGE,
        EdgeName.LAPEL_EDGE,
        EdgeName.GORGE,
        EdgeName.GORGE,
        EdgeName.SHOULDER,
    ]
    for code in ("UPPER", "UNDER"):
        assert [edge.name for edge in pieces[code].edges] == [
            EdgeName.NECK_SEAM,
            EdgeName.GORGE,
            EdgeName.GORGE,
            EdgeName.COLLAR_END,
            EdgeName.OUTER_EDGE,
            EdgeName.CENTRE_BACK,
        ]
    assert pieces["FACING"].named(EdgeName.FACING_EDGE)


def corner(before: Piece, a: int, b: int) -> float:
    """Inner angle (degrees) between two edges that follow each other."""
    first, second = before.edges[a].curve, before.edges[b].curve
    return degrees(pi - angle_between(first.end_heading, second.start_heading))


def test_notch_and_lapel_have_the_angles_asked_for() -> None:
    """With the collar laid to the gorge the notch opens as asked, and worn the gorge slopes so."""
    on = ground()
    for opening, slope in ((75.0, 20.0), (60.0, 5.0), (90.0, 35.0)):
        collar = draft(KIND, on, notch_angle=radians(opening), gorge_slope=radians(slope))
        pieces = all_pieces(on, collar)
        facing, upper = pieces["FACING"], pieces["UPPER"]
        gorge_to_front = corner(upper, 2, 3)
        assert 180.0 - gorge_to_front == pytest.approx(opening)
        gorge = facing.named(EdgeName.GORGE)[0].curve
        roll = next(m.curve for m in facing.marks if m.label == "roll line")
        worn = 2.0 * roll.start_heading.angle - (-gorge.start_heading).angle
        assert degrees(worn) - 180.0 == pytest.approx(slope)


def test_under_collar_on_the_bias_upper_collar_on_the_fold() -> None:
    pieces = all_pieces(ground(), draft(KIND))
    upper, under = pieces["UPPER"], pieces["UNDER"]
    assert upper.cut.on_fold
    assert upper.cut.cloth == 1
    assert under.cut.mirrored_pair
    assert under.cut.cloth == 2
    for piece, angle in ((upper, 90.0), (under, 45.0)):
        (centre,) = piece.named(EdgeName.CENTRE_BACK)
        assert centre.curve.start.x == pytest.approx(0.0, abs=1e-9)
        assert centre.curve.end.x == pytest.approx(0.0, abs=1e-9)
        assert centre.on_fold == (piece is upper)
        assert degrees((piece.grain[1] - piece.grain[0]).angle) == pytest.approx(angle)
    whole = shapely.Polygon(opened(upper).outline())
    assert whole.is_valid
    assert whole.area == pytest.approx(2 * shapely.Polygon(upper.outline()).area)


def test_collar_and_front_lie_edge_to_edge_along_the_gorge() -> None:
    """Laid to the gorge, the collar continues the front without a gap or an overlap."""
    on = ground()
    pieces = all_pieces(on, draft(KIND, on))
    front, under = pieces[FRONT], pieces["UNDER"]
    (at_notch, at_neck), (own_neck, own_notch) = (
        [edge.curve for edge in piece.named(EdgeName.GORGE)] for piece in (front, under)
    )
    turn = at_neck.start_heading.angle - own_neck.end_heading.angle + pi
    bend = angle_between(at_notch.end_heading, at_neck.start_heading)
    own = angle_between(own_neck.end_heading, own_notch.start_heading)
    assert bend == pytest.approx(-own)  # the corner of the one fits the hollow of the other
    laid = own_notch.end_heading.turned(turn)
    assert laid.dot(at_notch.start_heading) == pytest.approx(-1.0)


def test_the_neck_seam_runs_smoothly_past_the_shoulder() -> None:
    for method in ("bust-proportional", "direct-measure"):
        under = all_pieces(ground(method), draft(KIND, ground(method)))["UNDER"]
        assert corner(under, 0, 1) == pytest.approx(180.0, abs=1e-6)


def test_free_edges_are_smaller_by_the_turn_of_cloth() -> None:
    on = ground()
    for cloth, least in (("shirting", 0.1), ("coating", 0.4)):
        collar = draft(KIND, on, cloth=cloth)
        pieces = all_pieces(on, collar)
        turn = collar.numbers["turn_of_cloth"]
        assert turn > least
        tips = [pieces[c].named(EdgeName.LAPEL_EDGE)[0].curve.end for c in ("FACING", FRONT)]
        ends = [pieces[c].named(EdgeName.LAPEL_EDGE)[1].curve.end for c in ("FACING", FRONT)]
        assert ends[0].to(ends[1]) < 1e-9
        edge = pieces["FACING"].named(EdgeName.LAPEL_EDGE)[0].curve
        assert edge.nearest(tips[1])[1] == pytest.approx(turn, abs=0.02)
        outer = pieces["UPPER"].named(EdgeName.OUTER_EDGE)[0].curve
        under = pieces["UNDER"].named(EdgeName.OUTER_EDGE)[0].curve
        gaps = [outer.nearest(under.at(float(t)))[1] for t in np.linspace(*under.span, 9)]
        assert gaps == pytest.approx([turn] * 9, abs=0.01)


def test_the_lapel_turned_over_lies_on_the_front() -> None:
    on = ground()
    assert on.front is not None
    facing = draft(KIND, on).pieces[0]
    roll = next(m.curve for m in facing.marks if m.label == "roll line")
    along = roll.start_heading
    body = shapely.Polygon(on.front.outline()).buffer(0.01)
    for edge in facing.named(EdgeName.LAPEL_EDGE):
        for x, y in edge.curve.flatten():
            p = Point(float(x), float(y)) - roll.start
            over = roll.start + along * (2.0 * p.dot(along)) - p
            assert body.contains(shapely.Point(over.x, over.y))


def test_checks_measure_the_pieces() -> None:
    collar = draft(KIND, notch_step=3.0, collar_front=4.2, lapel_width=9.0, stand_back=2.5)
    for name, value in (
        ("step of the notch", 3.0),
        ("front edge of the collar", 4.2),
        ("width of the lapel", 9.0),
        ("stand at centre back", 2.5),
        ("the roll line passes the side neck point at", 2.0),
    ):
        assert check(collar, name).measured == pytest.approx(value, abs=1e-4)
    eased = draft(KIND, neck_ease=0.3)
    names = {seam.name: seam.ease for seam in eased.seams}
    assert names["under collar to back neckline"] == pytest.approx(0.3)
    assert any("Ease the neck seam by 0.3" in note for note in eased.notes)


@pytest.mark.parametrize("by", [3, 6, 8])
def test_the_ring_may_begin_anywhere(by: int) -> None:
    on = ground()
    assert on.front is not None
    turned = replace(on, front=turned_ring(on.front, by))
    other = draft(KIND, turned)
    sound(turned, other)
    notches_meet(turned, other)


def test_a_front_with_a_hem_and_a_side_seam_in_two_edges() -> None:
    on = ground()
    assert on.front is not None
    longer = replace(on, front=long_front(on.front))
    collar = draft(KIND, longer, break_height=-12.0)
    sound(longer, collar)
    assert failed(collar.checks) == ()


def test_what_cannot_carry_a_lapel_is_refused() -> None:
    on = ground()
    assert on.front is not None
    assert "collar.kind" in problems(KIND, CollarBase(Neckline(7.6, 11.0)))
    assert "garment.button_stand" in problems(KIND, ground(button_stand=0.0))
    styled = replace(on, neckline=replace(on.neckline, shape="square"))
    assert "neckline.style.shape" in problems(KIND, styled)
    darted = replace(on, front=with_dart_in(on.front, EdgeName.NECKLINE))
    assert "garment.darts.bust" in problems(KIND, darted)


@pytest.mark.parametrize(
    ("key", "wishes"),
    [
        ("collar.break_height", {"break_height": -20.0}),
        ("collar.gorge_drop", {"gorge_drop": 20.0, "break_height": 8.0}),
        ("collar.notch_step", {"lapel_width": 5.0, "notch_step": 6.0}),
        ("collar.fall_back", {"fall_back": 2.5}),
        ("collar.facing_hem", {"facing_hem": 14.5}),
        (
            "collar.notch_angle",
            {"notch_angle": 1.9, "collar_front": 8.0, "lapel_width": 5.5},
        ),
    ],
)
def test_an_impossible_wish_is_named(key: str, wishes: dict[str, float | str]) -> None:
    assert key in problems(KIND, **wishes)


def test_a_notched_collar_needs_the_block() -> None:
    assert COLLARS[KIND].needs_block
