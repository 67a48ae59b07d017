"""The shawl collar: grown on to its front, fair, sewn to the back neckline, honest about itself."""

from __future__ import annotations

from dataclasses import replace
from math import degrees

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.making_up import FRONT
from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import polyline
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.piece import Edge, MarkKind, Piece
from tests.lapels import (
    USUAL,
    all_pieces,
    assert_passes,
    check,
    draft,
    ground,
    grounds,
    long_front,
    problems,
    sound,
    turned_ring,
    wishes_for,
    with_dart_in,
)

KIND = "shawl"


@settings(max_examples=30)
@given(on=grounds())
def test_a_shawl_for_every_woman(on: CollarBase) -> None:
    assert_passes(KIND, on)


@settings(max_examples=30)
@given(on=grounds(), wishes=wishes_for(KIND))
def test_ordinary_wishes_are_drafted_and_pass(
    on: CollarBase, wishes: dict[str, float | str]
) -> None:
    try:
        collar = draft(KIND, on, **wishes)
    except DraftError as error:  # a fall by the rule may be too flat on shoulders that hardly slope
        assert {p.key for p in error.problems} <= {"collar.swing", "collar.break_height"}
        return
    sound(on, collar)
    assert failed(collar.checks) == ()
    shown = collar.numbers
    if "swing" in wishes:
        assert shown["swing"] == wishes["swing"]


@settings(max_examples=60)
@given(wishes=wishes_for(KIND, anything=True))
def test_any_wish_is_drafted_or_refused_with_a_reason(wishes: dict[str, float | str]) -> None:
    on = ground()
    try:
        collar = draft(KIND, on, **wishes)
    except DraftError as error:
        assert all(p.key and (p.accepted or p.advice) for p in error.problems)
        return
    sound(on, collar)


@given(
    method=st.sampled_from(["bust-proportional", "direct-measure"]),
    width=st.floats(*USUAL["lapel_width"]),
)
@settings(max_examples=15)
def test_the_outer_edge_is_one_fair_bow(method: str, width: float) -> None:
    """Seen from the break point it only bends towards the neck: no bump, no hollow."""
    collar = draft(KIND, ground(method), lapel_width=width)
    for piece in (collar.bodice[FRONT], collar.pieces[0]):
        (edge,) = piece.named(EdgeName.OUTER_EDGE)
        bend = edge.curve.curvature(np.linspace(*edge.curve.span, 201))
        assert bend.min() > -0.02
        assert bend.max() < 0.2
        assert np.sum(np.diff(np.sign(np.diff(bend))) != 0) <= 3
    assert check(collar, "width of the lapel").measured == pytest.approx(width, abs=1e-3)


def test_front_and_facing_as_cut() -> None:
    on = ground()
    collar = draft(KIND, on)
    pieces = all_pieces(on, collar)
    front, facing = pieces[FRONT], pieces["FACING"]
    names = [edge.name for edge in front.edges]
    at = names.index(EdgeName.FRONT_EDGE)
    assert names[at : at + 5] == [
        EdgeName.FRONT_EDGE,
        EdgeName.OUTER_EDGE,
        EdgeName.CENTRE_BACK,
        EdgeName.NECK_SEAM,
        EdgeName.SHOULDER,
    ]
    assert front.cut.mirrored_pair
    assert facing.cut.mirrored_pair
    assert facing.named(EdgeName.FACING_EDGE)
    # the layers have one neck seam and one roll line; only the free edge differs
    assert front.length(EdgeName.NECK_SEAM) == pytest.approx(facing.length(EdgeName.NECK_SEAM))
    turn = collar.numbers["turn_of_cloth"]
    inner, outer = (
        shapely.LineString(p.named(EdgeName.OUTER_EDGE)[0].curve.flatten()) for p in (front, facing)
    )
    gaps = [outer.distance(shapely.Point(*p)) for p in inner.coords]
    assert gaps[0] < 1e-6
    assert gaps[-1] == pytest.approx(turn, abs=0.01)
    assert max(gaps) < 1.25 * turn
    assert shapely.Polygon(facing.outline()).buffer(1e-3).contains(inner)
    # the roll line goes from the front edge to centre back
    roll = next(mark.curve for mark in front.marks if mark.kind is MarkKind.ROLL)
    assert roll.start.to(front.named(EdgeName.FRONT_EDGE)[0].curve.end) < 1e-9
    assert roll.end.to(front.named(EdgeName.CENTRE_BACK)[0].curve.end) == pytest.approx(3.0)


def test_the_facings_are_interfaced_and_the_whole_front_only_when_it_is_asked_for() -> None:
    on = ground()
    for wishes, front, facings in (
        ({}, 0, (2, 1)),
        ({"cloth": "coating"}, 0, (2, 1)),
        ({"interfacing": "both"}, 2, (2, 1)),
        ({"cloth": "linen", "interfacing": "by cloth"}, 2, (2, 1)),
        ({"cloth": "suiting", "interfacing": "by cloth"}, 0, (2, 1)),
        ({"interfacing": "none"}, 0, (0, 0)),
    ):
        collar = draft(KIND, on, **wishes)
        assert collar.bodice[FRONT].cut.interfacing == front
        assert tuple(piece.cut.interfacing for piece in collar.pieces) == facings


def test_the_first_button_sits_below_the_break_on_centre_front() -> None:
    on = ground()
    assert draft(KIND, on).first_button is not None
    for height in (0.75, -6.0, 4.0):
        button = draft(KIND, on, break_height=height).first_button
        assert button is not None
        assert on.neckline.front is not None
        assert button.x == pytest.approx(on.neckline.front.end.x)
        assert button.y == pytest.approx(height - 0.75)


def test_more_swing_makes_the_outer_edge_longer_and_none_bares_the_seam() -> None:
    lengths = [draft(KIND, swing=s).numbers["outer_edge"] for s in (0.0, 2.0, 4.0, 6.0)]
    assert lengths == sorted(lengths)
    assert lengths[-1] - lengths[0] > 2.0
    name = "outer edge, centre back to the shoulder"
    short = check(draft(KIND, swing=0.0), name)
    assert short.verdict is Verdict.NOTE
    assert "bare the neck seam" in short.advice
    assert check(draft(KIND), name).verdict is Verdict.PASS


def test_the_law_swings_more_for_a_deeper_fall() -> None:
    swings = [draft(KIND, fall_back=f).numbers["swing_angle"] for f in (4.1, 4.5, 5.0)]
    assert swings == sorted(swings)
    assert degrees(swings[0]) > 15.0


def test_a_fall_too_small_to_cover_fails_its_check() -> None:
    collar = draft(KIND, fall_back=3.5)
    assert "the fall hides the neck seam by" in {one.name for one in failed(collar.checks)}


def test_a_lapel_that_reaches_the_scye_fails_its_check() -> None:
    name = "the lapel turned over stays clear of the armhole by"
    near, far = (check(draft(KIND, lapel_width=w), name) for w in (8.0, 14.0))
    assert near.measured - far.measured > 3.0
    front = ground().front
    assert front is not None
    narrow = replace(
        ground(),
        front=replace(front, edges=_narrowed(front)),
    )
    assert check(draft(KIND, narrow, lapel_width=14.0), name).verdict is Verdict.FAIL


def _narrowed(front: Piece) -> tuple[Edge, ...]:
    """The front's edges with the scye drawn in towards centre front by 6 cm."""
    edges = list(front.edges)
    shoulder = front.place(EdgeName.SHOULDER)
    run = edges[shoulder].curve
    tip = run.at_length(run.length - 6.0)
    scye = edges[shoulder + 1].curve
    edges[shoulder] = replace(edges[shoulder], curve=run.part(0.0, run.length - 6.0))
    inward = scye.at_length(scye.length / 2) + Point(6.0, 0.0)
    edges[shoulder + 1] = replace(edges[shoulder + 1], curve=polyline((tip, inward, scye.end)))
    return tuple(edges)


# ---- other fronts ------------------------------------------------------------------------------


@pytest.mark.parametrize("by", range(1, 12))
def test_the_ring_may_begin_anywhere(by: int) -> None:
    on = ground()
    assert on.front is not None
    turned = replace(on, front=turned_ring(on.front, by % len(on.front.edges)))
    plain, other = draft(KIND, on), draft(KIND, turned)
    sound(turned, other)
    assert (
        shapely.Polygon(other.bodice[FRONT].outline())
        .symmetric_difference(shapely.Polygon(plain.bodice[FRONT].outline()))
        .area
        < 1e-6
    )


def test_a_front_with_a_hem_and_a_side_seam_in_two_edges() -> None:
    on = ground()
    assert on.front is not None
    longer = replace(on, front=long_front(on.front))
    collar = draft(KIND, longer, break_height=-15.0, facing_hem=9.0)
    sound(longer, collar)
    assert len(collar.bodice[FRONT].named(EdgeName.SIDE_SEAM)) == 2
    assert collar.pieces[0].length(EdgeName.HEM) == pytest.approx(7.0)
    assert failed(collar.checks) == ()


def test_what_cannot_carry_a_shawl_is_refused() -> None:
    on = ground()
    assert on.front is not None
    assert "collar.kind" in problems(KIND, CollarBase(Neckline(7.6, 11.0)))
    assert "button stand" in problems(KIND, ground(button_stand=0.0))["garment.button_stand"]
    styled = replace(on, neckline=replace(on.neckline, shape="v"))
    assert "round" in problems(KIND, styled)["neckline.style.shape"]
    for name in (EdgeName.NECKLINE, EdgeName.FRONT_EDGE):
        darted = replace(on, front=with_dart_in(on.front, name))
        assert "dart" in problems(KIND, darted)["garment.darts.bust"]
    sound(
        replace(on, front=with_dart_in(on.front, EdgeName.SHOULDER)),
        draft(KIND, replace(on, front=with_dart_in(on.front, EdgeName.SHOULDER))),
    )


def test_what_cannot_be_drafted_is_told_all_at_once() -> None:
    said = problems(
        KIND, break_height=-30.0, fall_back=2.0, facing_hem=14.5, facing_shoulder=10.0 + 5.0
    )
    assert set(said) == {
        "collar.break_height",
        "collar.fall_back",
        "collar.facing_hem",
        "collar.facing_shoulder",
    }
    assert "below the waist" in said["collar.break_height"]
    assert "above the neck" in problems(KIND, break_height=17.0)["collar.break_height"]
    assert "up to" in problems(KIND, swing=10.0)["collar.swing"]
    assert "collar.fall_back" in problems(KIND, stand_back=1.5, fall_back=9.0)
    narrow = problems(KIND, lapel_width=4.0, fall_back=6.0, swing=0.5)
    assert "or more" in narrow["collar.lapel_width"]


def test_the_shawl_needs_the_block() -> None:
    assert COLLARS[KIND].needs_block
