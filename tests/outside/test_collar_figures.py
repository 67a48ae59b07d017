"""Stand and fall against figures in print, and against closed forms.

A parallel strip's top edge is shorter than its neck edge by height times turning (J. Steiner,
1840, parallel curves); the table's turnings and shortenings are computed for a straight back and a
circular bend, ours eases in and out of the bend. Turn-down collar covers its seam by 0.8 to 1:
Zhou L., 2015, turn-down collar structure.
"""

from __future__ import annotations

from math import degrees

import pytest

from blocks.neckline import Neckline
from collars.drafts import CollarDraft
from collars.registry import COLLARS
from drafting.pieces import EdgeName

#: rise: turning in degrees; shortening of the whole top edge at heights 2, 3 and 4 (half neckline
#: 18.5, straight for 7.6)
RISES = {
    0.5: (5.3, (0.4, 0.6, 0.7)),
    1.0: (10.5, (0.7, 1.1, 1.5)),
    1.2: (12.7, (0.9, 1.3, 1.8)),
    1.5: (15.9, (1.1, 1.7, 2.2)),
    2.0: (21.3, (1.5, 2.2, 3.0)),
    2.5: (26.8, (1.9, 2.8, 3.7)),
    3.0: (32.4, (2.3, 3.4, 4.5)),
}


def shirt(neckline: Neckline, **wishes: float | str) -> CollarDraft:
    return COLLARS["two-piece shirt"].draft(neckline, wishes)


@pytest.mark.parametrize("rise", RISES)
def test_rise_turning_and_shortening(rise: float) -> None:
    turning, shortening = RISES[rise]
    for height, short in zip((2.0, 3.0, 4.0), shortening, strict=True):
        draft = shirt(
            Neckline(7.6, 10.9),
            rise=rise,
            stand_back=height,
            stand_front=height,
            fall_back=height + 1.3,
        )
        assert degrees(draft.numbers["turning_angle"]) == pytest.approx(turning, abs=0.2)
        assert draft.numbers["top_shortening"] == pytest.approx(short, abs=0.05001)
        # Steiner, exactly: both ends of a parallel stand are square to the neck seam.
        exact = 2 * height * draft.numbers["turning_angle"]
        assert draft.numbers["top_shortening"] == pytest.approx(exact, abs=1e-6)


def test_the_worked_stand() -> None:
    """Neckline 7.57 and 10.92, stand 3.0 to 2.5, rise 1.2: turning 12.64°, top edge 17.91."""
    draft = shirt(Neckline(7.57, 10.92), rise=1.2, stand_back=3.0, stand_front=2.5)
    seam = draft.pieces[0].named(EdgeName.NECK_SEAM)
    ends = [(edge.curve.end.x, edge.curve.end.y) for edge in seam]

    assert degrees(draft.numbers["turning_angle"]) == pytest.approx(12.64, abs=0.05)
    assert draft.numbers["top_edge"] == pytest.approx(17.91, abs=0.02)
    assert any(x == pytest.approx(7.57, abs=0.01) and abs(y) < 0.01 for x, y in ends)
    assert any(
        x == pytest.approx(18.40, abs=0.02) and y == pytest.approx(1.20, abs=1e-6) for x, y in ends
    )


def test_common_practice() -> None:
    """Stand 3, centre front raised 2.5, 3 of button stand, fall 7; half neck seam 28, the shoulder
    notch 18 from centre front; two on the fold, both fused when the cloth is thin."""
    draft = shirt(
        Neckline(10.0, 18.0),
        stand_back=3.0,
        rise=2.5,
        button_stand=3.0,
        fall_back=7.0,
        fall_rise=3.0,
        cloth="voile",
    )
    stand, upper, under = draft.pieces

    assert draft.numbers["neck_seam"] == pytest.approx(28.0, abs=1e-6)
    assert stand.cut.cloth == 2
    assert all(piece.cut.on_fold for piece in draft.pieces)
    assert stand.cut.interfacing == 2
    assert upper.cut.interfacing == under.cut.interfacing == 1
    assert all(check.verdict != "fail" for check in draft.checks)


def test_a_fall_that_would_not_hide_its_seam_is_refused_or_fails() -> None:
    from drafting.errors import DraftError

    with pytest.raises(DraftError, match="fall"):
        shirt(Neckline(8.0, 11.0), stand_back=3.0, fall_back=2.5)
