"""Buttonholes: evenly spaced on centre front, one at bust level, none out of the cloth."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from blocks.finishing.buttonholes import Buttoned, Room, even_levels, with_buttonholes
from blocks.finishing.facing import faced_front
from blocks.finishing.front_edge import button_stand_for, figures
from drafting.errors import DraftError
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point
from drafting.pieces.piece import MarkKind, Piece
from tests.fronts import BODY, METHODS, drafted_front
from tests.strategies import bodies


def front_of(
    taken: dict[str, float] = BODY,
    chosen: str = "bust-proportional",
    *,
    long: bool = True,
    stand: float = 1.6,
) -> Piece:
    return drafted_front(taken, chosen, long=long, stand=stand)


def bust_of(front: Piece) -> float:
    return next(dart.apex.y for dart in front.darts if dart.name == "bust dart")


def holes(front: Piece) -> list[Curve]:
    return [mark.curve for mark in front.marks if mark.kind is MarkKind.BUTTONHOLE]


def centre_of(front: Piece) -> Curve:
    return next(mark.curve for mark in front.marks if mark.kind is MarkKind.CENTRE_FRONT)


def spaces(done: Buttoned) -> list[float]:
    return [a.y - b.y for a, b in pairwise(done.positions)]


@settings(max_examples=30)
@given(
    taken=bodies(),
    chosen=METHODS,
    long=st.booleans(),
    button=st.floats(0.9, 2.2),
    in_stand=st.booleans(),
    direction=st.sampled_from(["horizontal", "vertical"]),
)
def test_buttonholes_are_even_on_centre_front_and_one_lies_at_bust_level(
    taken: dict[str, float], chosen: str, long: bool, button: float, in_stand: bool, direction: str
) -> None:
    front = front_of(taken, chosen, long=long, stand=button_stand_for(button))
    done = with_buttonholes(front, button=button, button_in_stand=in_stand, direction=direction)
    centre, bust = centre_of(front), bust_of(front)

    area = Polygon(done.front.outline())
    assert len(holes(done.front)) == len(done.positions) >= 2
    for hole, at in zip(holes(done.front), done.positions, strict=True):
        assert at.x == pytest.approx(centre.start.x, abs=1e-9)
        assert area.contains(LineString(hole.flatten()))
        assert hole.length == pytest.approx(button + 0.3, abs=1e-9)
        assert hole.nearest(at)[1] < 1e-9
        if direction == "horizontal":
            assert hole.start.y == hole.end.y == pytest.approx(at.y, abs=1e-9)
            assert hole.start.x - at.x == pytest.approx(0.3, abs=1e-9)
            assert hole.end.x < at.x
        else:
            assert hole.start.x == hole.end.x == pytest.approx(at.x, abs=1e-9)
    drilled = [drill.at for drill in done.front.drills if drill.label == "button"]
    assert drilled == list(done.positions)

    gaps = spaces(done)
    assert max(gaps) - min(gaps) < 1e-9
    nearest = min(abs(at.y - bust) for at in done.positions)
    assert (nearest < 1e-6) == (not any("bust level" in note for note in done.notes))
    low = min(at.y for at in done.positions)
    known = figures("buttonholes")
    least = known["above_hem" if long else "above_waist"]
    assert low - centre.start.y >= least - 1e-6
    assert low - gaps[0] - centre.start.y < least + 1e-6  # another would come too low
    top = max(at.y for at in done.positions)
    if in_stand:
        assert centre.end.y - top == pytest.approx(gaps[0], abs=1e-9)
    else:
        rim = centre.end.y - button / 2 - top
        assert known["below_neck"] - 1e-9 <= rim
        assert rim <= known["below_neck"] + known["below_neck_play"] + 1e-9
    assert not any("the usual" in note for note in done.notes)  # nobody asked for another spacing


@pytest.mark.parametrize(("asked", "told"), [(5.0, True), (7.0, False), (9.0, False), (11.0, True)])
def test_an_unusual_spacing_that_was_asked_for_is_told(asked: float, told: bool) -> None:
    found = even_levels(Room(30.0, None, 0.0), None, asked)

    assert any("the usual" in note for note in found.notes) == told


@settings(max_examples=60)
@given(
    span=st.floats(4.0, 40.0),
    below=st.floats(0.0, 30.0),
    above=st.sampled_from([0, 1]),
    play=st.sampled_from([0.0, 1.0]),
)
def test_of_all_spacings_with_one_at_the_bust_the_nearest_to_the_usual_is_taken(
    span: float, below: float, above: int, play: float
) -> None:
    """7 to 9 apart is common practice."""
    assume(not (above and play))
    done = even_levels(Room(span, 0.0, -below, above, play), None, None)

    def away(spacing: float) -> float:
        return max(7.0 - spacing, spacing - 9.0, 0.0)

    possible = [(span - drop * play / 20) / k for k in range(1, 12) for drop in range(21)]
    best = min(map(away, possible))
    if min(abs(height) for height in done.heights) < 1e-6:
        assert away(done.spacing) <= best + 1e-9
    else:  # none between 5 and 12 would fall on the bust
        chosen = min(possible, key=away)
        assert not 5.0 <= chosen <= 12.0


@settings(max_examples=20)
@given(taken=bodies(), chosen=METHODS, count=st.integers(3, 9), in_stand=st.booleans())
def test_as_many_as_are_asked_for(
    taken: dict[str, float], chosen: str, count: int, in_stand: bool
) -> None:
    front = front_of(taken, chosen)
    done = with_buttonholes(front, button=1.1, count=count, button_in_stand=in_stand)

    assert len(done.positions) == count
    gaps = spaces(done)
    assert max(gaps) - min(gaps) < 1e-9
    lowest = min(at.y for at in done.positions)
    assert lowest - centre_of(front).start.y >= figures("buttonholes")["above_hem"] - 1e-6
    nearest = min(abs(at.y - bust_of(front)) for at in done.positions)
    assert nearest < 1e-6 or any(f"{nearest:.1f} cm" in note for note in done.notes)


def test_a_given_spacing_is_kept_and_hung_on_the_bust() -> None:
    front = front_of()
    done = with_buttonholes(front, button=1.1, spacing=7.5)
    assert all(gap == pytest.approx(7.5) for gap in spaces(done))
    assert min(abs(at.y - bust_of(front)) for at in done.positions) < 1e-9
    top = centre_of(front).end.y - done.positions[0].y
    assert 0.55 + 0.6 - 1e-9 <= top < 0.55 + 0.6 + 7.5

    few = with_buttonholes(front, button=1.1, spacing=7.5, count=4)
    assert few.positions == done.positions[:4]
    with pytest.raises(DraftError, match="do not fit") as caught:
        with_buttonholes(front, button=1.1, spacing=7.5, count=12)
    assert str(len(done.positions)) in caught.value.problems[0].accepted


def test_a_lapels_roll_begins_at_the_first_button() -> None:
    front = front_of()
    bust = bust_of(front)
    above = with_buttonholes(front, button=1.5, first=Point(0.0, bust + 8.2))
    assert above.positions[0].y == pytest.approx(bust + 8.2, abs=1e-9)
    assert above.positions[1].y == pytest.approx(bust, abs=1e-9)

    # Begun below the bust it cannot gape there, and the note says so.
    below = with_buttonholes(front, button=1.5, first=Point(0.0, bust - 6.0), count=2)
    assert below.positions[0].y == pytest.approx(bust - 6.0, abs=1e-9)
    assert any("6.0 cm below" in note and "need not gape" in note for note in below.notes)

    # A spacing that misses the bust: how far off, and which one would meet it.
    missed = with_buttonholes(front, button=1.5, first=Point(0.0, bust + 12.0), spacing=8.0)
    (note,) = [note for note in missed.notes if "bust level" in note]
    assert "4.0 cm" in note
    assert "6.00 cm apart" in note


def test_one_button_lies_at_the_bust_and_unknown_busts_are_said() -> None:
    front = front_of()
    one = with_buttonholes(front, button=1.5, count=1)
    assert one.positions[0].y == pytest.approx(bust_of(front), abs=1e-9)
    assert one.notes == ()

    other = with_buttonholes(front, button=1.1, bust_level=3.0)
    assert min(abs(at.y - 3.0) for at in other.positions) < 1e-9
    bare = Piece(**{f: getattr(front, f) for f in front.__slots__} | {"darts": ()})
    assert any("No bust level" in note for note in with_buttonholes(bare, button=1.1).notes)


def test_buttonholes_drawn_twice_are_drawn_once() -> None:
    front = front_of()
    first = with_buttonholes(front, button=1.1, count=8).front
    again = with_buttonholes(first, button=1.5, count=5)
    assert len(holes(again.front)) == 5
    assert sum(drill.label == "button" for drill in again.front.drills) == 5
    assert sum(d.label != "button" for d in again.front.drills) == len(front.drills)


def test_they_may_be_placed_before_or_after_a_facing_is_cut_on() -> None:
    front = front_of()
    before = faced_front(with_buttonholes(front, button=1.1).front, kind="cut on").front
    after = with_buttonholes(faced_front(front, kind="cut on").front, button=1.1).front
    assert [tuple(h.start) for h in holes(before)] == [tuple(h.start) for h in holes(after)]


def test_a_narrow_button_stand_is_remarked_on_and_one_narrower_than_the_hole_refused() -> None:
    tight = with_buttonholes(front_of(stand=1.2), button=2.0)
    (note,) = [note for note in tight.notes if "button stand" in note]
    assert "2.25 cm is usual" in note  # three quarters and 0.75: studopedia.ru/26_91401
    assert not any("stand" in n for n in with_buttonholes(front_of(), button=1.1).notes)
    with pytest.raises(DraftError, match="run out of the front"):
        with_buttonholes(front_of(stand=0.2), button=1.1)
    with pytest.raises(DraftError, match="need a button stand"):
        with_buttonholes(front_of(stand=0.0), button=1.1)


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(DraftError) as caught:
        with_buttonholes(
            front_of(),
            button=0.1,
            thickness=9.0,
            count=0,
            spacing=0.2,
            first=Point(0.0, 500.0),
            button_in_stand=True,
            lowest_above_end=-4.0,
            direction="slanting",
        )
    assert {problem.key for problem in caught.value.problems} == {
        "button",
        "thickness",
        "count",
        "spacing",
        "first",
        "lowest_above_end",
        "direction",
    }
    assert all(problem.accepted or problem.advice for problem in caught.value.problems)


def test_where_there_is_no_room_it_is_said() -> None:
    front = front_of()
    centre = centre_of(front)
    first = Point(0.0, centre.start.y + 5.0)
    with pytest.raises(DraftError, match="no room for a button"):
        with_buttonholes(front, button=1.1, first=first, lowest_above_end=9.0)
    with pytest.raises(DraftError, match="no room for a button"):
        even_levels(Room(5.0, None, 0.0, above=1), None, 8.0)
