"""Points of turned-down collars: the front edge grows with the fall, and a blunt one is told."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from blocks.neckline.neckline import Neckline
from drafting.errors import DraftError
from drafting.pieces.checks import Verdict
from tests.collar_orders import attempt, check, draft, sewn_to

POINT = "angle of the point"
NECK = sewn_to(7.6, 11.35)
NECKS = st.builds(sewn_to, st.floats(7.0, 9.0), st.floats(9.5, 13.5))


@given(NECKS, st.floats(2.0, 4.5), st.floats(1.2, 9.0), st.sampled_from([1.0, 2.0, 3.0, 4.0]))
def test_a_shirt_collar_left_to_itself_keeps_its_point_however_deep_the_fall(
    neck: Neckline, stand: float, more: float, rise: float
) -> None:
    wishes = {"stand_back": stand, "fall_back": stand + more, "fall_rise": rise}
    collar = attempt("two-piece shirt", neck, wishes)
    assume(not isinstance(collar, DraftError))
    assert not isinstance(collar, DraftError)

    assert 45.0 <= check(collar, POINT).measured <= 95.0


@given(
    NECKS,
    st.floats(4.0, 9.0),
    st.floats(1.0, 3.5),
    st.sampled_from(["straight", "shaped"]),
)
def test_so_does_a_one_piece_collar(neck: Neckline, fall: float, rise: float, seam: str) -> None:
    wishes: dict[str, float | str] = {"fall_back": fall, "raise_back": rise, "neck_seam": seam}
    collar = attempt("one-piece shirt", neck, wishes)
    assume(not isinstance(collar, DraftError))
    assert not isinstance(collar, DraftError)

    assert 45.0 <= check(collar, POINT).measured <= 96.0


@pytest.mark.parametrize("fall", [4.2, 5.0, 7.0, 9.0, 12.0])
def test_its_front_edge_is_longer_than_the_fall_is_deep(fall: float) -> None:
    """Six and a half for the usual fall, and as much more as the fall is deeper."""
    collar = draft("two-piece shirt", NECK, {"fall_back": fall})
    edge = check(collar, "length of the front edge").measured

    assert edge == pytest.approx(6.5 + fall - 4.2, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "wishes"),
    [
        ("two-piece shirt", {"fall_back": 7.0, "point_length": 6.5}),
        ("two-piece shirt", {"fall_back": 9.0, "point_length": 6.5, "point_lean": 1.0}),
        ("one-piece shirt", {"fall_back": 7.0, "point_length": 8.0}),
    ],
)
def test_a_blunt_point_is_told_with_the_front_edge_that_makes_it_one(
    kind: str, wishes: dict[str, float | str]
) -> None:
    blunt = check(draft(kind, NECK, wishes), POINT)
    longer = re.search(r"Take a front edge of ([\d.]+) cm\.", blunt.advice)

    assert blunt.measured > 95.0
    assert blunt.verdict is Verdict.NOTE
    assert longer is not None
    cured = check(draft(kind, NECK, wishes | {"point_length": float(longer[1])}), POINT)
    assert cured.verdict is Verdict.PASS
    assert cured.measured == pytest.approx(84.5, abs=1.0)


def test_where_no_front_edge_would_do_a_shallower_fall_is_named() -> None:
    wishes: dict[str, float | str] = {"neck_seam": "shaped", "fall_back": 12.0, "raise_back": 3.5}
    wishes["stand_back"] = 6.0
    blunt = check(draft("one-piece shirt", NECK, wishes), POINT)

    assert blunt.verdict is Verdict.NOTE
    assert blunt.advice.endswith("Take a shallower fall.")
