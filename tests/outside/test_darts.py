"""The moved bust dart against the draft that is published with it somewhere else.

W. Aldrich, Metric Pattern Cutting, size 12 (as reprinted by others; last points from memory): the
close-fitting bodice block is drawn with its bust dart open at the side neck point, dart 7 wide.
Here it is drafted in the scye; turned back to the side neck point it must be the published one.
"""

from __future__ import annotations

import pytest

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.body.body import complete
from blocks.darts.pivot import pivoted
from blocks.edges import EdgeName
from drafting.geometry.points import Point


def test_turned_to_the_neck_the_bust_dart_is_as_published() -> None:
    draft = draft_bodice(
        complete(
            {
                "bust_girth": 88.0,
                "waist_girth": 68.0,
                "back_waist_length": 41.0,
                "neck_base_girth": 37.0,
                "shoulder_length": 12.25,
                "across_back_width": 34.4,
                "across_front_width": 32.4,
                "scye_depth": 19.0,
            }
        ),
        BlockWish("direct-measure", neck_ease=0.0),
    )
    q = draft.quantities
    _, front = make_up(draft)
    done = pivoted(front, "bust dart", EdgeName.SHOULDER, 1e-5)
    dart = done.darts[-1]

    assert dart.width == pytest.approx(7.0, abs=1e-3)  # the published dart at bust 88
    assert dart.second.to(Point(q["other_leg_x"], q["other_leg_y"])) < 1e-3  # point 27
    outer = done.named(EdgeName.SHOULDER)[-1].curve
    assert outer.end.to(Point(q["open_shoulder_x"], q["open_shoulder_y"])) < 1e-3  # point 30
    assert outer.length == pytest.approx(12.25, abs=1e-3)
