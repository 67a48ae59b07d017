"""Collars of many necklines at once: every number, verdict and refusal is that of the collar
drafted by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from blocks.neckline import Neckline
from collars import band, two_piece_shirt
from collars.drafts import CollarDraft
from collars.many_stands import MANY_KINDS, ManyCollars, ManyNecklines, collar_many
from drafting.checks import Verdict
from drafting.errors import DraftError
from tests.long import examples

SAME = 1e-9
DRAFTS: Mapping[str, Callable[..., CollarDraft]] = {
    "two-piece shirt": two_piece_shirt.draft,
    "band": band.draft,
}
COUNT = examples(12)


def necklines(count: int = COUNT, seed: int = 3) -> ManyNecklines:
    """Necklines and necks, some too close for their collars and some too wide."""
    chance = np.random.default_rng(seed)
    back, front = chance.uniform(6.0, 10.0, count), chance.uniform(9.0, 15.0, count)
    return ManyNecklines(back, front, 1.85 * (back + front) + chance.uniform(-3.0, 2.0, count))


def matches(collars: ManyCollars) -> list[Neckline]:
    """Every collar of many against its own draft; the necklines that are refused."""
    refused, checks, rises = [], collars.checks(), collars.rises_for_neck()
    for k in range(len(collars.necklines)):
        neckline = collars.necklines.neckline(k)
        try:
            one = DRAFTS[collars.kind](neckline, collars.wishes)
        except DraftError as error:
            assert collars.refused[k]
            assert collars.reason(k) == str(error)
            refused.append(neckline)
            continue
        assert not collars.refused[k]
        assert collars.reason(k) == ""
        assert collars.closed_top[k] == pytest.approx(one.numbers["closed_top_girth"], abs=SAME)
        rise = one.numbers.get("rise_for_neck", np.nan)
        assert rises[k] == pytest.approx(rise, abs=SAME, nan_ok=True)
        own = {check.name: check for check in one.checks}
        for check in checks:
            same = own[check.name]
            assert check.measured[k] == pytest.approx(same.measured, abs=SAME)
            assert check.target[k] == pytest.approx(same.target, abs=SAME)
            assert check.failed[k] == (same.verdict is Verdict.FAIL)
            assert check.noted[k] == (same.verdict is Verdict.NOTE)
    return refused


@pytest.mark.parametrize(
    ("kind", "wishes"),
    [
        ("two-piece shirt", {}),
        ("two-piece shirt", {"straight_back": 0.0, "rise": 0.0, "button_stand": 0.0}),
        ("two-piece shirt", {"stand_back": 4.5, "rise": 2.8, "setback": 0.2}),
        ("two-piece shirt", {"point": "rounded", "point_radius": 2.5, "fall_rise": 4.0}),
        ("band", {}),
        ("band", {"ends": "short", "gap": 1.2, "rise": 2.5}),
        ("band", {"ends": "meet", "stand_front": 2.0, "finger_ease": 3.0}),
        ("band", {"straight_back": 0.012}),
    ],
)
def test_each_collar_is_drafted_as_by_itself(kind: str, wishes: dict[str, float | str]) -> None:
    collars = collar_many(kind, necklines(), wishes)

    assert matches(collars) == []
    room = collars.checks()[-1]
    assert room.failed.any() or room.noted.any()


@pytest.mark.parametrize(
    ("kind", "wishes"),
    [
        ("band", {"rise": 3.5, "stand_back": 6.8}),
        ("two-piece shirt", {"rise": 3.5, "stand_back": 6.4, "stand_front": 6.4}),
        ("two-piece shirt", {"point_length": 12.0, "point_lean": 5.0, "fall_back": 4.2}),
        ("two-piece shirt", {"point": "rounded", "point_radius": 3.9, "point_length": 6.0}),
        ("two-piece shirt", {"fall_back": 2.5}),
    ],
)
def test_what_cannot_be_drawn_is_refused_for_the_same_reason(
    kind: str, wishes: dict[str, float | str]
) -> None:
    assert matches(collar_many(kind, necklines(), wishes))


def test_a_neckline_without_an_arc_is_refused_and_the_others_are_not() -> None:
    some = ManyNecklines(np.array([8.0, 0.5, 8.0]), np.array([11.0, 11.0, 0.2]), np.full(3, 34.0))
    for kind in MANY_KINDS:
        collars = collar_many(kind, some, {})
        assert collars.refused.tolist() == [False, True, True]
        assert len(matches(collars)) == 2


def test_a_wish_that_cannot_stand_is_refused_at_once() -> None:
    with pytest.raises(DraftError, match="outside the accepted range"):
        collar_many("band", necklines(2), {"rise": 9.0})


def test_all_that_is_offered_is_tried_here() -> None:
    assert tuple(DRAFTS) == MANY_KINDS
