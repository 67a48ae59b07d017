"""The tie collar: sewn on between its notches, as long and wide as asked, with its caution."""

from __future__ import annotations

from math import degrees

import pytest
from hypothesis import given

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.stands.tie import KIND
from drafting.errors import DraftError
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.piece import MarkKind
from tests.collar_orders import (
    Wishes,
    assert_can_be_cut,
    assert_sound,
    attempt,
    check,
    draft,
    orders,
    refused,
    sewn_to,
)

NECK = sewn_to(7.57, 10.92)
ROOM = "band and its gap round the neck"


@given(orders(KIND))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    order: tuple[Neckline, Wishes],
) -> None:
    neckline, _ = order
    collar = attempt(KIND, *order)
    if isinstance(collar, DraftError):
        assert {p.key for p in collar.problems} == {"collar.end_slant"}
        assert all(p.got and p.accepted and p.advice for p in collar.problems)
        return
    assert_sound(neckline, collar)
    neck = neckline.neck_girth
    tight = neck is not None and 2 * neckline.half < neck + 1.0
    assert [one.name for one in failed(collar.checks)] == [ROOM] * tight


def test_it_is_sewn_between_the_tie_notches_so_that_the_knot_has_room() -> None:
    collar = draft(KIND, NECK, {"tie_gap": 3.0})
    (piece,) = collar.pieces
    back, front = piece.named(EdgeName.NECK_SEAM)[:2]
    assert back.length == pytest.approx(7.57)
    assert front.length == pytest.approx(7.92)
    ties = [piece.notch_point(n) for n in piece.notches if n.name == "tie"]
    assert [p.x for p in ties] == pytest.approx([15.49, 15.49])
    assert [p.y for p in ties] == pytest.approx([0.0, 8.0])
    assert [seam.second.start for seam in collar.seams[:2]] == pytest.approx([0.0, 3.0])
    assert [seam.ease for seam in collar.seams[:2]] == pytest.approx([0.0, 0.0])
    assert any("3.0 cm before centre" in note for note in collar.notes)
    knot = "room for the knot before centre front"
    assert check(collar, knot).verdict is Verdict.PASS
    assert check(draft(KIND, NECK, {"tie_gap": 1.0}), knot).verdict is Verdict.NOTE


@pytest.mark.parametrize("end", ["pointed", "square"])
def test_the_ends_are_as_long_wide_and_slanted_as_asked(end: str) -> None:
    wishes: Wishes = {"end": end, "tie_length": 40.0, "end_width": 7.0, "end_slant": 3.0}
    (piece,) = draft(KIND, NECK, wishes).pieces
    fold = next(mark.curve for mark in piece.marks if mark.kind is MarkKind.FOLD)
    assert fold.end.x - piece.edges[1].curve.end.x == pytest.approx(40.0)
    ends = piece.named(EdgeName.COLLAR_END)
    assert len(ends) == 2
    assert fold.end.y - ends[0].curve.start.y == pytest.approx(7.0)
    slant = 3.0 if end == "pointed" else 0.0
    assert ends[0].curve.end.x - ends[0].curve.start.x == pytest.approx(slant)
    assert ends[0].curve.end.to(ends[1].curve.start) < 1e-9
    assert ends[0].length == pytest.approx(ends[1].length)


def test_folded_along_its_middle_both_halves_lie_on_each_other() -> None:
    (piece,) = draft(KIND, NECK, {"end_width": 9.0}).pieces
    rows = {(round(x, 6), round(y, 6)) for x, y in piece.outline().tolist()}
    assert rows == {(x, round(8.0 - y, 6)) for x, y in rows}


def test_on_the_bias_it_is_a_pair_with_a_seam_at_centre_back() -> None:
    straight, bias = (draft(KIND, NECK, {"grain": grain}) for grain in ("straight", "bias"))
    assert straight.pieces[0].cut.words() == "cut 1 on fold"
    assert bias.pieces[0].cut.words() == "cut 2 (a pair)"
    assert not any(edge.on_fold for edge in bias.pieces[0].edges)
    for collar, angle in ((straight, 90.0), (bias, 45.0)):
        a, b = collar.pieces[0].grain
        assert degrees((b - a).angle) == pytest.approx(angle)
    assert any("bias strip" in note for note in bias.notes)


def test_the_caution_on_childrens_wear_is_always_said() -> None:
    """EN 14682 as summed up by tukes.fi, cords in children's clothing: none at the neck up to 7
    years, none with free ends up to 14."""
    for wishes in ({}, {"tie_length": 20.0}, {"grain": "bias"}):
        assert any(
            "EN 14682" in note and "children" in note for note in draft(KIND, NECK, wishes).notes
        )


def test_a_strip_longer_than_the_cloth_is_wide_is_spoken_of() -> None:
    long, short = (draft(KIND, NECK, {"tie_length": length}) for length in (60.0, 40.0))
    assert long.numbers["strip_length"] == pytest.approx(2 * (18.49 - 2.5 + 60.0))
    assert any("two, with a" in note for note in long.notes)
    assert not any("two, with a" in note for note in short.notes)


@pytest.mark.parametrize(
    ("spare", "verdict"), [(0.99, Verdict.FAIL), (1.01, Verdict.NOTE), (1.3, Verdict.PASS)]
)
def test_a_band_that_chokes_stops_cutting(spare: float, verdict: Verdict) -> None:
    neckline = sewn_to(7.57, 10.92, neck_girth=2 * 18.49 - spare)
    assert check(draft(KIND, neckline, {}), ROOM).verdict is verdict


@pytest.mark.parametrize("wishes", [{}, {"grain": "bias", "end": "square"}])
def test_it_can_be_opened_and_cut(wishes: Wishes) -> None:
    assert_can_be_cut(draft(KIND, NECK, wishes))


def test_what_is_impossible_is_refused_with_what_would_do() -> None:
    assert set(refused(KIND, NECK, end="round", tie_length=500.0)) == {
        "collar.end",
        "collar.tie_length",
    }
    assert "up to 7.5 cm" in refused(KIND, NECK, tie_length=15.0, end_slant=9.0)["collar.end_slant"]
    assert "up to 4.0 cm" in refused(KIND, Neckline(8, 5), tie_gap=5.5)["collar.tie_gap"]
    assert set(refused(KIND, Neckline(0, 9))) == {"neckline"}
