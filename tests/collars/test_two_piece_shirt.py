"""What must hold of every two-piece shirt collar, whatever neckline it is sewn to."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.neckline import Neckline
from collars.drafts import CollarDraft
from collars.registry import COLLARS
from drafting.checks import Verdict
from drafting.errors import DraftError
from drafting.pieces import EdgeName, seam_mismatch

SHIRT = COLLARS["two-piece shirt"]


def drafted(neckline: Neckline, wishes: dict[str, float | str]) -> CollarDraft | DraftError:
    try:
        return SHIRT.draft(neckline, wishes)
    except DraftError as error:
        return error


@st.composite
def wishes(draw: st.DrawFn) -> dict[str, float | str]:
    """Any values the parameters accept, some left at their defaults."""
    found: dict[str, float | str] = {}
    for key, rule in SHIRT.parameters.items():
        if draw(st.booleans()):
            continue
        if rule.unit == "choice":
            found[key] = draw(st.sampled_from(rule.choices))
        else:
            low, high = float(rule.low), float(rule.high)
            found[key] = round(low + (high - low) * draw(st.floats(0.0, 1.0)), 3)
    return found


@settings(max_examples=120)
@given(back=st.floats(7.0, 11.0), front=st.floats(9.0, 19.0), wished=wishes())
def test_it_sews_or_is_refused_with_a_reason(
    back: float, front: float, wished: dict[str, float | str]
) -> None:
    draft = drafted(Neckline(back, front, neck_girth=34.0), wished)
    if isinstance(draft, DraftError):
        assert all(problem.said for problem in draft.problems)
        return
    stand = draft.pieces[0]

    assert draft.numbers["neck_seam"] == pytest.approx(back + front, abs=1e-6)
    for piece in draft.pieces:
        ring = Polygon(piece.outline())
        assert ring.is_valid, piece.code
        assert ring.exterior.is_ccw
        for notch in piece.notches:
            assert 0.0 <= notch.at <= piece.edges[notch.edge].length + 1e-9
    for seam in draft.seams:
        assert abs(seam_mismatch(draft.pieces, seam)) < 1e-6
    top = stand.length(EdgeName.STAND_SEAM)
    for piece in draft.pieces[1:]:
        assert piece.length(EdgeName.STAND_SEAM) == pytest.approx(top, abs=1e-6)


def test_the_defaults_sew_to_a_middling_neckline() -> None:
    draft = SHIRT.draft(Neckline(7.75, 11.2, neck_girth=33.2), {})
    walked = {check.name: check for check in draft.checks}

    assert walked["neck seam to back neckline"].measured == pytest.approx(7.75, abs=1e-6)
    assert walked["neck seam to front neckline"].measured == pytest.approx(11.2, abs=1e-6)
    assert not [check for check in draft.checks if check.verdict is Verdict.FAIL]


def test_the_advised_rise_closes_the_top_on_the_neck() -> None:
    neckline = Neckline(7.75, 11.2, neck_girth=33.2)
    advised = SHIRT.draft(neckline, {}).numbers["rise_for_neck"]
    again = SHIRT.draft(neckline, {"rise": advised, "fall_rise": 4.0})

    assert again.numbers["closed_top_girth"] == pytest.approx(33.2 + 1.5, abs=1e-4)


def test_a_collar_tighter_than_the_neck_fails_with_the_caution() -> None:
    draft = SHIRT.draft(Neckline(7.0, 10.0, neck_girth=36.0), {})
    failing = [check for check in draft.checks if check.verdict is Verdict.FAIL]

    assert [check.name for check in failing] == ["closed top edge round the neck"]
    assert "neck" in failing[0].advice


def test_everything_impossible_is_listed_at_once() -> None:
    refusal = drafted(
        Neckline(8.0, 11.0), {"button_stand": -1.0, "stand_back": 5.0, "fall_back": 3.0}
    )

    assert isinstance(refusal, DraftError)
    assert len(refusal.problems) >= 2
    assert "button_stand" in str(refusal)


def test_the_under_collar_is_smaller_on_three_sides_only() -> None:
    _, upper, under = SHIRT.draft(Neckline(8.0, 11.0), {"cloth": "suiting"}).pieces

    assert under.length(EdgeName.STAND_SEAM) == pytest.approx(
        upper.length(EdgeName.STAND_SEAM), abs=1e-6
    )
    assert under.length(EdgeName.OUTER_EDGE) < upper.length(EdgeName.OUTER_EDGE)
    assert under.length(EdgeName.CENTRE_BACK) < upper.length(EdgeName.CENTRE_BACK)
    assert Polygon(under.outline()).area < Polygon(upper.outline()).area
