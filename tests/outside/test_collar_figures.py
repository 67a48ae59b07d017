"""The shirt collar against figures from outside: textbook geometry, published drafts and findings.

The plain circular arc of the textbooks (straight to the shoulder, then an arc) is reckoned here
from its closed form. Ours bends with a curvature that comes and goes: for the same rise it turns
as far within a hundredth, ends within half a millimetre of that arc at the usual rises, and lies
within a millimetre of it in between.
"""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from scipy.optimize import brentq

from blocks.neckline.neckline import Neckline
from collars.falls import two_piece_shirt
from collars.registry import COLLARS
from collars.stands.bends import drawn, lean
from collars.stands.stand import StandShape, draw_stand
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed

#: How near another distribution of the same bend must come: turning (share), end and middle (cm).
TURNING, END, BETWEEN = 0.01, 0.05, 0.1
DRAFT = two_piece_shirt.draft
NECK = Neckline(7.57, 10.92)


def arc_turning(bent: float, rise: float) -> float:
    """Turning of a circular arc of a length that rises so far: r = L (1 - cos a) / a."""
    return float(brentq(lambda a: bent * (1 - cos(a)) / a - rise, 1e-9, 1.5))


# ---- geometry of a strip ------------------------------------------------------------------------

#: rise; turning (degrees), whole shortening of the top at heights 2, 3, 4, lean (degrees): for a
#: half neck seam of 18.5 bent all along, and the same bent beyond 7.6; then n - x of centre front
#: for the latter. Reckoned from the circular arc, Steiner's rule and the cone; rounded as printed.
TABLE = [
    (0.5, 3.1, (0.2, 0.3, 0.4), 1.0, 5.3, (0.4, 0.6, 0.7), 1.7, 0.02),
    (1.0, 6.2, (0.4, 0.7, 0.9), 2.0, 10.5, (0.7, 1.1, 1.5), 3.4, 0.06),
    (1.2, 7.4, (0.5, 0.8, 1.0), 2.4, 12.7, (0.9, 1.3, 1.8), 4.0, 0.09),
    (1.5, 9.3, (0.7, 1.0, 1.3), 3.0, 15.9, (1.1, 1.7, 2.2), 5.1, 0.14),
    (2.0, 12.4, (0.9, 1.3, 1.7), 4.0, 21.3, (1.5, 2.2, 3.0), 6.8, 0.25),
    (2.5, 15.6, (1.1, 1.6, 2.2), 5.0, 26.8, (1.9, 2.8, 3.7), 8.6, 0.39),
    (3.0, 18.8, (1.3, 2.0, 2.6), 6.0, 32.4, (2.3, 3.4, 4.5), 10.4, 0.57),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"rise {row[0]}")
def test_raise_turning_and_top_edge(row: tuple) -> None:
    """J. Steiner, Über parallele Flächen, Berlin 1840: the top is shorter by height * turning."""
    rise, *columns, short = row
    for straight, turning, shorter, leaning in ((0.0, *columns[:3]), (7.6, *columns[3:])):
        bend, neck = drawn(straight, 18.5, rise)
        by_arc = arc_turning(18.5 - straight, rise)
        assert degrees(by_arc) == pytest.approx(turning, abs=0.1)
        assert bend.angle == pytest.approx(by_arc, rel=TURNING)
        assert degrees(lean(bend.angle)) == pytest.approx(leaning, abs=0.05 + TURNING * leaning)
        for height, whole in zip((2, 3, 4), shorter, strict=True):
            shape = StandShape(height, height, rise, straight)
            stand = draw_stand(Neckline(7.6, 10.9), shape)
            lost = 2 * (18.5 - stand.top.length)
            assert lost == pytest.approx(2 * height * by_arc, rel=TURNING)
            assert lost == pytest.approx(whole, abs=0.05 + TURNING * whole)
    # what a rise takes from the run is a tenth more than on the arc: less bent at both ends
    assert 18.5 - neck.end.x == pytest.approx(1.1 * short, abs=0.015)


def test_the_worked_example_of_a_stand() -> None:
    """Back arc 7.57, front arc 10.92, 3.0 and 2.5 high, rise 1.2, button stand 1.5; the circular
    arc gives turning 12.64 degrees and these points on neck and top edge (height falling evenly).
    """
    bend = arc_turning(10.92, 1.2)
    radius = 10.92 / bend
    assert degrees(bend) == pytest.approx(12.64, abs=0.02)
    assert radius == pytest.approx(49.48, abs=0.1)
    stand = draw_stand(NECK, StandShape(3.0, 2.5, 1.2, 7.57, 1.5, 1.5))
    neck, top = stand.neck, stand.top
    assert stand.bend.angle == pytest.approx(bend, rel=TURNING)
    assert neck.at_length(7.57).to(Point(7.57, 0.0)) < 1e-6
    assert neck.end.to(Point(18.40, 1.20)) < END
    assert top.start.to(Point(0.0, 3.0)) < 1e-9
    assert top.at_length(stand.shoulder_on_top).to(Point(7.57, 2.80)) < END
    assert top.end.to(Point(17.85, 3.64)) < END
    assert stand.end.to(Point(19.87, 1.53)) < END
    assert stand.top_end.to(Point(19.32, 3.97)) < END
    assert top.length == pytest.approx(17.91, abs=0.02)
    # half way along the bend the curvature that comes and goes lies a little lower
    assert neck.at_length(13.03).to(Point(13.02, 0.30)) < BETWEEN
    assert top.nearest(Point(12.72, 2.93))[1] < BETWEEN
    middle = Point(7.57 + radius * sin(bend / 2), radius * (1 - cos(bend / 2)))
    assert neck.nearest(middle)[1] < BETWEEN


@pytest.mark.parametrize(
    ("rise", "turning", "end"), [(1.2, 11.6, 17.83), (2.0, 19.4, 17.69), (3.0, 29.4, 17.39)]
)
def test_the_worked_example_of_a_fall(rise: float, turning: float, end: float) -> None:
    """Seam 17.91, straight for a third: the circular arc's turning and end."""
    bend, seam = drawn(17.91 / 3, 17.91, -rise)
    assert degrees(arc_turning(2 / 3 * 17.91, rise)) == pytest.approx(turning, abs=0.1)
    assert -bend.angle == pytest.approx(radians(turning), rel=TURNING)
    assert seam.end.x == pytest.approx(end, abs=END)


# ---- published drafts and findings --------------------------------------------------------------


def test_without_rise_a_stand_is_a_cylinder() -> None:
    """Wang X. et al., Collars and Sleeves, ch. 3.2: a straight band is a cylinder and stands off
    the neck; its top is as long as its neck seam."""
    found = DRAFT(NECK, {"rise": 0.0, "stand_front": 3.0}).numbers
    assert found["top_edge"] == pytest.approx(NECK.half, abs=1e-9)
    assert found["lean_angle"] == 0.0


def test_more_rise_shortens_the_top_and_the_run() -> None:
    """M. Müller & Sohn, DOB Schnittkonstruktionen Kleider und Blusen, stand collars: a raise at
    centre front makes the collar lean in, and shortens the piece along the base line."""
    drafts = [DRAFT(NECK, {"rise": r}) for r in np.arange(0.0, 3.6, 0.5)]
    tops = [one.numbers["top_edge"] for one in drafts]
    runs = [one.pieces[0].edges[1].curve.end.x for one in drafts]
    assert (np.diff(tops) < 0).all()
    assert (np.diff(runs) < 0).all()


def test_the_rise_acts_on_the_top_edge_in_proportion() -> None:
    """Wang C. et al., Journal of Textile Research 43(3), 2022, 153-159: 64 stands, linear
    relations, the rise acting on the length of the top edge."""
    rises = np.linspace(0.0, 2.5, 11)
    tops = np.array(
        [draw_stand(NECK, StandShape(3.0, 2.5, float(rise), 7.57)).top.length for rise in rises]
    )
    assert np.corrcoef(rises, tops)[0, 1] < -0.999


def test_the_same_rise_in_front_shortens_the_top_more() -> None:
    """A regular cone presses in front and gapes at the nape, since the neck leans forward by about
    13 degrees (nagoya-wu.repo.nii.ac.jp, item 768): so the back is straight and the front bent."""
    tops = [DRAFT(NECK, {"straight_back": share}).numbers["top_edge"] for share in (0.0, 0.5, 1.0)]
    assert tops[0] > tops[1] > tops[2]


def test_a_published_shirt_drafts_with_nothing_to_find() -> None:
    """moodfabrics.com, shirt, part 3: stand 3.5 (1 3/8 in), rise 1.27 (1/2 in), beyond centre front
    0.95 (3/8 in), fall 4.8 (1 7/8 in)."""
    wishes = {"stand_back": 3.5, "rise": 1.27, "button_stand": 0.95, "fall_back": 4.8}
    collar = DRAFT(Neckline(8.2, 11.8), wishes)
    assert not failed(collar.checks)
    noted = {check.name for check in collar.checks if check.verdict is Verdict.NOTE}
    assert noted == {"closed top edge round the neck"}  # no neck is known


def test_the_fall_hides_the_seam_by_what_was_found_to_be_needed() -> None:
    """Zhou L., turn-down collar structure, 2015: the edge must cover the seam by 0.8 to 1."""
    for cover, passes in ((0.79, False), (0.80, True), (1.0, True)):
        collar = DRAFT(NECK, {"turn_of_cloth": 0.0, "fall_back": 3.0 + cover})
        assert (not failed(collar.checks)) is passes


def test_stand_and_fall_both_fall_to_the_front_the_fall_more() -> None:
    """150 Cutting Questions Answered, ishare.iask.sina.com.cn/f/22328100: the seam of the fall must
    be bent more than that of the stand, or the fall wrinkles it."""
    for rise in (0.0, 1.2, 2.0, 3.0):
        found = DRAFT(NECK, {"rise": rise}).numbers
        assert found["fall_turning_angle"] > found["turning_angle"]


def test_finger_ease_is_what_two_fingers_need() -> None:
    """Convex hull of a round neck and two fingers side by side, 3.4 wide and 1.0 to 1.4 thick; and
    oelkrugmasshemden.de: neck and 1; nakae-textile.com: neck and 2."""

    def over(neck: float, width: float, thick: float) -> float:
        radius = neck / (2 * pi)
        corner = np.hypot(width / 2, radius + thick)
        base = np.arctan2(width / 2, radius + thick)
        tangent = np.sqrt(corner**2 - radius**2)
        touch = base + np.arccos(radius / corner)
        return float(width + 2 * tangent + (2 * pi - 2 * touch) * radius - neck)

    ease = COLLARS["two-piece shirt"].parameters["finger_ease"].default
    assert 1.0 < ease < 2.0
    for neck in (31.0, 33.0, 35.0, 37.0):
        assert ease == pytest.approx(over(neck, 3.4, 1.0), abs=0.25)
        assert ease < over(neck, 3.4, 1.4)


def test_a_cone_of_paper() -> None:
    """Rolled up, a stand is a piece of a cone whose slope has the sine turning / pi."""
    assert lean(radians(30)) == pytest.approx(np.arcsin(1 / 6))
