"""The outer edge of a fall on the shoulders: its line, its rise, and what is said when tight."""

from __future__ import annotations

from dataclasses import replace
from math import degrees, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft
from collars.falls import two_piece_shirt
from collars.falls.fall import FallShape
from collars.falls.from_shoulders import (
    NEEDS_BLOCK,
    OVER_STAND,
    line_on_shoulders,
    outer_length,
)
from collars.lying import line_on_garment
from drafting.errors import DraftError
from drafting.pieces.checks import Check, Verdict
from tests.collars.laid_grounds import BODY, ground_of
from tests.strategies import bodies

EDGE = "outer edge on the shoulders"
NECK = ground_of(style=None).neckline


def draft(neckline: Neckline = NECK, **wishes: float | str) -> CollarDraft:
    return two_piece_shirt.draft(neckline, wishes)


def edge(collar: CollarDraft) -> Check:
    (found,) = [one for one in collar.checks if one.name == EDGE]
    return found


@pytest.mark.parametrize("distance", [0.0, 0.8, 1.2, 3.0])
def test_a_line_all_round_is_that_of_the_parallel_curve(distance: float) -> None:
    """J. Steiner, 1840: longer by the distance times the turning, whatever the neckline's shape."""
    assert line_on_shoulders(NECK, distance, distance) == pytest.approx(
        line_on_garment(NECK, distance), abs=1e-3
    )


def test_the_line_grows_with_its_distance_behind_and_in_front() -> None:
    lines = [line_on_shoulders(NECK, behind, 4.0) for behind in (0.8, 1.2, 2.0)]
    assert lines == sorted(lines)
    lines = [line_on_shoulders(NECK, 1.2, before) for before in (1.2, 3.0, 5.0)]
    assert lines == sorted(lines)


@settings(max_examples=25)
@given(
    taken=bodies(),
    fall=st.floats(3.8, 6.0),
    point=st.floats(5.5, 8.0),
    spread=st.floats(60.0, 110.0),
)
def test_reckoned_from_the_shoulders_the_edge_is_just_long_enough(
    taken: dict[str, float], fall: float, point: float, spread: float
) -> None:
    """Or the stand asks for more rise than the shoulders; or none does, and the reason is told."""
    try:
        neckline = ground_of(taken, style=None).neckline
    except DraftError:
        return
    wishes = {"fall_back": fall, "point_length": point, "spread": radians(spread)}
    try:
        collar = draft(neckline, fall_rise_by="shoulders", **wishes)
    except DraftError as error:
        (problem,) = error.problems
        assert problem.key in ("collar.fall_rise_by", "collar.point_length")
        assert problem.advice
        return
    found = edge(collar)
    assert found.verdict is Verdict.PASS
    (stand_rise,) = [c.measured for c in collar.checks if c.name == "rise at centre front"]
    least = stand_rise + OVER_STAND
    rise = collar.numbers["fall_rise"]
    assert rise >= least - 1e-9
    if rise > least + 1e-6:
        assert found.measured == pytest.approx(found.target, abs=1e-6)
    else:
        assert found.measured >= found.target - 1e-6
    written = draft(neckline, fall_rise=rise, **wishes)
    assert written.numbers["outer_edge"] == pytest.approx(collar.numbers["outer_edge"], abs=1e-6)


def test_the_length_is_that_of_the_finished_piece() -> None:
    collar = draft(rise=1.2, fall_rise=2.0)
    shape = FallShape(4.2, 2.0, NECK.back_arc, 6.5, 0.0)
    assert collar.numbers["outer_edge"] == pytest.approx(
        outer_length(collar.numbers["fall_seam"], shape), abs=1e-6
    )
    assert edge(collar).measured == pytest.approx(collar.numbers["outer_edge"], abs=1e-6)


def test_a_deep_fall_that_is_too_short_is_told_with_its_cure() -> None:
    collar = draft(fall_back=6.0, fall_rise_by="rule")
    found = edge(collar)
    assert found.verdict is Verdict.NOTE
    tight = found.target - found.measured
    assert tight > 1.0
    assert f"Outer edge tight by {tight:.1f} cm" in found.advice
    assert "ride up and show the neck seam" in found.advice
    rise = float(found.advice.split("fall rise of ")[1].split(" cm")[0])
    cured = draft(fall_back=6.0, fall_rise=rise)
    assert edge(cured).verdict is Verdict.PASS
    # rounded up to the next hundredth, and the edge grows little faster than the rise
    assert 0.0 <= edge(cured).measured - edge(cured).target <= 0.02


def test_wider_open_front_edges_need_a_shorter_edge() -> None:
    rises = [
        draft(fall_rise_by="shoulders", fall_back=5.5, spread=radians(wide)).numbers["fall_rise"]
        for wide in (75.0, 90.0, 110.0)
    ]
    assert rises == sorted(rises, reverse=True)
    assert rises[0] > rises[2]


def test_two_ways_of_reckoning_the_opening_agree() -> None:
    """The angle lacking in the seam's turning, as the notes tell it, against the length lacking in
    the outer edge: regular collars, 75 to 90 degrees (yxlady.com, kinds of shirt collar)."""
    for wide in (65.0, 75.0):
        collar = draft(fall_rise_by="shoulders", spread=radians(wide))
        assert degrees(collar.numbers["spread_angle"]) == pytest.approx(wide, abs=8.0)


def test_what_is_left_off_is_what_open_edges_leave() -> None:
    closed, open_ = (edge(draft(spread=radians(wide))).target for wide in (0.0, 90.0))
    assert closed - open_ == pytest.approx(6.5 * sin(radians(45.0)), abs=1e-9)


def test_by_rule_and_by_number_it_is_what_it_always_was() -> None:
    def edge_of(**wishes: float | str) -> float:
        return draft(rise=1.2, **wishes).numbers["outer_edge"]

    plain = edge_of(fall_rise_by="rule")
    assert edge_of(fall_rise_by="number", fall_rise=2.0) == plain
    assert edge_of(fall_rise=2.0) == plain
    assert edge_of(fall_rise_by="rule", fall_rise=4.0) == plain
    ruled = draft(fall_rise_by="rule", fall_rise=4.0)
    assert any("is not used" in note for note in ruled.notes)


def test_left_open_it_comes_from_the_shoulders_where_they_are_known_and_reach() -> None:
    by_shoulders = draft(fall_rise_by="shoulders").numbers
    assert draft().numbers["fall_rise"] == by_shoulders["fall_rise"]
    assert draft(fall_rise=3.0).numbers["outer_edge"] > by_shoulders["outer_edge"]
    taped = Neckline(NECK.back_arc, NECK.front_arc, neck_girth=33.0)
    ruled = draft(taped, fall_rise_by="rule").numbers["outer_edge"]
    assert draft(taped).numbers["outer_edge"] == ruled
    never = {"fall_back": 11.0, "point_length": 9.0, "spread": 0.0}
    beyond = draft(**never)
    assert beyond.numbers["outer_edge"] == draft(fall_rise_by="rule", **never).numbers["outer_edge"]
    assert any("usual rise" in note for note in beyond.notes)


def test_a_taped_neckline_says_that_it_needs_the_block() -> None:
    taped = Neckline(NECK.back_arc, NECK.front_arc, neck_girth=33.0)
    collar = draft(taped)
    assert NEEDS_BLOCK in collar.notes
    assert not [one for one in collar.checks if one.name == EDGE]
    with pytest.raises(DraftError, match="needs the block"):
        draft(taped, fall_rise_by="shoulders")
    assert NEEDS_BLOCK not in draft().notes


def test_where_no_rise_is_enough_the_reason_is_told() -> None:
    with pytest.raises(DraftError, match="too short") as caught:
        draft(fall_back=11.0, fall_rise_by="shoulders", point_length=9.0, spread=0.0)
    (problem,) = [one for one in caught.value.problems if one.key == "collar.fall_rise_by"]
    assert "spread" in problem.advice


def test_both_parts_from_the_body_at_once() -> None:
    taken = {
        **BODY,
        "collar_top_girth": 34.2,
        "collar_top_height": 2.75,
        "neck_lean": radians(14.0),
    }
    neckline = replace(ground_of(taken, style=None).neckline)
    collar = draft(neckline, rise_by="neck", fall_rise_by="shoulders", fall_back=5.0)
    assert collar.numbers["closed_top_girth"] == pytest.approx(
        collar.numbers["neck_at_top"] + 1.5, abs=0.01
    )
    assert edge(collar).verdict is Verdict.PASS
    assert np.isfinite(collar.numbers["fall_rise"])
