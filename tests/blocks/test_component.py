"""Components: none that closes round the body can be added without the girth it closes at."""

from __future__ import annotations

from dataclasses import replace

import pytest

from blocks.component import Closing, Component, ComponentDraft, closing_check, registered
from drafting.errors import DataError, DraftError
from drafting.pieces.checks import Check, Verdict, within

NECK = 38.4


def frill(girth: float, *checks: Check) -> ComponentDraft:
    return ComponentDraft("band", "Frill", (), (), checks, numbers={"closed": girth})


def kind(girth: float = 37.0, *checks: Check, **changes: object) -> Component[None, ComponentDraft]:
    made: Component[None, ComponentDraft] = Component(
        "collar",
        "band",  # its data serve for the frill too
        lambda _ground, _wishes: frill(girth, *checks),
        Closing("neck", lambda drafted: drafted.numbers["closed"]),
    )
    return replace(made, **changes)


def test_a_frill_tighter_than_the_neck_fails_though_it_brings_no_check_of_it() -> None:
    check = closing_check(kind(), frill(37.0), {"neck_girth": NECK})
    assert check is not None
    assert check.verdict is Verdict.FAIL
    assert check.measured == 37.0
    assert check.target == NECK + 1.0


@pytest.mark.parametrize(("girth", "verdict"), [(39.39, Verdict.FAIL), (39.41, Verdict.PASS)])
def test_a_centimetre_of_room_is_the_least(girth: float, verdict: Verdict) -> None:
    check = closing_check(kind(girth), frill(girth), {"neck_girth": NECK})
    assert check is not None
    assert check.verdict is verdict


def test_without_her_girth_it_says_that_nothing_was_compared() -> None:
    check = closing_check(kind(), frill(37.0), {})
    assert check is not None
    assert check.verdict is Verdict.NOTE
    assert "not known" in str(check.advice)


def test_a_kind_with_a_check_of_its_own_needs_no_second_one() -> None:
    own = kind(closes=Closing("neck", lambda d: d.numbers["closed"], frozenset({"its own"})))
    assert closing_check(own, frill(37.0), {"neck_girth": NECK}) is None


def test_what_says_nothing_of_how_it_closes_is_refused() -> None:
    with pytest.raises(DataError, match="nothing says how it closes"):
        registered([kind(closes=" ")])


def test_what_closes_without_its_girth_is_refused() -> None:
    with pytest.raises(DataError, match="does not give the girth"):
        registered([kind(closes=Closing("neck", None))])  # type: ignore[arg-type]


def test_two_of_a_kind_and_data_that_are_not_there_are_refused_at_once() -> None:
    with pytest.raises(DataError) as caught:
        registered([kind(), kind(), kind(kind="no such collar")])
    assert len(caught.value.problems) >= 2


def test_a_draft_without_the_checks_of_its_kind_never_leaves_the_table() -> None:
    need = kind(always=frozenset({"neck seam to back neckline"}))
    with pytest.raises(DraftError, match="without its check of neck seam to back neckline"):
        need.draft(None, {})
    check = within("neck seam to back neckline", 1.0, 1.0, 0.1, where="", advice="", source="")
    held = kind(37.0, check, always=frozenset({"neck seam to back neckline"}))
    assert held.draft(None, {}).numbers["closed"] == 37.0


def test_a_draft_that_lost_its_closing_check_never_leaves_the_table() -> None:
    own = kind(closes=Closing("neck", lambda d: d.numbers["closed"], frozenset({"its own"})))
    with pytest.raises(DraftError, match="without its check of its own"):
        own.draft(None, {})
