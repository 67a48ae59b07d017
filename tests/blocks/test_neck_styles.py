"""Style necklines: each shape on top of the fitted neckline, exact, smooth, or refused by name."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import degrees, pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.checks import check_bodice
from blocks.bodice.making_up import make_up, seams
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.body.ease import EaseWish, ease_names
from blocks.edges import EdgeName
from blocks.neckline.on_block import NeckChange, shapes
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line
from drafting.geometry.points import Point
from drafting.library import read_data
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cutting import smooth_parts
from drafting.pieces.piece import Piece, seam_mismatch
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())
BODY = {
    "bust_girth": 92.0,
    "waist_girth": 74.0,
    "back_waist_length": 39.0,
    "neck_base_girth": 37.0,
    "neck_girth": 33.0,
    "shoulder_length": 13.0,
}
USUAL = {
    "round": NeckChange(-2.0, 1.0, 0.5),
    "v": NeckChange(-8.0, 1.0, 0.0),
    "square": NeckChange(-3.0, 2.0, 1.0),
    "boat": NeckChange(0.0, 5.0, 2.5),
}


def drafted(
    shape: str, style: NeckChange | None, chosen: str = "direct-measure", **taken: float
) -> BodiceDraft:
    wish = BlockWish(chosen, fit="both", style=style, neck_shape=shape)
    return draft_bodice(complete(BODY | taken), wish)


@st.composite
def styles(draw: st.DrawFn) -> tuple[str, NeckChange]:
    """A shape with moves inside its own least and most, the sides up to 5."""
    shape = draw(st.sampled_from(sorted(shapes())))
    moves = shapes()[shape].moves
    far = {
        key: draw(st.floats(moves[key].least, min(moves[key].most, most)))
        for key, most in (("front_lower", 14.0), ("side_widen", 5.0), ("back_lower", 4.0))
    }
    return shape, NeckChange(-far["front_lower"], far["side_widen"], far["back_lower"])


@settings(max_examples=40)
@given(
    taken=bodies(),
    chosen=METHODS,
    wished=styles(),
    ease=st.sampled_from(["", *ease_names()]),
    stand=st.sampled_from([0.0, 1.5]),
)
def test_every_shape_is_sound_on_every_body_or_refused_by_its_key(
    taken: dict[str, float],
    chosen: str,
    wished: tuple[str, NeckChange],
    ease: str,
    stand: float,
) -> None:
    shape, style = wished
    body = complete(taken)
    wish = BlockWish(chosen, style=style, neck_shape=shape, button_stand=stand, ease=EaseWish(ease))
    try:
        draft = draft_bodice(body, wish)
    except DraftError as error:
        keys = {problem.key for problem in error.problems}
        assert keys <= {"neckline.style.side_widen", "neckline.style.back_lower"}
        assert all(problem.accepted and problem.advice for problem in error.problems)
        return
    plain = draft_bodice(body, replace(wish, style=None, neck_shape="round"))
    pieces = back, front = make_up(draft)

    assert all(Polygon(piece.outline()).is_valid for piece in pieces)
    for seam in seams(draft):
        assert abs(seam_mismatch(pieces, seam)) < 1e-6
    whole = 2.0 * (back.length(EdgeName.NECKLINE) + front.length(EdgeName.NECKLINE))
    assert draft.fit.finished == pytest.approx(whole, abs=1e-6)
    assert draft.fit.finished == pytest.approx(2.0 * draft.neckline.half, abs=1e-9)
    assert draft.fit.fitted == plain.fit.fitted  # the fitting knows nothing of the shape
    assert draft.neckline.shape == shape
    assert abs(at_shoulder(back) + at_shoulder(front) - pi) < 1e-6
    wrong = [c.name for c in failed(check_bodice(draft, *pieces)) if "ease left" not in c.name]
    assert all("neckline against" in name for name in wrong)
    # Fair: but for the square's corner no curve swings to and fro.
    for curve in (draft.back_neck, draft.front_neck):
        for part in smooth_parts(curve):
            bends = part.curvature(part.samples())
            assert not ((bends > 1e-6).any() and (bends < -1e-6).any())


def at_shoulder(piece: Piece) -> float:
    """Angle of the cloth at the side neck point of a back or front piece."""
    neck, k = piece.named(EdgeName.NECKLINE)[0].curve, piece.place(EdgeName.NECKLINE)
    after = piece.edges[(k + 1) % len(piece.edges)]
    if after.name is EdgeName.SHOULDER:
        return pi - abs(angle_between(neck.end_heading, after.curve.start_heading))
    return pi - abs(angle_between(piece.edges[k - 1].curve.end_heading, neck.start_heading))


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize("shape", list(USUAL))
def test_each_shape_has_the_points_it_was_moved_to(shape: str, chosen: str) -> None:
    style = USUAL[shape]
    fitted = drafted("round", None, chosen).frame
    draft = drafted(shape, style, chosen)
    front, back = draft.front_neck, draft.back_neck

    assert front.start.to(fitted.changed(style).front_side) < 1e-9
    assert front.end.to(fitted.front_neck + Point(0.0, style.front_raise)) < 1e-9
    assert back.start.to(fitted.back_neck - Point(0.0, style.back_lower)) < 1e-9
    assert draft.frame.front_length == pytest.approx(fitted.front_length - style.side_shift)


@pytest.mark.parametrize("chosen", method_names())
def test_a_v_is_hollow_by_the_stated_amount_and_comes_to_a_point(chosen: str) -> None:
    draft = drafted("v", USUAL["v"], chosen)
    front = draft.front_neck
    straight = line(front.start, front.end)
    off = [straight.nearest(front.at(t))[1] for t in np.linspace(*front.span, 101)]
    down = -degrees(angle_between(Point(1.0, 0.0), front.end_heading))
    (point,) = [c for c in check_bodice(draft, *make_up(draft)) if "down to its V" in c.name]

    assert max(off) == pytest.approx(shapes()["v"].figures["hollow"], abs=1e-3)
    middle = front.at(0.5)
    assert (front.end - front.start).cross(middle - front.start) < 0.0  # hollow: into the cloth
    assert 40.0 < down < 75.0
    assert point.verdict is Verdict.PASS
    assert point.measured == pytest.approx(down, abs=1e-6)


def test_a_v_cut_otherwise_than_it_was_asked_fails_its_check() -> None:
    draft = drafted("v", USUAL["v"])
    back, front = make_up(draft)
    edges = tuple(
        replace(e, curve=line(e.curve.start, e.curve.end)) if e.name is EdgeName.NECKLINE else e
        for e in front.edges
    )
    names = [c.name for c in failed(check_bodice(draft, back, replace(front, edges=edges)))]

    assert "neckline at centre front, down to its V" in names


@pytest.mark.parametrize("chosen", method_names())
def test_a_square_goes_down_and_straight_across(chosen: str) -> None:
    draft = drafted("square", USUAL["square"], chosen)
    side, across = smooth_parts(draft.front_neck)
    (corner,) = [c for c in check_bodice(draft, *make_up(draft)) if "corner" in c.name]

    assert side.degree == across.degree == 1
    assert abs(across.start.y - across.end.y) < 1e-9
    slant = (side.end.x - side.start.x) / (side.start.y - side.end.y)
    assert slant == pytest.approx(shapes()["square"].figures["slant"])
    assert corner.verdict is Verdict.PASS
    assert corner.measured == pytest.approx(90.0 - degrees(np.arctan(slant)), abs=1e-6)


@pytest.mark.parametrize("chosen", method_names())
def test_a_boat_is_wide_and_shallow_on_both_pieces(chosen: str) -> None:
    """Shallower for its width than the round neckline, front and back, and flatter in the middle
    than a round one of the same points."""
    round_, boat = drafted("round", None, chosen), drafted("boat", USUAL["boat"], chosen)

    assert boat.frame.depth / boat.frame.width < 0.6 * round_.frame.depth / round_.frame.width
    rises = [d.frame.back_side.y - d.frame.back_neck.y for d in (round_, boat)]
    widths = [d.frame.back_side.x for d in (round_, boat)]
    assert rises[1] / widths[1] < rises[0] / widths[0]
    as_round = drafted("round", USUAL["boat"], chosen)
    assert boat.front_neck.length < as_round.front_neck.length


def test_the_round_front_no_longer_hooks_at_the_shoulder() -> None:
    """It bends one way from the shoulder to the centre: no hook where it was once squared."""
    for bust in (78.0, 94.0, 118.0):
        draft = drafted("round", None, "bust-proportional", bust_girth=bust)
        bends = draft.front_neck.curvature(draft.front_neck.samples(64))
        assert (bends > 0.0).all()


@pytest.mark.parametrize(
    ("shape", "style", "key", "said"),
    [
        ("v", NeckChange(), "front_lower", "too little for a V"),
        ("v", NeckChange(1.0), "front_lower", "more than a V"),
        ("v", NeckChange(-21.0), "front_lower", "more than a V"),
        ("v", None, "front_lower", "too little for a V"),
        ("square", NeckChange(-15.0), "front_lower", "more than a square"),
        ("square", NeckChange(0.0, 7.0), "side_widen", "more than a square"),
        ("boat", NeckChange(0.0, 1.0), "side_widen", "too little for a boat"),
        ("boat", NeckChange(-4.0, 5.0, 2.0), "front_lower", "more than a boat"),
        ("boat", NeckChange(0.0, 5.0, 5.0), "back_lower", "more than a boat"),
        ("boat", NeckChange(0.0, 4.0, 0.5), "back_lower", "no fair line"),
        ("round", NeckChange(0.0, 8.0, 0.0), "back_lower", "would turn over"),
        ("boat", NeckChange(0.0, 9.0, 4.0), "side_widen", "of shoulder"),
        ("heart", NeckChange(), "shape", "no such neckline shape"),
    ],
)
def test_what_a_shape_does_not_allow_is_refused_by_its_key(
    shape: str, style: NeckChange | None, key: str, said: str
) -> None:
    with pytest.raises(DraftError, match=said) as caught:
        drafted(shape, style, shoulder_length=12.0)
    (problem,) = [p for p in caught.value.problems if p.key == f"neckline.style.{key}"]

    assert problem.got or style is None
    assert problem.accepted
    assert problem.advice


def test_a_refused_boat_drafts_at_the_width_that_is_accepted() -> None:
    with pytest.raises(DraftError, match="of shoulder") as caught:
        drafted("boat", NeckChange(0.0, 9.0, 4.0), shoulder_length=12.0)
    (problem,) = caught.value.problems
    most = float(problem.accepted.split(": ")[1].split(" cm")[0])
    boat = drafted("boat", NeckChange(0.0, most, 4.0), shoulder_length=12.0)

    assert boat.frame.front_length >= shapes()["boat"].figures["shoulder_least"]


def test_a_refused_back_drafts_at_the_depth_that_is_accepted() -> None:
    with pytest.raises(DraftError, match="fair line") as caught:
        drafted("boat", NeckChange(0.0, 4.0, 0.5))
    (problem,) = caught.value.problems
    least = float(problem.accepted.split(" cm")[0])

    drafted("boat", NeckChange(0.0, 4.0, least))
    with pytest.raises(DraftError, match="fair line"):
        drafted("boat", NeckChange(0.0, 4.0, least - 0.15))


@pytest.mark.parametrize("chosen", method_names())
def test_a_wide_neckline_moves_the_shoulder_dart_out_of_its_way(chosen: str) -> None:
    draft = drafted("boat", NeckChange(0.0, 7.0, 4.0), chosen)
    shoulder = draft.shoulder

    assert shoulder.side.to(shoulder.inner) > 1.0
    back, _ = make_up(draft)
    assert Polygon(back.outline()).is_valid


def test_low_and_pressing_necklines_are_noted() -> None:
    low = drafted("v", NeckChange(-18.0, 1.0, 0.0))
    pressing = drafted("v", NeckChange(-3.0, 0.0, 0.0))
    usual = drafted("v", USUAL["v"])
    notes = [
        {c.name for c in check_bodice(d, *make_up(d)) if c.verdict is Verdict.NOTE}
        for d in (low, pressing, usual)
    ]

    assert "front neck point above the bust point" in notes[0]
    assert "V neckline inside the fitted one" in notes[1]
    assert notes[2] <= {"style neckline, longer by design", "half across back"}


def test_every_figure_of_a_shape_has_a_source() -> None:
    for table in read_data("neckline").values["shapes"].values():
        for row in (*table["moves"].values(), *table["figures"].values()):
            assert row["source"]


@pytest.mark.parametrize("shape", ["v", "square", "boat"])
def test_lowering_the_front_lengthens_every_shape(shape: str) -> None:
    style = USUAL[shape]
    lengths = [
        drafted(shape, style.plus(NeckChange(front_raise=-k / 2))).fit.finished for k in range(5)
    ]

    assert all(long > short for short, long in pairwise(lengths))
