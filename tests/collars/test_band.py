"""The band collar: sews to its neckline, closes as asked, never chokes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.stands.band import KIND
from drafting.pieces.checks import Verdict
from tests.collar_orders import (
    Wishes,
    assert_can_be_cut,
    assert_fails_only_when_it_chokes,
    assert_sound_or_refused,
    check,
    draft,
    necklines,
    orders,
    refused,
    sewn_to,
)

NECK = sewn_to(7.57, 10.92)
ROOM = "closed top edge round the neck"
NARROW = {"stand_back": (2.0, 4.5), "stand_front": (2.0, 4.5), "rise": (0.0, 2.5)}


@given(orders(KIND))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, Wishes],
) -> None:
    assert_sound_or_refused(KIND, order, "accepted")


@given(orders(KIND, NARROW))
def test_a_usual_band_fails_only_when_it_chokes(order: tuple[Neckline, Wishes]) -> None:
    assume(order[1].get("rise_by") != "neck")  # of these necklines no neck is known
    assert_fails_only_when_it_chokes(KIND, order, ROOM)


def test_by_default_it_overlaps_as_far_as_the_button_stand_and_buttons_itself() -> None:
    collar = draft(KIND, NECK, {"button_stand": 2.0})
    (piece,) = collar.pieces
    lengths = [edge.length for edge in piece.named(EdgeName.NECK_SEAM)]
    assert lengths == pytest.approx([7.57, 10.92, 2.0], abs=1e-6)
    assert [n.name for n in piece.notches].count("centre front") == 2
    assert [drill.label for drill in piece.drills] == ["button"]
    assert collar.button_in_stand
    assert not draft(KIND, NECK, {"button_stand": 0.5}).button_in_stand
    assert (piece.cut.cloth, piece.cut.interfacing, piece.cut.on_fold) == (2, 2, True)


def test_what_a_band_that_stops_short_is_advised_closes_it_with_its_gap() -> None:
    """A rise that closes it exactly, both halves of the gap and all; and where none does, how far
    it closes without any."""
    short = {"ends": "short", "gap": 0.6, "rise": 0.5}
    usual = replace(NECK, neck_girth=33.6)
    loose = draft(KIND, usual, short)
    rise = loose.numbers["rise_for_neck"]
    assert f"A rise of {rise:.2f} cm" in str(check(loose, ROOM).advice)
    exact = check(draft(KIND, usual, {**short, "rise": rise}), ROOM)
    assert exact.measured == pytest.approx(exact.target, abs=1e-6)
    thick = replace(NECK, neck_girth=36.8)
    straight = draft(KIND, thick, {**short, "rise": 0.0}).numbers["closed_top_girth"]
    told = check(draft(KIND, thick, short), ROOM).advice
    assert f"Even with no rise it closes at {straight:.1f} cm" in told


@pytest.mark.parametrize("height", [2.5, 3.8])
def test_left_out_it_is_as_high_in_front_as_behind(height: float) -> None:
    (piece,) = draft(KIND, NECK, {"stand_back": height, "ends": "meet", "end_round": 0.0}).pieces
    assert piece.length(EdgeName.COLLAR_END) == pytest.approx(height, abs=1e-6)
    assert piece.length(EdgeName.CENTRE_BACK) == pytest.approx(height, abs=1e-6)


@pytest.mark.parametrize(("ends", "short"), [("meet", 0.0), ("short", 0.5)])
def test_ends_that_do_not_overlap_are_closed_with_a_hook(ends: str, short: float) -> None:
    """thecreativecurator.com, mandarin collar: a traditional one stops 0.3 to 0.6 short."""
    collar = draft(KIND, NECK, {"ends": ends})
    (piece,) = collar.pieces
    assert len(piece.named(EdgeName.NECK_SEAM)) == 2
    assert piece.length(EdgeName.NECK_SEAM) == pytest.approx(NECK.half - short, abs=1e-6)
    assert any("hook and eye" in note for note in collar.notes)
    assert any("button stand of the front" in note for note in collar.notes)
    assert not collar.button_in_stand
    assert piece.drills == ()
    back, front, *_ = collar.seams
    assert (back.second.start, front.second.start) == pytest.approx((0.0, short))
    assert all(seam.ease == 0.0 for seam in collar.seams)


def test_what_stays_open_between_the_ends_counts_as_room() -> None:
    for gap in (0.3, 0.6):
        collar = draft(KIND, NECK, {"ends": "short", "gap": gap})
        top = collar.pieces[0].length(EdgeName.OUTER_EDGE) + collar.numbers["end_radius"]
        assert collar.numbers["closed_top_girth"] == pytest.approx(2 * (top + gap), abs=1e-6)
        assert check(collar, ROOM).measured == pytest.approx(2 * (top + gap), abs=1e-6)


@pytest.mark.parametrize("ends", ["overlap", "meet", "short"])
@pytest.mark.parametrize("neck", [34.3, 35.2])
def test_the_rise_that_is_advised_cures_a_tight_band(ends: str, neck: float) -> None:
    neckline = sewn_to(7.57, 10.92, neck_girth=neck)
    wishes: Wishes = {"ends": ends, "rise": 2.2}
    before = draft(KIND, neckline, wishes)
    assert check(before, ROOM).verdict is Verdict.FAIL
    cured = draft(KIND, neckline, {**wishes, "rise": before.numbers["rise_for_neck"]})
    assert check(cured, ROOM).measured == pytest.approx(neck + 1.5, abs=1e-4)
    assert check(cured, ROOM).verdict is Verdict.PASS


@given(necklines(), st.floats(0.1, 1.0))
def test_a_meeting_corner_takes_its_radius_from_end_and_top(
    neckline: Neckline, share: float
) -> None:
    collar, square = (
        draft(KIND, neckline, {"ends": "meet", "end_round": round_}) for round_ in (share, 0.0)
    )
    radius = collar.numbers["end_radius"]
    assert radius == pytest.approx(3.0 * share)
    tops = [one.pieces[0].length(EdgeName.OUTER_EDGE) for one in (square, collar)]
    assert tops[0] - tops[1] == pytest.approx(radius, abs=1e-6)
    end = collar.pieces[0].named(EdgeName.COLLAR_END)[0].curve
    kept, bends = 3.0 - radius, end.curvature(end.samples(64))
    turned = end.start_heading.dot(end.at_length(kept) - end.start)
    assert turned == pytest.approx(kept, abs=1e-6)
    assert bends.min() > -1e-3  # it bends one way only
    assert check(collar, "neck seam and top edge run on smoothly").measured < 0.01
    assert 1 / np.median(bends[bends > 0.3 / radius]) == pytest.approx(radius, rel=0.3)


def test_the_corner_of_an_overlapping_end_stays_before_centre_front() -> None:
    collar = draft(KIND, NECK, {"end_round": 1.0, "button_stand": 1.2})
    assert collar.numbers["end_radius"] == pytest.approx(1.2)
    assert any("radius of 1.2" in note for note in collar.notes)


@pytest.mark.parametrize("wishes", [{}, {"ends": "meet"}, {"ends": "short", "end_round": 0.0}])
def test_it_can_be_opened_and_cut(wishes: Wishes) -> None:
    assert_can_be_cut(draft(KIND, NECK, wishes))


def test_what_is_impossible_is_refused_with_what_would_do() -> None:
    assert set(refused(KIND, NECK, ends="wide", rise=9.0, gap=5)) == {
        "collar.ends",
        "collar.rise",
        "collar.gap",
    }
    said = refused(KIND, Neckline(8, 6), rise=3.0)
    assert "0 to 2.8 cm" in said["collar.rise"]
    assert set(refused(KIND, Neckline(8.0, 1.2), ends="short", gap=0.5)) == {"neckline"}


def test_a_tape_is_enough() -> None:
    collar = draft(KIND, Neckline(7.57, 10.92), {})
    assert {seam.second.piece for seam in collar.seams} == {"BAND"}
    assert any("tape" in note for note in collar.notes)
