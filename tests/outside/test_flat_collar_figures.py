"""Collars traced from laid shoulders against published figures: what stand comes of what overlap.

The handbooks print rounded figures for a standard shoulder that they do not state, and the fold
depends on cloth and pressing: agreement within a third is what can be asked (common practice).
"""

from __future__ import annotations

from math import asin, pi, radians

import pytest

from collars.flat import eton, flat, sailor
from collars.flat.neck_edge import stand_by_angle
from collars.laid_shoulders import lay_front_on_back, overlap_angle, shoulder_length
from collars.lying import line_on_garment, neckline_turning, standing_height
from drafting.pieces.checks import Verdict, failed
from tests.collars.laid_grounds import LOWERED, VEES, ground_of, with_v

#: How near a reckoned stand must come to a printed one.
THIRD = 1 / 3
#: A standard neckline turns by 140 degrees (shoulder slopes of 22 and 18 together), on a shoulder
#: of 13.
TURNING, SHOULDER = radians(140.0), 13.0
GROUND = ground_of(style=LOWERED)


@pytest.mark.parametrize(("overlap", "printed"), [(1.3, 0.3), (5.0, 1.3), (10.0, 2.5)])
def test_overlap_and_stand_of_a_collar_three_inches_wide(overlap: float, printed: float) -> None:
    """dresspatternmaking.com, Peter Pan variations: a stand of 1/8 in (0.3) with the least
    overlap, 1 in (2.5) with the most; the overlaps, and the triple in the middle, from memory.
    Width 7.6 (3 in)."""
    angle = 2 * asin(overlap / (2 * SHOULDER))
    assert stand_by_angle(7.6, angle, TURNING) == pytest.approx(printed, rel=THIRD)


@pytest.mark.parametrize(("overlap", "printed"), [(1.3, 0.3), (5.0, 1.3)])
def test_the_outer_edge_of_the_drafted_collar_gives_the_same_stands(
    overlap: float, printed: float
) -> None:
    """dresspatternmaking.com, Peter Pan variations (the second triple from memory), 7.6 wide."""
    kind = flat if overlap < 2.0 else eton
    wishes = {"overlap": overlap, "width": 7.6, "front_drop": 0.0, "point_lean": 0.0}
    found = kind.draft(GROUND, wishes).numbers
    assert found["stand_by_outer_edge"] == pytest.approx(printed, rel=THIRD)
    assert found["stand_by_shoulders"] == pytest.approx(printed, rel=THIRD)


def test_three_laps_in_the_outer_edge_come_out_low() -> None:
    """dresspatternmaking.com, Peter Pan variations: a flat collar slashed in three from its outer
    edge and lapped 1.25 at each goes from 0.3 to 2.5 of stand, 2.2 more. Reckoned by the angle it
    is less, by about a third: the rule is good to that, and no more is claimed for it."""
    angle = 3 * 1.25 / 7.6
    share = stand_by_angle(7.6, angle, TURNING) / (2.5 - 0.3)
    assert 1 - THIRD < share < 1.0


def test_a_flat_collar_as_published() -> None:
    """M. Müller & Sohn, Peter Pan collar: neckline lowered 1 at centre back and at the side, 2 at
    centre front; overlap 1 to 1.5, width 6, neck edge 0.7 below at centre front and then as long
    as the neckline. It lies flat: under 1 (viene.ru, chapter on collars)."""
    for overlap in (1.0, 1.25, 1.5):
        collar = flat.draft(GROUND, {"overlap": overlap, "front_drop": 0.7})
        assert not failed(collar.checks)
        assert not any(check.verdict is Verdict.NOTE for check in collar.checks)
        assert 0.0 < collar.numbers["stand_by_outer_edge"] < 0.5
        assert collar.numbers["neck_edge"] == pytest.approx(GROUND.neckline.half, abs=0.2)


def test_seven_to_eight_gives_a_real_stand() -> None:
    """M. Müller & Sohn, Peter Pan collar: overlap 7 to 8 for a Peter Pan with a real stand.
    thecreativecurator.com, sailor collar: 3.75 a medium roll, 5 to 7.5 a high one."""
    flat_stand = flat.draft(GROUND, {}).numbers["stand_by_outer_edge"]
    medium, high, real = (
        eton.draft(GROUND, {"overlap": v}).numbers["stand_by_outer_edge"] for v in (3.75, 6.0, 7.5)
    )
    assert flat_stand < 0.5 < medium < 1.0 < high < real < 2.0


def test_without_overlap_a_collar_lies_flat() -> None:
    """patternstudio101.com, overlap: none is possible."""
    wishes = {"overlap": 0.0, "back_raise": 0.0, "front_drop": 0.0, "point_lean": 0.0}
    found = flat.draft(GROUND, wishes).numbers
    assert found["stand_by_outer_edge"] == pytest.approx(0.0, abs=0.02)
    assert found["stand_by_shoulders"] == 0.0


def test_a_sailor_collar_as_published() -> None:
    """thecreativecurator.com, sailor collar: 1.25 of overlap for a flat one; Conover, Complete
    Course in Dressmaking, vol. 4, 1921, p. 53: square at centre back and at its corner."""
    collar = sailor.draft(with_v(ground_of(style=VEES[0])), {})
    assert not failed(collar.checks)
    assert collar.numbers["stand_by_outer_edge"] < 1.0


def test_a_neckline_lowered_for_a_flat_collar_grows_by_so_much() -> None:
    """M. Müller & Sohn, Peter Pan collar: 1 at centre back and at the side, 2 at centre front.
    Computed: 6.6 on the whole neckline, on which the note about the neck base rests."""
    grown = 2 * (ground_of(style=LOWERED).neckline.half - ground_of(style=None).neckline.half)
    assert grown == pytest.approx(6.6, abs=0.7)


def test_parallel_lines_on_the_garment() -> None:
    """J. Steiner, Über parallele Flächen, Berlin 1840: a line at a distance is longer by distance
    times turning. The drafted outer edge of a collar of one width is that, less the overlap."""
    neckline = GROUND.neckline
    wishes = {
        "overlap": 2.0,
        "width": 6.0,
        "point": "pointed",
        "point_lean": 0.0,
        "back_raise": 0.0,
        "front_drop": 0.0,
        "turn_of_cloth": 0.0,
    }
    found = flat.draft(GROUND, wishes).numbers
    whole = line_on_garment(neckline, 6.0)
    assert whole is not None
    lost = 6.0 * overlap_angle(neckline, 2.0)
    assert found["outer_edge"] == pytest.approx(whole - lost, abs=0.05)


def test_a_collar_that_stands_evenly_needs_twice_the_overlap() -> None:
    """Zhou L., turn-down collar structure, 2015: a straight strip folds half and half. So a collar
    of one stand all round has half the stand per angle of one that runs out in front."""
    turning = neckline_turning(GROUND.neckline)
    assert turning is not None
    assert standing_height(6.0, 0.0, turning) == pytest.approx(3.0)
    angle = lay_front_on_back(GROUND.neckline, 2.0).angle
    even = standing_height(6.0, turning - angle, turning)
    assert stand_by_angle(6.0, angle, turning) == pytest.approx(2 * even)
    assert shoulder_length(GROUND.neckline) > 5.0
    assert turning < pi
