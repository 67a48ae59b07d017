"""The partly rolled collar: the flat collar's draft with more overlap."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.edges import EdgeName
from collars.drafts import CollarBase
from collars.flat import eton
from collars.registry import COLLARS
from drafting.geometry.curves import angle_between
from drafting.pieces.checks import Verdict, failed
from tests.collars.laid_grounds import ground_of, grounds
from tests.collars.laid_soundness import attempt, sound

GROUND = ground_of()


@settings(max_examples=10)
@given(grounds(), st.sampled_from(COLLARS["eton"].parameters["point"].choices))
def test_on_every_womans_block_it_is_sound_and_nothing_fails(
    ground: CollarBase, point: str
) -> None:
    collar = attempt("eton", ground, {"point": point})
    assert collar is not None
    sound(collar, ground)
    assert not failed(collar.checks)


@settings(max_examples=12)
@given(
    grounds(),
    st.floats(2.0, 8.0),
    st.floats(4.0, 12.0),
    st.sampled_from(["one piece", "two halves"]),
)
def test_with_any_overlap_and_width_it_is_sound_or_refused_with_a_reason(
    ground: CollarBase, overlap: float, width: float, made: str
) -> None:
    collar = attempt("eton", ground, {"overlap": overlap, "width": width, "made": made})
    if collar is None:
        return
    sound(collar, ground)
    assert not failed(collar.checks)
    by_edge, by_angle = (
        collar.numbers[key] for key in ("stand_by_outer_edge", "stand_by_shoulders")
    )
    if made == "one piece":  # halves are cut away at centre back, where the law counts full width
        assert by_edge == pytest.approx(by_angle, rel=0.4, abs=0.2)


def test_it_stands_higher_than_a_flat_collar_and_stays_half_standing() -> None:
    flat = COLLARS["flat"].draft(GROUND, {}).numbers["stand_by_outer_edge"]
    stands = [
        eton.draft(GROUND, {"overlap": v}).numbers["stand_by_outer_edge"]
        for v in (2.0, 4.0, 6.0, 8.0)
    ]
    assert flat < stands[0]
    assert stands == sorted(stands)
    assert 0.6 < stands[1] < 1.2


def test_a_square_front_is_square_to_both_edges_and_a_pointed_one_longer() -> None:
    square = eton.draft(GROUND, {"point": "square"}).pieces[0]
    end, outer = (
        square.named(name)[0].curve for name in (EdgeName.COLLAR_END, EdgeName.OUTER_EDGE)
    )
    seam = square.named(EdgeName.NECK_SEAM)[1].curve
    assert end.length == pytest.approx(7.0, abs=1e-9)
    assert seam.end_heading.dot(end.start_heading) == pytest.approx(0.0, abs=1e-9)
    assert abs(angle_between(end.end_heading, outer.start_heading)) == pytest.approx(
        1.571, abs=0.05
    )
    pointed = eton.draft(GROUND, {}).pieces[0]
    assert pointed.length(EdgeName.COLLAR_END) == pytest.approx(8.5, abs=1e-9)


def test_a_stand_beyond_half_standing_is_noted_and_the_overlap_advised_cures_it() -> None:
    name = "outer edge long enough to lie where it should"
    wishes: dict[str, float | str] = {"overlap": 7.5, "width": 12.0}
    (found,) = [c for c in eton.draft(GROUND, wishes).checks if c.name == name]
    assert found.verdict is Verdict.NOTE
    overlap = float(found.advice.split("overlap of ")[1].split(" cm")[0])
    cured = eton.draft(GROUND, wishes | {"overlap": overlap})
    assert [c.verdict for c in cured.checks if c.name == name] == [Verdict.PASS]
    assert cured.numbers["stand_by_outer_edge"] == pytest.approx(1.8, abs=0.1)
