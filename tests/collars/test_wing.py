"""The wing collar: a stand that sews to its neckline, wings that fold clear of it."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import assume, given

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.falls.wing import KIND
from drafting.errors import DraftError
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.piece import MarkKind
from tests.collar_orders import (
    Wishes,
    assert_can_be_cut,
    assert_fails_only_when_it_chokes,
    assert_sound_or_refused,
    attempt,
    check,
    draft,
    necklines,
    orders,
    refused,
    sewn_to,
)

NECK = sewn_to(7.57, 10.92)
ROOM = "closed top edge round the neck"
NARROW = {
    "stand_back": (3.0, 5.0),
    "stand_front": (3.0, 5.0),
    "rise": (0.0, 2.5),
    "wing_width": (3.0, 5.0),
    "wing_depth": (2.0, 2.7),
    "wing_lean": (-1.5, 1.0),
    "turn_of_cloth": (0.0, 0.5),
}


@given(orders(KIND))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, Wishes],
) -> None:
    assert_sound_or_refused(KIND, order)


@given(orders(KIND, NARROW))
def test_a_usual_wing_fails_only_when_it_chokes(order: tuple[Neckline, Wishes]) -> None:
    assume(order[1].get("rise_by") != "neck")  # of these necklines no neck is known
    if "stand_front" not in order[1] and isinstance(refused := attempt(KIND, *order), DraftError):
        # a front that is left out may be as low as 2.7, and then too low for the deepest wing
        assert {problem.key for problem in refused.problems} == {"collar.wing_depth"}
        return
    assert_fails_only_when_it_chokes(KIND, order, ROOM)


@given(necklines())
def test_the_folded_wing_lies_on_the_stand_and_clear_of_the_neck_seam(
    neckline: Neckline,
) -> None:
    """Folded about its line the tip hangs as deep and as far forward as asked."""
    wishes: Wishes = {"wing_depth": 2.4, "wing_lean": -0.7, "rise": 1.0}
    collar = draft(KIND, neckline, wishes)
    inside = collar.pieces[1]
    fold = next(mark.curve for mark in inside.marks if mark.kind is MarkKind.FOLD)
    forward = fold.start_heading
    tip = inside.named(EdgeName.OUTER_EDGE)[0].curve.end - fold.end
    folded = fold.end + forward * tip.dot(forward) - forward.left * tip.dot(forward.left)
    down = fold.end - folded
    assert down.dot(forward.left) == pytest.approx(2.4, abs=1e-9)
    assert down.dot(forward) == pytest.approx(0.7, abs=1e-9)
    assert shapely.Polygon(inside.outline()).contains(shapely.Point(*folded))
    seam = shapely.LineString(inside.named(EdgeName.NECK_SEAM)[1].curve.flatten())
    assert seam.distance(shapely.Point(*folded)) > 0.3


def test_the_outside_is_smaller_at_the_wing_and_the_same_everywhere_else() -> None:
    outside, inside = draft(KIND, NECK, {"turn_of_cloth": 0.3}).pieces
    a, b = (shapely.Polygon(piece.outline(1e-4)) for piece in (outside, inside))
    assert b.buffer(1e-4).contains(a)
    assert len(outside.edges) == len(inside.edges)
    changed = [
        k
        for k, (x, y) in enumerate(zip(outside.edges, inside.edges, strict=True))
        if x.curve.end.to(y.curve.end) + x.curve.start.to(y.curve.start) > 1e-9
    ]
    assert [inside.edges[k].name for k in changed] == [EdgeName.OUTER_EDGE] * 2
    wing = [edge.curve for edge in inside.named(EdgeName.OUTER_EDGE)[:2]]
    tip: Point = outside.named(EdgeName.OUTER_EDGE)[0].curve.end
    for curve in wing:
        assert curve.nearest(tip)[1] == pytest.approx(0.3, abs=1e-6)


def test_the_button_stand_goes_on_below_the_wing() -> None:
    collar = draft(KIND, NECK, {"button_stand": 2.0})
    for piece in collar.pieces:
        lengths = [edge.length for edge in piece.named(EdgeName.NECK_SEAM)]
        assert lengths == pytest.approx([7.57, 10.92, 2.0], abs=1e-6)
        fronts = [piece.notch_point(n) for n in piece.notches if n.name == "centre front"]
        wing = piece.named(EdgeName.OUTER_EDGE)[0].curve
        assert fronts[1].to(wing.start) < 1e-6
        assert fronts[0].to(fronts[1]) == pytest.approx(3.7, abs=1e-6)
    assert collar.button_in_stand
    bare = draft(KIND, NECK, {"button_stand": 0.0})
    assert not bare.button_in_stand
    assert any("corner is square" in note for note in bare.notes)


def test_a_sharp_tip_is_noted_and_a_sharper_one_refused() -> None:
    name = "angle of the wing's tip"
    assert check(draft(KIND, NECK, {}), name).verdict is Verdict.PASS
    sharp = draft(KIND, NECK, {"wing_width": 2.5, "wing_lean": 0.5})
    assert check(sharp, name).verdict is Verdict.NOTE
    assert set(refused(KIND, NECK, wing_width=2.0, wing_lean=2.0)) == {"collar.wing_lean"}


def test_the_rise_that_is_advised_cures_a_tight_stand() -> None:
    neckline = sewn_to(7.57, 10.92, neck_girth=34.5)
    before = draft(KIND, neckline, {"rise": 2.0})
    assert check(before, ROOM).verdict is Verdict.FAIL
    cured = draft(KIND, neckline, {"rise": before.numbers["rise_for_neck"]})
    assert check(cured, ROOM).measured == pytest.approx(36.0, abs=1e-4)


@pytest.mark.parametrize(
    ("wishes", "interfacing"),
    [({}, [1, 1]), ({"cloth": "coating"}, [1, 0]), ({"interfacing": "none"}, [0, 0])],
)
def test_interfacing_by_thickness(wishes: Wishes, interfacing: list[int]) -> None:
    plans = [piece.cut for piece in draft(KIND, NECK, wishes).pieces]
    assert [plan.interfacing for plan in plans] == interfacing
    assert [(plan.cloth, plan.on_fold) for plan in plans] == [(1, True), (1, True)]


@pytest.mark.parametrize("wishes", [{}, {"button_stand": 0.0}])
def test_it_can_be_opened_and_cut(wishes: Wishes) -> None:
    assert_can_be_cut(draft(KIND, NECK, wishes))


def test_what_is_impossible_is_refused_with_what_would_do() -> None:
    said = refused(KIND, sewn_to(8.0, 7.0), wing_width=6.0, wing_depth=4.0, wings=2)
    assert set(said) == {"collar.wing_width", "collar.wing_depth", "collar.wings"}
    assert "up to 3.4 cm" in said["collar.wing_depth"]
    most = float(said["collar.wing_width"].split("up to ")[1].split(" cm")[0])
    assert not failed(draft(KIND, sewn_to(8.0, 7.0), {"wing_width": most}).checks)
