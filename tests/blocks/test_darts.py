"""Darts as a card wishes them: every seam still sews, what cannot be is refused with reasons."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up, with_allowances
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.darts.darts import Arranged, DartWish, arrange_darts, check_darts
from blocks.darts.moves import waist_left_open
from blocks.darts.wish import BACKS, WAISTS, front_places, limits
from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cutting import cut_line, smooth_parts
from drafting.pieces.piece import Mark, MarkKind, Piece
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())
SEAMS = tuple(front_places())
SLIM = {"bust_girth": 92.0, "waist_girth": 70.0, "back_waist_length": 39.0}


def made(chosen: str = "direct-measure", stand: float = 0.0, **more: float) -> tuple[Piece, Piece]:
    return make_up(draft_bodice(complete(SLIM | more), BlockWish(chosen, button_stand=stand)))


@st.composite
def wishes(draw: st.DrawFn) -> DartWish:
    first, second = draw(st.permutations(SEAMS))[:2]
    share = draw(st.sampled_from([0.3, 0.5, 1.0]))
    return DartWish(
        bust=first,
        second=second if share < 1.0 else "",
        share=share,
        held_back=draw(st.sampled_from([1.5, 2.0, 2.5])),
        back=draw(st.sampled_from(BACKS)),
        waist=draw(st.sampled_from(WAISTS)),
    )


@settings(max_examples=40, deadline=None)
@given(taken=bodies(), chosen=METHODS, wish=wishes())
def test_every_wish_at_its_usual_place_can_be_cut_and_sewn(
    taken: dict[str, float], chosen: str, wish: DartWish
) -> None:
    back, front = make_up(draft_bodice(complete(taken), BlockWish(chosen)))
    done = arrange_darts(back, front, wish)

    assert failed(check_darts(back, front, done)) == ()
    for plain, piece in ((back, done.back), (front, done.front)):
        ring = Polygon(piece.outline())
        assert ring.is_valid
        assert ring.exterior.is_ccw
        assert len(piece.notches) == len(plain.notches)
        drills = sorted(drill.label for drill in piece.drills)
        assert drills == sorted(dart.name for dart in piece.darts)
        cut_line(with_allowances(piece, {}, 1.0))
    if wish.bust != "scye" or wish.second:
        assert done.notes


@pytest.mark.parametrize("chosen", method_names())
def test_nothing_asked_changes_nothing(chosen: str) -> None:
    back, front = made(chosen)
    done = arrange_darts(back, front, DartWish())

    assert done.back is back
    assert done.front is front
    assert (done.shoulder_ease, done.notes) == (0.0, ())
    assert check_darts(back, front, done) == ()
    only_back = arrange_darts(back, front, DartWish(back="neckline"))
    assert only_back.front is front
    only_front = arrange_darts(back, front, DartWish(bust="side"))
    assert only_front.back is back


def test_a_side_dart_makes_a_waist_dart_in_its_way_end_lower() -> None:
    back, front = made("bust-proportional")
    done = arrange_darts(back, front, DartWish("side")).front
    old, new = (
        next(dart for dart in piece.darts if dart.name == "front side waist dart")
        for piece in (front, done)
    )
    bust = next(dart for dart in done.darts if dart.name == "bust dart")

    assert new.tip.y < old.tip.y - 1.0
    assert (new.first, new.second) == (old.first, old.second)
    lower_leg = line(bust.tip, bust.second)
    assert lower_leg.nearest(new.tip)[1] >= limits()["clear"] - 1e-9
    said = arrange_darts(back, front, DartWish("side")).notes
    assert any("front side waist dart ends" in note for note in said)


def test_a_place_may_be_given() -> None:
    back, front = made()
    done = arrange_darts(back, front, DartWish("neckline", at=0.3)).front
    parts = [edge.length for edge in done.named(EdgeName.NECKLINE)]

    # counted from the shoulder, where the walk round the piece ends
    assert parts[1] == pytest.approx(0.3 * sum(parts), abs=1e-9)
    moved = arrange_darts(back, front, DartWish("scye", at=0.4)).front
    parts = [edge.length for edge in moved.named(EdgeName.SCYE)]
    assert parts[0] == pytest.approx(0.4 * sum(parts), abs=1e-9)


def test_the_usual_places_lie_under_the_bust_point_and_level_with_it() -> None:
    back, front = made()
    bust_point = front.darts[-1].apex
    under = arrange_darts(back, front, DartWish("waist", waist="left open")).front
    level = arrange_darts(back, front, DartWish("centre front")).front

    assert under.darts[-1].second.x == pytest.approx(bust_point.x, abs=1e-9)
    assert level.darts[-1].first.y == pytest.approx(bust_point.y, abs=1e-9)
    assert level.cut.mirrored_pair
    assert not any(edge.on_fold for edge in level.edges)


def test_a_split_bust_dart_is_shared_out() -> None:
    back, front = made()
    whole = front.darts[-1].angle
    for wish in (DartWish("scye", "side", 0.4), DartWish("side", "scye", 0.4)):
        done = arrange_darts(back, front, wish).front
        angles = {dart.name: dart.angle for dart in done.darts}
        first, second = f"bust dart, {wish.bust}", f"bust dart, {wish.second}"
        assert angles[first] == pytest.approx(0.4 * whole, abs=1e-9)
        assert angles[second] == pytest.approx(0.6 * whole, abs=1e-9)


def test_held_back_farther_is_only_another_point() -> None:
    back, front = made()
    done = arrange_darts(back, front, DartWish(held_back=3.0))

    assert done.front.darts[-1].tip.to(front.darts[-1].apex) == pytest.approx(3.0, abs=1e-9)
    assert done.front.edges[0] == front.edges[0]
    assert failed(check_darts(back, front, done)) == ()


# ---- let out ----------------------------------------------------------------------------------


@pytest.mark.parametrize("chosen", method_names())
def test_a_waist_left_open_is_one_smooth_line(chosen: str) -> None:
    back, front = made(chosen)
    done = arrange_darts(back, front, DartWish(waist="left open"))
    wider = 0.0
    for plain, piece in ((back, done.back), (front, done.front)):
        [waist] = piece.named(EdgeName.WAIST)
        old = plain.named(EdgeName.WAIST)
        wider += waist.length - plain.length(EdgeName.WAIST)
        assert len(list(smooth_parts(waist.curve))) == 1
        assert angle_between(waist.curve.start_heading, old[0].curve.start_heading) == (
            pytest.approx(0.0, abs=1e-9)
        )
        assert angle_between(waist.curve.end_heading, old[-1].curve.end_heading) == (
            pytest.approx(0.0, abs=1e-9)
        )
        assert not any("waist" in dart.name for dart in piece.darts)
    assert f"the whole waist is {2 * wider:.1f} cm wider" in done.notes[0]
    assert wider > 4.0


def test_the_back_dart_eased_gives_its_share_to_the_shoulder_and_the_rest_to_the_scye() -> None:
    back, front = made("bust-proportional")
    done = arrange_darts(back, front, DartWish(back="ease"))
    [shoulder], [scye] = (done.back.named(n) for n in (EdgeName.SHOULDER, EdgeName.SCYE))
    old = back.named(EdgeName.SHOULDER)

    assert done.shoulder_ease == pytest.approx(limits()["shoulder_ease"], abs=1e-9)
    eased = shoulder.length - back.length(EdgeName.SHOULDER)
    assert eased == pytest.approx(done.shoulder_ease, abs=1e-9)
    assert len(list(smooth_parts(shoulder.curve))) == 1
    assert len(list(smooth_parts(scye.curve))) == 1
    assert 0.5 < scye.length - back.length(EdgeName.SCYE) < 2.0
    # both ends still meet neckline and scye at the angles they were drawn with
    neck = back.named(EdgeName.NECKLINE)[0]
    now = done.back.named(EdgeName.NECKLINE)[0]
    assert angle_between(shoulder.curve.end_heading, now.curve.start_heading) == pytest.approx(
        angle_between(old[-1].curve.end_heading, neck.curve.start_heading), abs=1e-9
    )
    assert angle_between(scye.curve.end_heading, shoulder.curve.start_heading) == pytest.approx(
        angle_between(back.named(EdgeName.SCYE)[0].curve.end_heading, old[0].curve.start_heading),
        abs=1e-9,
    )
    [note] = [c for c in check_darts(back, front, done) if "fullness" in c.name]
    assert note.verdict is Verdict.NOTE  # more than a scye usually takes up
    at = {notch.name: notch.at for notch in done.back.notches}
    assert at["armhole back"] == back.notches[1].at


def test_a_small_back_dart_is_eased_whole() -> None:
    back, front = made(shoulder_length=12.0)
    dart = next(d for d in back.darts if d.name == "shoulder dart")
    narrow = replace(dart, second=dart.first.turned(0.06, dart.apex))
    edges = list(back.edges)
    place = dart.mouth
    edges[place] = replace(edges[place], curve=line(narrow.first, narrow.second))
    inner = edges[place + 1]
    edges[place + 1] = replace(inner, curve=line(narrow.second, inner.curve.end))
    small = replace(
        back, edges=tuple(edges), darts=tuple(narrow if d is dart else d for d in back.darts)
    )
    done = arrange_darts(small, front, DartWish(back="ease"))

    assert 0.0 < done.shoulder_ease < limits()["shoulder_ease"]
    assert done.back.length(EdgeName.SCYE) == back.length(EdgeName.SCYE)
    assert not any(d.name == "shoulder dart" for d in done.back.darts)


def test_a_back_without_a_dart_says_so() -> None:
    back, front = made()
    eased = arrange_darts(back, front, DartWish(back="ease")).back
    done = arrange_darts(eased, front, DartWish(back="neckline"))

    assert done.back is eased
    assert done.notes == ("The back has no shoulder dart to move.",)


# ---- refusals ---------------------------------------------------------------------------------


def test_everything_wrong_is_said_at_once() -> None:
    back, front = made()
    wish = DartWish("hip", "hip", 0.95, 1.5, 9.0, "collar", "tight")
    with pytest.raises(DraftError) as caught:
        arrange_darts(back, front, wish)

    keys = [problem.key for problem in caught.value.problems]
    words = ("bust", "second", "back", "waist", "held_back", "second", "share", "at")
    assert keys == [f"garment.darts.{word}" for word in words]


@pytest.mark.parametrize(
    ("wish", "key", "said"),
    [
        (DartWish("side", share=0.5), "share", "left without a seam"),
        (DartWish("side", at=0.02), "at", "too near an end of the side seam"),
        (DartWish("centre front"), "bust", "with a button stand centre front is no seam"),
        (DartWish("side", "centre front", 0.5), "second", "with a button stand"),
        (DartWish("waist", at=0.15), "at", "front side waist dart lies in the way"),
        (DartWish("scye", at=0.93), "at", "too near an end of the armhole|would leave the cloth"),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(wish: DartWish, key: str, said: str) -> None:
    back, front = made("bust-proportional", 1.5)
    with pytest.raises(DraftError, match=said) as caught:
        arrange_darts(back, front, wish)

    assert {problem.key for problem in caught.value.problems} == {f"garment.darts.{key}"}
    assert all(problem.accepted or problem.advice for problem in caught.value.problems)


def longer(piece: Piece) -> Piece:
    """As a piece to the hip will be: a hem for a waist, its waist darts only drawn."""
    bare, _ = waist_left_open(piece)
    drawn = tuple(
        Mark(MarkKind.STITCH, line(dart.first, dart.tip), dart.name)
        for dart in piece.darts
        if "waist" in dart.name
    )
    return replace(
        bare,
        edges=tuple(
            replace(e, name=EdgeName.HEM) if e.name is EdgeName.WAIST else e for e in bare.edges
        ),
        marks=bare.marks + drawn,
    )


def test_a_hem_is_no_waist_and_a_drawn_dart_is_not_cut_through() -> None:
    back, front = made("bust-proportional")
    hemmed = longer(front)
    with pytest.raises(DraftError, match="this front has no waist seam") as caught:
        arrange_darts(back, hemmed, DartWish("waist"))
    assert '"side"' in caught.value.problems[0].accepted
    assert '"waist"' not in caught.value.problems[0].accepted
    with pytest.raises(DraftError, match="would cross the front side waist dart"):
        arrange_darts(back, hemmed, DartWish("side"))
    done = arrange_darts(back, hemmed, DartWish("side", waist="left open"))
    assert done.front.marks == ()
    turned = arrange_darts(back, hemmed, DartWish("shoulder"))
    assert turned.front.marks == hemmed.marks


def test_waist_darts_that_are_not_there_cannot_be_left_open() -> None:
    back, front = (longer(piece) for piece in made())
    bare = [replace(piece, marks=()) for piece in (back, front)]
    done = arrange_darts(*bare, DartWish(waist="left open"))

    assert done.notes == ("There are no waist darts to leave open.",)
    assert done.front is bare[1]
    left = arrange_darts(back, front, DartWish(waist="left open"))
    assert left.notes == ("Waist darts left out.",)


# ---- the checks can fail ----------------------------------------------------------------------


def spoilt(arranged: Arranged, front: Piece) -> Arranged:
    return replace(arranged, front=front)


def test_the_checks_find_what_is_wrong_with_the_pieces() -> None:
    back, front = made()
    wish = DartWish("side")
    good = arrange_darts(back, front, wish)
    assert failed(check_darts(back, front, good)) == ()
    dart = good.front.darts[-1]

    off = replace(dart, tip=dart.tip + Point(0.5, 0.0))
    names = names_failed(back, front, spoilt(good, with_dart(good.front, off)))
    assert "bust dart: held back from the bust point" in names
    crooked = replace(dart, tip=dart.tip + Point(0.0, 0.5))
    names = names_failed(back, front, spoilt(good, with_dart(good.front, crooked)))
    assert "bust dart, moved: stitched legs equal" in names
    wide = replace(dart, apex=dart.apex + Point(-5.0, 0.0))
    names = names_failed(back, front, spoilt(good, with_dart(good.front, wide)))
    assert "opening at the bust point as before" in names
    assert "side seam, darts folded: runs on smoothly" in names
    other = arrange_darts(*made(waist_girth=76.0), wish)
    names = names_failed(back, front, spoilt(good, other.front))
    assert "waist: as long as before the darts were moved" in names
    stepped = replace(dart, apex=dart.apex + Point(0.0, 1.0))
    names = names_failed(back, front, spoilt(good, with_dart(good.front, stepped)))
    assert "side seam, darts folded: the ends meet" in names
    greedy = replace(arrange_darts(back, front, DartWish(back="ease")), shoulder_ease=0.3)
    assert "shoulder: as long as before, and the ease" in names_failed(back, front, greedy)


def with_dart(piece: Piece, dart: object) -> Piece:
    return replace(piece, darts=(*piece.darts[:-1], dart))  # type: ignore[arg-type]


def names_failed(back: Piece, front: Piece, arranged: Arranged) -> list[str]:
    return [check.name for check in failed(check_darts(back, front, arranged))]


def test_a_front_without_a_bust_dart_is_refused() -> None:
    back, _ = made()
    with pytest.raises(DraftError, match="has no bust dart") as caught:
        arrange_darts(back, back, DartWish("side"))
    assert caught.value.problems[0].key == "garment.darts.bust"
