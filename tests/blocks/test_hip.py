"""The bodice lengthened to the hip: what must hold on every woman, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import degrees

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from blocks.bodice.bodice import BlockWish, BodiceDraft, draft_bodice
from blocks.bodice.making_up import make_up, seams, with_allowances
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.edges import EdgeName
from blocks.hip.checks import hem_width, hip_checks, sewn_waist
from blocks.hip.hip import Lengthened, hip_figures, to_hip
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.piece import MarkKind, Piece, seam_mismatch
from tests.fronts import BODY, METHODS
from tests.strategies import bodies, scrawls


def made(
    taken: dict[str, float],
    chosen: str = "direct-measure",
    *,
    stand: float = 1.75,
    hip_ease: float = 5.0,
    length: float | None = None,
) -> tuple[BodiceDraft, Lengthened]:
    draft = draft_bodice(complete(taken), BlockWish(chosen, button_stand=stand))
    back, front = make_up(draft)
    return draft, to_hip(draft, back, front, hip_ease=hip_ease, length=length)


def curve(piece: Piece, name: EdgeName):  # type: ignore[no-untyped-def]
    (edge,) = piece.named(name)
    return edge.curve


@settings(max_examples=40)
@given(
    taken=bodies(),
    chosen=METHODS,
    stand=st.sampled_from([0.0, 1.75]),
    ease=st.floats(3.0, 10.0),
)
def test_a_womans_bodice_reaches_her_hip(
    taken: dict[str, float], chosen: str, stand: float, ease: float
) -> None:
    draft, long = made(taken, chosen, stand=stand, hip_ease=ease)
    body = draft.body

    for piece in (long.back, long.front):
        ring = Polygon(piece.outline())
        assert ring.is_valid
        assert ring.exterior.is_ccw
        assert not piece.named(EdgeName.WAIST)
        for notch in piece.notches:
            assert 0.0 <= notch.at <= piece.edges[notch.edge].length + 1e-9
        for dart in piece.darts:
            assert piece.edges[dart.mouth].name is EdgeName.DART_MOUTH
            assert piece.edges[dart.mouth].curve.start.to(dart.first) < 1e-6
            assert piece.edges[dart.mouth].curve.end.to(dart.second) < 1e-6
    for seam in seams(draft):
        assert abs(seam_mismatch((long.back, long.front), seam)) < 1e-6
    half = (
        long.back.named(EdgeName.HEM)[0].curve.end.x
        - long.back.named(EdgeName.HEM)[0].curve.start.x
    )
    half += draft.quantities["half_width"] - curve(long.front, EdgeName.HEM).start.x
    assert 2.0 * half == pytest.approx(body["hip_girth"] + ease, abs=1e-6)
    waist = 2.0 * (sewn_waist(long.back) + sewn_waist(long.front))
    assert waist == pytest.approx(body["waist_girth"] + draft.quantities["waist_ease"], abs=0.02)
    assert failed(long.checks) == ()


@settings(max_examples=25)
@given(taken=bodies(), chosen=METHODS)
def test_the_side_seam_is_fair_and_leaves_the_scye_as_it_was(
    taken: dict[str, float], chosen: str
) -> None:
    draft, long = made(taken, chosen)
    waist = draft.waist.joints[draft.waist.side]
    front, back = curve(long.front, EdgeName.SIDE_SEAM), curve(long.back, EdgeName.SIDE_SEAM)
    straight = (waist.right - waist.apex).unit

    assert angle_between(front.start_heading, straight) == pytest.approx(0.0, abs=1e-6)
    assert front.nearest(waist.right)[1] < 1e-6
    assert back.nearest(waist.left)[1] < 1e-6
    assert front.end_heading.x == pytest.approx(0.0, abs=1e-6)  # upright at the hip
    places = front.xy(np.linspace(*front.span, 200))
    above = [Point(*p) for p in places if p[1] > waist.right.y]
    assert max(abs((p - waist.apex).cross(straight)) for p in above) < 0.45
    # Mirror images about the side line, point by point.
    mirrored = back.reversed().xy(np.linspace(*back.span, 200))
    mirrored[:, 0] = 2 * waist.apex.x - mirrored[:, 0]
    assert np.abs(mirrored - places).max() < 1e-9
    # In above the waist, out below it: the bend changes its side once below the waist at most.
    t = np.linspace(front.nearest(waist.right)[0], front.span[1], 120)
    bends = np.sign(np.round(front.curvature(t), 5))
    assert sum(a * b < 0 for a, b in pairwise(bends[bends != 0])) <= 1


@settings(max_examples=25)
@given(taken=bodies(), chosen=METHODS)
def test_waist_darts_are_pointed_at_both_ends_and_lie_inside(
    taken: dict[str, float], chosen: str
) -> None:
    draft, long = made(taken, chosen)
    plain = make_up(draft)
    for before, piece in zip(plain, (long.back, long.front), strict=True):
        area = Polygon(piece.outline())
        darts = [d for d in before.darts if d.name.endswith("waist dart")]
        stitched = {m.label: m.curve for m in piece.marks if m.kind is MarkKind.STITCH}
        assert set(stitched) == {d.name for d in darts}
        assert not any(d.name.endswith("waist dart") for d in piece.darts)
        hem = min(y for _, y in piece.outline())
        for dart in darts:
            tip, first, low, second, closing = (Point(*p) for p in stitched[dart.name].controls)
            assert tip == closing == dart.tip
            assert (first, second) == (dart.first, dart.second)
            assert tip.to(first) == pytest.approx(tip.to(second), abs=1e-9)
            assert low.to(first) == pytest.approx(low.to(second), abs=1e-6)
            assert low.y >= hem + hip_figures()["dart_above_hem"] - 1e-9
            assert area.contains(Polygon(stitched[dart.name].controls))
            drilled = {d.at for d in piece.drills if d.label == dart.name}
            assert drilled == {tip, first, low, second}


def test_darts_end_at_the_usual_depths() -> None:
    """Front 9 to 11, back 12 to 15 below the waist: common practice."""
    draft, long = made(BODY, "bust-proportional")
    waist = -draft.quantities["waist_depth"]
    lows = {
        mark.label: waist - float(mark.curve.controls[:, 1].min())
        for piece in (long.back, long.front)
        for mark in piece.marks
        if mark.kind is MarkKind.STITCH
    }

    assert 9.0 <= lows["front waist dart"] <= 11.0
    assert 12.0 <= lows["back waist dart"] <= 15.0
    assert lows["back side waist dart"] < lows["back waist dart"]
    assert lows["front side waist dart"] < lows["front waist dart"]


@settings(max_examples=25)
@given(taken=bodies(), chosen=METHODS, length=st.floats(12.0, 40.0))
def test_any_length_has_a_hem_square_to_centres_and_sides(
    taken: dict[str, float], chosen: str, length: float
) -> None:
    draft, long = made(taken, chosen, length=length)
    back, front = curve(long.back, EdgeName.HEM), curve(long.front, EdgeName.HEM)
    back_side = curve(long.back, EdgeName.SIDE_SEAM)
    front_side = curve(long.front, EdgeName.SIDE_SEAM)

    def degrees_between(a: Point, b: Point) -> float:
        return degrees(angle_between(a, b))

    centre = long.back.named(EdgeName.CENTRE_BACK)[-1].curve
    assert degrees_between(centre.end_heading, back.start_heading) == pytest.approx(90.0, abs=1e-4)
    assert degrees_between(back.end_heading, back_side.start_heading) == pytest.approx(
        90.0, abs=1e-4
    )
    assert degrees_between(front_side.end_heading, front.start_heading) == pytest.approx(
        90.0, abs=1e-4
    )
    assert front.end_heading.y == pytest.approx(0.0, abs=1e-6)
    drop = draft.quantities["front_waist_drop"]
    level = -draft.quantities["waist_depth"] - length
    assert back.start.y == pytest.approx(level, abs=1e-6)
    assert front.end.y == pytest.approx(level - drop, abs=1e-6)
    (edge,) = long.front.named(EdgeName.FRONT_EDGE)
    assert edge.curve.start.y == pytest.approx(level - drop, abs=1e-6)
    assert failed(long.checks) == ()
    measured = {check.name for check in long.checks}
    assert ("hip" in measured) == (length >= draft.body["waist_to_hip"])


def test_the_waist_line_stays_and_its_notches_meet() -> None:
    for chosen in method_names():
        _, long = made(BODY, chosen)
        back, front = long.back, long.front
        at = {}
        for piece in (back, front):
            for notch in piece.notches:
                if piece.edges[notch.edge].name is EdgeName.SIDE_SEAM:
                    whole = piece.edges[notch.edge].length
                    from_top = whole - notch.at if piece is back else notch.at
                    at.setdefault(notch.name, []).append(from_top)
        assert set(at) == {"side seam", "waist"}
        for name in at:
            assert at[name][0] == pytest.approx(at[name][1], abs=1e-6)
        (mark,) = [m for m in front.marks if m.label == "waist"]
        assert mark.kind is MarkKind.CONSTRUCTION
        centre = next(m.curve for m in front.marks if m.kind is MarkKind.CENTRE_FRONT)
        assert centre.start.to(curve(front, EdgeName.HEM).end) < 1e-6
        on_edge = next(
            n
            for n in front.notches
            if n.name == "waist" and front.edges[n.edge].name is EdgeName.FRONT_EDGE
        )
        assert front.notch_point(on_edge).y == pytest.approx(mark.curve.end.y, abs=1e-6)


def test_a_lengthened_front_on_the_fold_opens() -> None:
    _, long = made(BODY, stand=0.0)
    whole = opened(long.front)

    assert Polygon(whole.outline()).is_valid
    assert whole.length(EdgeName.HEM) == pytest.approx(2 * long.front.length(EdgeName.HEM))


@pytest.mark.parametrize("chosen", method_names())
def test_a_centre_back_seam_goes_on_upright(chosen: str) -> None:
    draft, long = made(BODY, chosen)
    centre = long.back.named(EdgeName.CENTRE_BACK)

    assert centre[-1].curve.end_heading.x == pytest.approx(0.0, abs=1e-9)
    assert centre[-1].curve.end.x == pytest.approx(draft.waist.centre_back.x, abs=1e-9)
    assert all(edge.on_fold for edge in centre) == (chosen == "direct-measure")
    turns = [
        degrees(angle_between(a.curve.end_heading, b.curve.start_heading))
        for a, b in pairwise(centre)
    ]
    assert all(abs(turn) < 3.0 for turn in turns)


def test_the_checks_are_made_on_the_pieces_that_are_cut() -> None:
    draft, long = made(BODY)
    narrow = moved_side(long.front, 1.0)
    found = {c.name: c for c in hip_checks(draft, long.back, narrow, hip_ease=5.0, to_hip=True)}

    assert found["hip"].verdict is Verdict.FAIL
    assert found["hip"].off == pytest.approx(-2.0, abs=1e-6)
    assert found["side seam to the hem: back on front"].verdict is Verdict.FAIL
    assert found["hem square at the side"].verdict is Verdict.PASS
    assert hem_width(narrow) == pytest.approx(hem_width(long.front) - 1.0)


def moved_side(piece: Piece, inwards: float) -> Piece:
    """The front with a straight side seam to a hem narrower by this."""
    edges = list(piece.edges)
    hem, side = edges[0], edges[-1]
    foot = hem.curve.start + Point(inwards, 0.0)
    edges[0] = replace(hem, curve=line(foot, hem.curve.end))
    edges[-1] = replace(side, curve=line(side.curve.start, foot))
    return replace(piece, edges=tuple(edges))


def test_a_waist_dart_left_out_shows_in_the_waist() -> None:
    _, long = made(BODY)
    bare = replace(
        long.front, marks=tuple(m for m in long.front.marks if m.kind is not MarkKind.STITCH)
    )
    dart = next(m.curve for m in long.front.marks if m.kind is MarkKind.STITCH)
    width = Point(*dart.controls[1]).to(Point(*dart.controls[3]))

    assert sewn_waist(bare) - sewn_waist(long.front) == pytest.approx(width, abs=1e-6)


@pytest.mark.parametrize("chosen", method_names())
def test_narrow_hips_and_wide_ones_are_remarked_on(chosen: str) -> None:
    _, narrow = made(BODY | {"bust_girth": 104.0, "waist_girth": 92.0, "hip_girth": 90.0}, chosen)
    assert any("narrower than the waist" in note for note in narrow.notes)
    (said,) = [note for note in narrow.notes if "go in by" in note]
    wanted = float(said.split("with ")[1].split(" cm")[0])
    _, straight = made(
        BODY | {"bust_girth": 104.0, "waist_girth": 92.0, "hip_girth": 90.0},
        chosen,
        hip_ease=wanted,
    )
    side = curve(straight.front, EdgeName.SIDE_SEAM)
    assert not any("go in by" in note for note in straight.notes)
    waist = next(n for n in straight.front.notches if n.name == "waist")
    assert straight.front.notch_point(waist).x == pytest.approx(side.end.x, abs=0.03)

    _, wide = made(BODY | {"hip_girth": 126.0}, chosen)
    assert any("swing out" in note for note in wide.notes)


@pytest.mark.parametrize("chosen", method_names())
def test_what_cannot_be_lengthened_is_refused(chosen: str) -> None:
    with pytest.raises(DraftError, match="would swing out by"):
        made(BODY | {"hip_girth": 150.0}, chosen)
    with pytest.raises(DraftError, match="would swing in by"):
        made(BODY | {"bust_girth": 110.0, "hip_girth": 62.0, "waist_to_hip": 10.0}, chosen)
    for length in (0.0, -3.0, 80.0, 1.0, 5.0, float("nan")):
        with pytest.raises(DraftError) as caught:
            made(BODY, chosen, length=length)
        assert caught.value.problems[0].key == "length"
        assert caught.value.problems[0].accepted


def test_a_piece_whose_waist_was_changed_is_refused() -> None:
    draft = draft_bodice(complete(BODY), BlockWish("direct-measure", button_stand=1.75))
    back, front = make_up(draft)
    _, long = made(BODY)
    with pytest.raises(DraftError, match="no longer the waist"):
        to_hip(draft, long.back, front, hip_ease=5.0)
    bust = next(d for d in front.darts if d.name == "bust dart")
    waist = front.darts[0]
    odd = replace(front, darts=(replace(waist, name=bust.name), *front.darts[1:]))
    with pytest.raises(DraftError, match=r"Front bodice: .*first, then move its darts"):
        to_hip(draft, back, odd, hip_ease=5.0)


def test_the_button_stand_takes_the_allowance_of_the_hem() -> None:
    widths = {EdgeName.HEM: 2.5, EdgeName.WAIST: 1.2, EdgeName.NECKLINE: 0.6}
    draft, long = made(BODY)
    _, short = make_up(draft)
    for piece, low in ((long.front, 2.5), (short, 1.2)):
        ends = with_allowances(piece, widths, 1.0).named(EdgeName.BUTTON_STAND_END)
        assert [edge.allowance for edge in ends] == [low, 0.6]
    assert with_allowances(long.back, widths, 1.0).named(EdgeName.HEM)[0].allowance == 2.5


@settings(max_examples=120)
@given(
    taken=scrawls(),
    chosen=METHODS,
    ease=st.floats(0.0, 40.0),
    length=st.none() | st.floats(1.0, 45.0),
)
def test_any_measurements_a_card_accepts_lengthen_or_are_refused_with_a_reason(
    taken: dict[str, float], chosen: str, ease: float, length: float | None
) -> None:
    try:
        draft, long = made(taken, chosen, hip_ease=ease, length=length)
    except DraftError as error:
        assert all(problem.said for problem in error.problems)
        return
    assert all(Polygon(p.outline()).exterior.is_ccw for p in (long.back, long.front))
    for seam in seams(draft):
        assert abs(seam_mismatch((long.back, long.front), seam)) < 1e-6
    assert failed(long.checks) == ()


@pytest.mark.parametrize("ease", [-1.0, 41.0, float("nan"), float("inf")])
def test_an_ease_nobody_cuts_is_refused(ease: float) -> None:
    with pytest.raises(DraftError) as caught:
        made(BODY, hip_ease=ease)
    assert caught.value.problems[0].key == "hip_ease"
