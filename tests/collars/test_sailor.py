"""The sailor collar on V necklines drawn by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import degrees

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.edges import EdgeName
from collars.drafts import CollarBase
from collars.flat import sailor
from collars.laid_shoulders import lay_front_on_back
from collars.parameters import collar_sheet
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between
from drafting.geometry.points import Point
from drafting.pieces.checks import failed
from tests.collars.laid_grounds import VEES, ground_of, grounds, with_v
from tests.collars.laid_soundness import attempt, sound

GROUND = with_v(ground_of(style=VEES[0]))


@settings(max_examples=12)
@given(grounds(vee=True))
def test_on_every_womans_block_with_a_v_it_is_sound_and_nothing_fails(ground: CollarBase) -> None:
    collar = sailor.draft(ground, {})
    sound(collar, ground)
    assert not failed(collar.checks)
    assert collar.numbers["stand_by_outer_edge"] < 1.0


@settings(max_examples=12)
@given(
    grounds(vee=True),
    st.floats(14.0, 20.0),
    st.floats(1.0, 3.0),
    st.floats(0.0, 2.0),
    st.floats(0.0, 0.5),
)
def test_with_any_depth_side_and_overlap_it_is_sound_or_refused_with_a_reason(
    ground: CollarBase, depth: float, inside: float, overlap: float, turn: float
) -> None:
    wishes = {"depth": depth, "shoulder_inside": inside, "overlap": overlap, "turn_of_cloth": turn}
    collar = attempt("sailor", ground, wishes)
    if collar is None:
        return
    sound(collar, ground)
    assert not failed(collar.checks)


def test_it_is_square_over_the_back_crosses_the_shoulder_where_asked_and_ends_at_the_v() -> None:
    wishes = {"depth": 16.0, "shoulder_inside": 2.5, "back_raise": 0.0, "overlap": 1.0}
    collar = sailor.draft(GROUND, wishes)
    upper = collar.pieces[0]
    side, level = (edge.curve for edge in upper.named(EdgeName.OUTER_EDGE))
    assert upper.length(EdgeName.CENTRE_BACK) == pytest.approx(16.0, abs=1e-9)
    assert level.start.y == pytest.approx(level.end.y, abs=1e-12)
    assert degrees(angle_between(side.end_heading, level.start_heading)) == pytest.approx(90.0)
    laid = lay_front_on_back(GROUND.neckline, 1.0)
    over = laid.back_shoulder.at_length(laid.back_shoulder.length - 2.5)
    assert side.nearest(over)[1] == pytest.approx(0.0, abs=1e-6)
    assert side.end.x == pytest.approx(over.x, abs=1e-9)
    seam = upper.named(EdgeName.NECK_SEAM)[1].curve
    assert side.start.to(seam.end) < 1e-9
    assert abs(collar.numbers["moved_at_front"]) < 0.6
    assert seam.end.to(laid.front.end) == pytest.approx(
        abs(collar.numbers["moved_at_front"]), abs=0.02
    )


def test_the_side_is_one_smooth_line_that_bends_one_way() -> None:
    side = sailor.draft(GROUND, {}).pieces[0].named(EdgeName.OUTER_EDGE)[0].curve
    t = side.samples(40)
    assert side.curvature(t).min() > -1e-9
    headings = [side.heading(float(v)) for v in t]
    steps = [abs(a.cross(b)) for a, b in pairwise(headings)]
    assert max(steps) < 0.05
    assert headings[-1].cross(Point(0.0, 1.0)) == pytest.approx(0.0, abs=1e-9)


def test_its_neck_edge_is_straight_down_the_v() -> None:
    seam = sailor.draft(GROUND, {}).pieces[0].named(EdgeName.NECK_SEAM)[1].curve
    lower = shapely.LineString([seam.at_length(0.4 * seam.length), seam.end])
    for share in (0.5, 0.6, 0.8, 0.95):
        point = shapely.Point(*seam.at_length(share * seam.length))
        assert lower.distance(point) < 0.12


def test_only_a_v_will_do_and_the_file_says_which() -> None:
    with pytest.raises(DraftError) as caught:
        sailor.draft(ground_of(), {})
    (problem,) = caught.value.problems
    assert problem.key == "neckline.style.shape"
    assert (problem.got, problem.accepted) == ("round", "v")
    assert "8 cm" in problem.advice
    made_for = dict(collar_sheet("sailor").neckline)
    assert made_for == {"shape": "v", "front_lower": 8.0, "side_widen": 0.5}
    assert COLLARS["sailor"].neckline == made_for


def test_a_shoulder_too_short_for_its_side_is_refused() -> None:
    line = GROUND.neckline
    out = (line.back_tip - line.back.end).unit
    front_out = (line.front_tip - line.front.start).unit
    short = replace(
        line, back_tip=line.back.end + out * 5.0, front_tip=line.front.start + front_out * 5.0
    )
    with pytest.raises(DraftError) as caught:
        sailor.draft(CollarBase(short), {"shoulder_inside": 3.0})
    assert {p.key for p in caught.value.problems} == {"collar.shoulder_inside"}


def test_it_warns_of_ties_on_childrens_wear() -> None:
    assert any("EN 14682" in note for note in sailor.draft(GROUND, {}).notes)
