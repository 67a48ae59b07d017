"""The one-piece shirt collar against published drafts and findings.

The stand of a collar of one width is reckoned from lines round the neckline (a parallel at a
distance is longer by the distance times the turning: J. Steiner, Über parallele Flächen, Berlin
1840); here it meets what was drafted and found by others.
"""

from __future__ import annotations

from math import degrees, pi, radians

import pytest

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.falls import one_piece_shirt
from collars.lying import line_on_garment, neckline_turning, standing_height
from collars.stands.bends import bend_with_rise
from drafting.pieces.checks import Verdict, failed

DRAFT = one_piece_shirt.draft
#: Shoulders that slope by 22 and 18 degrees, as in the bust-proportional block.
NECK = Neckline(7.57, 10.92, shoulders_slope=radians(40))
GIVEN = "stand that the neck seam gives"


def given(**wishes: float | str) -> float:
    return DRAFT(NECK, wishes).numbers["stand_given"]


def test_a_straight_strip_folds_half_and_half_with_its_edge_just_at_the_seam() -> None:
    """Zhou L. 2015, turn-down collar structure."""
    for stand, fall in ((2.7, 4.3), (3.0, 4.5)):
        width = stand + fall
        strip = {"raise_back": 0.0, "stand_back": stand, "fall_back": fall, "point_length": width}
        collar = DRAFT(NECK, strip)
        assert collar.numbers["stand_given"] == pytest.approx(width / 2, abs=1e-9)
        edge = collar.pieces[0].length(EdgeName.OUTER_EDGE)
        assert edge == pytest.approx(NECK.half, abs=1e-6)
        assert line_on_garment(NECK, 0.0) == pytest.approx(NECK.half)


def test_a_seam_that_turns_with_the_neckline_lies_flat() -> None:
    """sew.at.ua, collars: a neck edge shaped like the neckline makes a flat collar, a straighter
    one a higher stand."""
    whole = neckline_turning(NECK)
    assert whole == pytest.approx(radians(140))
    assert standing_height(7.0, whole, whole) == 0.0
    stands = [given(raise_back=u) for u in (0.0, 1.0, 2.0, 3.0, 4.0)]
    assert stands == sorted(stands, reverse=True)


#: stand, fall; the turning (degrees) and the raise that lie fully flat, the seam bent evenly all
#: along: turning = 140 (1 - 2 stand / width), raise about half the seam times the turning.
FLAT = [(3.0, 4.0, 20, 3.2), (3.0, 4.5, 28, 4.4), (2.5, 4.0, 32, 5.1), (2.0, 4.0, 47, 7.1)]


@pytest.mark.parametrize(("stand", "fall", "turning", "raised"), FLAT)
def test_the_turning_that_gives_a_stand(
    stand: float, fall: float, turning: int, raised: float
) -> None:
    """Computed from the same parallel lines with a circular arc of 18.5; rounded as printed."""
    width = stand + fall
    needed = radians(140) * (1 - 2 * stand / width)
    assert degrees(needed) == pytest.approx(turning, abs=0.5)
    assert standing_height(width, needed, radians(140)) == pytest.approx(stand)
    bend = bend_with_rise(0.0, 18.5, raised)
    assert bend.angle == pytest.approx(needed, rel=0.05)


@pytest.mark.parametrize("raised", [1.5, 2.0, 2.5, 3.0])
def test_published_stands_come_out_within_what_cloth_gives(raised: float) -> None:
    """textile-creation-club.com, collar: stand 2.7, fall 4.3, raised 1.5; 1 to 3 is common
    practice. Reckoned stands lie within half a centimetre of the 2.7 drawn, and above it at the
    published raise: such drafts let the front edges open."""
    assert given(raise_back=raised) == pytest.approx(2.7, abs=0.5)
    assert given(raise_back=1.5) > 2.7


def test_the_published_draft_has_nothing_that_stops_cutting() -> None:
    """textile-creation-club.com, collar: stand 2.7, fall 4.3, raise 1.5, front 1 longer."""
    wishes = {"stand_back": 2.7, "fall_back": 4.3, "raise_back": 1.5, "point_length": 8.0}
    collar = DRAFT(NECK, wishes)
    assert not failed(collar.checks)
    (stand,) = [one for one in collar.checks if one.name == GIVEN]
    assert stand.verdict is Verdict.PASS


def test_the_point_lies_as_far_forward_as_published() -> None:
    """madebyjoanie.blogspot.com, convertible collar 7.6 wide: the front end about 2.5 forward of
    the end of the neck seam. A seam that falls by 2 brings the square to its end there."""
    wishes = {"stand_back": 3.0, "fall_back": 4.6, "point_length": 7.6, "raise_back": 2.0}
    upper = DRAFT(NECK, wishes).pieces[0]
    end = upper.named(EdgeName.COLLAR_END)[0].curve
    assert end.end.x - end.start.x == pytest.approx(2.5, abs=0.5)


def test_the_outer_edge_is_level_over_the_back_as_published() -> None:
    """textile-creation-club.com, collar: straight for the first 8 from centre back."""
    upper = DRAFT(Neckline(8.0, 11.0), {}).pieces[0]
    outer = upper.named(EdgeName.OUTER_EDGE)[0].curve
    rows = outer.xy(outer.samples(64))
    back = rows[rows[:, 0] <= 8.0 + 1e-9]
    assert back[:, 1].max() - back[:, 1].min() < 1e-9
    assert rows[:, 1].min() < back[:, 1].min() - 0.5


def test_a_shaped_seam_stays_within_the_published_dip() -> None:
    """Common practice: 0.3 to 0.5 below the base, midway along the front; the neck seam stays half
    the neckline."""
    for dip in (0.3, 0.4, 0.5):
        upper = DRAFT(NECK, {"neck_seam": "shaped", "dip": dip}).pieces[0]
        neck = upper.named(EdgeName.NECK_SEAM)
        lowest = min(edge.curve.xy(edge.curve.samples(64))[:, 1].min() for edge in neck)
        assert neck[1].curve.end.y - lowest == pytest.approx(dip, abs=1e-3)
        assert sum(edge.length for edge in neck) == pytest.approx(18.49, abs=1e-6)


def test_the_law_is_that_of_a_line_on_the_garment() -> None:
    """J. Steiner 1840: an outer edge as long as the line at width - 2 stand lies on it."""
    width, turning = 7.0, radians(25)
    stand = standing_height(width, turning, pi - radians(40))
    line = line_on_garment(NECK, width - 2 * stand)
    assert line == pytest.approx(NECK.half + width * turning)
