"""The waist: sewn to body plus ease, one smooth line, darts that fold."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.bodice.waist import LEAST_PANEL, Waist, draw_waist
from blocks.body.body import complete
from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between
from drafting.geometry.points import Point
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())


def drafted(waist: float, chosen: str = "direct-measure", **more: float) -> BodiceDraft:
    taken = {"bust_girth": 92.0, "waist_girth": waist, "back_waist_length": 39.0} | more
    return draft_bodice(complete(taken), BlockWish(chosen))


def sewn(waist: Waist) -> float:
    return sum(panel.length for panel in waist.panels)


@settings(max_examples=40)
@given(taken=bodies(), chosen=METHODS)
def test_the_sewn_waist_is_one_smooth_line_of_the_right_length(
    taken: dict[str, float], chosen: str
) -> None:
    draft = draft_bodice(complete(taken), BlockWish(chosen))
    waist, q = draft.waist, draft.quantities

    whole = taken["waist_girth"] + q["waist_ease"]
    assert 2.0 * sewn(waist) == pytest.approx(whole, abs=1e-4)
    assert waist.closed.length == pytest.approx(sewn(waist), abs=1e-9)
    # Folding each joint in turn brings every panel on to the closed line, without a corner.
    assert len(waist.panels) == len(waist.joints) + 1
    for joint, before, after in zip(waist.joints, waist.panels, waist.panels[1:], strict=False):
        closing = joint.closing()
        assert joint.apex.to(joint.left) == pytest.approx(joint.apex.to(joint.right), abs=1e-9)
        assert before.end.to(joint.left) < 1e-9
        assert after.start.to(joint.right) < 1e-9
        assert closing(after.start).to(before.end) < 1e-9
        corner = angle_between(before.end_heading, closing.step(after.start_heading))
        assert corner == pytest.approx(0.0, abs=1e-6)
    feet = [x for joint in waist.joints for x in (joint.left.x, joint.right.x)]
    gaps = [b - a for a, b in pairwise([waist.centre_back.x, *feet, q["half_width"]])]
    assert all(gap >= LEAST_PANEL - 1e-9 for gap in gaps[::2])


@settings(max_examples=30)
@given(taken=bodies(), chosen=METHODS)
def test_the_waist_is_square_to_both_centres_and_the_scye_to_the_side_seam(
    taken: dict[str, float], chosen: str
) -> None:
    draft = draft_bodice(complete(taken), BlockWish(chosen))
    back, front = make_up(draft)
    centre = back.named(EdgeName.CENTRE_BACK)[-1].curve
    below_blade = (centre.end - centre.start).unit
    back_side = back.named(EdgeName.SIDE_SEAM)[0].curve
    front_side = front.named(EdgeName.SIDE_SEAM)[0].curve

    square = angle_between(below_blade, draft.waist.panels[0].start_heading)
    assert abs(square) == pytest.approx(pi / 2, abs=1e-6)
    level = angle_between(draft.waist.panels[-1].end_heading, Point(1.0, 0.0))
    assert level == pytest.approx(0.0, abs=1e-6)
    at_back = angle_between(-draft.back_scye.curve.end_heading, -back_side.end_heading)
    at_front = angle_between(front_side.start_heading, draft.front_scye.lower.end_heading.left)
    assert abs(at_back) == pytest.approx(pi / 2, abs=1e-6)
    assert abs(at_front) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("chosen", method_names())
def test_a_waist_wider_than_the_bust_line_goes_out_at_the_side(chosen: str) -> None:
    draft = drafted(112.0, chosen)
    side = draft.waist.joints[draft.waist.side]

    assert [joint.name for joint in draft.waist.joints] == ["side"]
    assert side.left.x > side.right.x  # the pieces overlap on the table
    assert draft.waist.side_slant < 0.0
    assert 2.0 * sewn(draft.waist) == pytest.approx(118.0, abs=1e-4)
    back, front = make_up(draft)
    assert not any(dart.name.endswith("waist dart") for dart in (*back.darts, *front.darts))


def test_a_small_suppression_drops_the_small_darts() -> None:
    names = {
        waist: [joint.name for joint in drafted(waist, "bust-proportional").waist.joints]
        for waist in (88.0, 92.0)
    }

    assert names[88.0] == ["back", "back side", "side", "front side", "front"]
    assert names[92.0] == ["back", "back side", "side", "front"]  # under 4 cm to take in
    assert drafted(88.0, "bust-proportional").waist.centre_back.x > 0.0
    assert drafted(92.0, "bust-proportional").waist.centre_back.x == 0.0


def test_a_centre_back_that_goes_in_is_a_seam_and_a_straight_one_a_fold() -> None:
    shaped, _ = make_up(drafted(74.0, "bust-proportional"))
    straight, _ = make_up(drafted(74.0, "direct-measure"))

    assert not any(edge.on_fold for edge in shaped.named(EdgeName.CENTRE_BACK))
    assert shaped.cut.mirrored_pair
    assert all(edge.on_fold for edge in straight.named(EdgeName.CENTRE_BACK))
    assert straight.cut.on_fold


def test_the_front_waist_drops_by_the_clients_own_length() -> None:
    plain = drafted(74.0, side_neck_to_waist_front=41.0)
    longer = drafted(74.0, side_neck_to_waist_front=43.0)
    drop = plain.waist.panels[-1].end.y - longer.waist.panels[-1].end.y

    assert drop == pytest.approx(2.0, abs=1e-9)
    back, front = make_up(longer)
    assert back.length(EdgeName.SIDE_SEAM) == pytest.approx(front.length(EdgeName.SIDE_SEAM))


@pytest.mark.parametrize(
    ("waist", "more", "said"),
    [
        (74.0, {"scye_depth": 34.0}, "below the bust line"),
        (40.0, {"bust_girth": 150.0}, "of cloth is left at the waist"),
    ],
)
def test_a_waist_that_cannot_be_drawn_is_refused(
    waist: float, more: dict[str, float], said: str
) -> None:
    with pytest.raises(DraftError, match=said):
        drafted(waist, "direct-measure", **more)


@pytest.mark.parametrize("above", [0.0, -1.0, 0.9])
def test_a_dart_needs_some_length(above: float) -> None:
    """A method may put a dart anywhere; on the waist line it could not be folded."""
    q = drafted(74.0).quantities
    level = -q["waist_depth"] - q["front_waist_drop"]
    short = replace(q, results={**q, "waist_front_y": above + level})
    with pytest.raises(DraftError, match=f"front waist dart would be only {above:.1f} cm long"):
        draw_waist(short)
