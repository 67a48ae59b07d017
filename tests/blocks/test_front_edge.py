"""Button stand, hem and facing: the facing is the front itself, traced or folded under."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import degrees, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from blocks.bodice.making_up import FRONT, with_allowances
from blocks.bodice.methods import method_names
from blocks.edges import EdgeName
from blocks.finishing.buttonholes import with_buttonholes
from blocks.finishing.facing import FACING, faced_front
from blocks.finishing.front_edge import button_stand_for, figures, hem_depth
from drafting.errors import DraftError
from drafting.geometry.curves import Curve, angle_between, line, polyline
from drafting.geometry.points import Point
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Dart, Edge, MarkKind, Piece, seam_mismatch
from tests.fronts import BODY, METHODS, drafted_front
from tests.strategies import bodies


def front_of(
    taken: dict[str, float] = BODY,
    chosen: str = "direct-measure",
    *,
    long: bool = False,
    stand: float = 1.6,
) -> Piece:
    return drafted_front(taken, chosen, long=long, stand=stand)


def curve(piece: Piece, name: EdgeName) -> Curve:
    (edge,) = piece.named(name)
    return edge.curve


# ---- button stand and hem ----------------------------------------------------------------------


@pytest.mark.parametrize("button", [1.0, 1.15])
def test_shirt_buttons_get_the_published_stands(button: float) -> None:
    """Three quarters of the button and 0.5 to 1 (studopedia.ru/26_91401); half the button and 1.27
    (sewdaily.com, sailor collar). A shirt button of 1.0 to 1.15 so gets 1.3 to 1.9."""
    usual, other = button_stand_for(button), button_stand_for(button, "half")

    assert 0.75 * button + 0.5 <= usual <= 0.75 * button + 1.0
    assert other == pytest.approx(button / 2 + 1.27)
    assert 1.3 <= usual <= 1.9
    assert 1.3 <= other <= 1.9


def test_a_button_of_no_size_and_an_unknown_rule_are_both_said() -> None:
    with pytest.raises(DraftError) as caught:
        button_stand_for(9.0, "by eye")
    assert len(caught.value.problems) == 2
    assert all(problem.accepted for problem in caught.value.problems)


def test_a_hem_is_two_to_three_deep() -> None:
    """2 to 3 is common practice for a blouse."""
    usual, notes = hem_depth()
    assert 2.0 <= usual <= 3.0
    assert notes == ()
    assert hem_depth(2.2) == (2.2, ())
    for depth, word in ((0.7, "narrow"), (5.0, "deep")):
        kept, (said,) = hem_depth(depth)
        assert kept == depth
        assert word in said
    for depth in (-1.0, 12.0, float("nan")):
        with pytest.raises(DraftError):
            hem_depth(depth)


def test_the_hem_of_a_faced_front_turns_up_by_its_own_depth() -> None:
    widths = {EdgeName.HEM: 2.5, EdgeName.FACING_EDGE: 0.5, EdgeName.NECK_SEAM: 0.6}
    widths[EdgeName.NECKLINE] = 0.6
    cut_on = faced_front(front_of(long=True), kind="cut on", width_hem=5.0).front
    done = with_allowances(cut_on, widths, 1.0)
    *low, high = done.named(EdgeName.BUTTON_STAND_END)

    assert [edge.allowance for edge in low] == [2.5, 2.5, 2.5]
    assert high.allowance == 0.6
    assert done.named(EdgeName.FACING_EDGE)[0].allowance == 0.5
    # All along the hem, and under the facing, the cloth reaches the same 2.5 below the sew line.
    area = cut_line(done).polygon()
    for edge in (*done.named(EdgeName.HEM), *low):
        at = edge.curve.at_length(edge.length / 2)
        down = LineString([tuple(at), (at.x, at.y - 10.0)]).intersection(area).length
        assert down == pytest.approx(2.5, abs=0.01)


# ---- facings -----------------------------------------------------------------------------------


@settings(max_examples=30)
@given(
    taken=bodies(),
    chosen=METHODS,
    long=st.booleans(),
    shoulder=st.sampled_from([0.0, 3.0, 3.5, 4.0]),
    hem=st.floats(5.0, 7.0),
)
def test_a_separate_facing_is_the_front_itself(
    taken: dict[str, float], chosen: str, long: bool, shoulder: float, hem: float
) -> None:
    front = front_of(taken, chosen, long=long)
    faced = faced_front(front, kind="separate", width_shoulder=shoulder, width_hem=hem)
    (facing,) = faced.pieces

    assert faced.front is front
    assert facing.code == FACING
    ring = Polygon(facing.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    assert Polygon(front.outline()).buffer(0.005).contains(ring)
    sewn = {seam.first.edge: seam.first for seam in faced.seams}
    assert set(sewn) == {EdgeName.FRONT_EDGE, EdgeName.BUTTON_STAND_END, EdgeName.NECKLINE}
    assert sewn[EdgeName.BUTTON_STAND_END].index == 1  # the lower end goes into the hem
    assert (sewn[EdgeName.NECKLINE].end is None) == (shoulder > 0.0)
    for seam in faced.seams:
        assert abs(seam_mismatch((front, facing), seam)) < 1e-6
    assert failed(faced.checks) == ()
    bottom = facing.edges[0]
    assert bottom.name is (EdgeName.HEM if long else EdgeName.WAIST)
    edge_x = curve(front, EdgeName.FRONT_EDGE).start.x
    assert edge_x - bottom.curve.start.x == pytest.approx(hem, abs=1e-6)
    inner = curve(facing, EdgeName.FACING_EDGE)
    assert inner.end_heading.x == pytest.approx(0.0, abs=1e-6)
    if shoulder > 0.0:
        along = curve(facing, EdgeName.SHOULDER)
        assert along.length == pytest.approx(shoulder, abs=1e-6)
        square = angle_between(along.end_heading, inner.start_heading)
        assert square == pytest.approx(pi / 2, abs=1e-6)
    for notch in facing.notches:
        assert 0.0 <= notch.at <= facing.edges[notch.edge].length + 1e-9
        if notch.name == "centre front":
            assert facing.notch_point(notch).x == pytest.approx(edge_x - 1.6, abs=1e-6)
    assert {"centre front"} <= {notch.name for notch in facing.notches}


@settings(max_examples=25)
@given(
    taken=bodies(),
    chosen=METHODS,
    long=st.booleans(),
    shoulder=st.sampled_from([0.0, 3.5]),
    hem=st.floats(4.0, 7.0),
)
def test_a_facing_cut_on_lies_under_the_front_once_folded(
    taken: dict[str, float], chosen: str, long: bool, shoulder: float, hem: float
) -> None:
    front = front_of(taken, chosen, long=long)
    faced = faced_front(front, kind="cut on", width_shoulder=shoulder, width_hem=hem)
    grown = faced.front

    assert faced.pieces == ()
    assert {s.second.edge for s in faced.seams} == {EdgeName.NECKLINE, EdgeName.BUTTON_STAND_END}
    assert all(abs(seam_mismatch((grown,), seam)) < 1e-6 for seam in faced.seams)
    assert failed(faced.checks) == ()
    ring = Polygon(grown.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    assert not grown.named(EdgeName.FRONT_EDGE)
    (fold,) = [m.curve for m in grown.marks if m.kind is MarkKind.FOLD]
    was = curve(front, EdgeName.FRONT_EDGE)
    assert fold.start.to(was.start) < 1e-9
    assert fold.end.to(was.end) < 1e-9
    # Folded back about the old front edge, all cloth beyond it lies inside the front.
    x = was.start.x
    outline = grown.outline()
    beyond = outline[outline[:, 0] >= x - 1e-9]
    beyond[:, 0] = 2 * x - beyond[:, 0]
    under = Polygon(beyond)
    old = Polygon(front.outline())
    assert old.buffer(0.005).contains(under)
    assert ring.area == pytest.approx(old.area + under.area, abs=0.05)
    for name in (EdgeName.NECKLINE, EdgeName.SHOULDER, EdgeName.SCYE, EdgeName.SIDE_SEAM):
        assert grown.length(name) == front.length(name)
    assert grown.length(EdgeName.WAIST) == front.length(EdgeName.WAIST)
    assert grown.length(EdgeName.HEM) == front.length(EdgeName.HEM)
    for dart in grown.darts:
        assert grown.edges[dart.mouth].curve.start.to(dart.first) < 1e-6
        assert grown.edges[dart.mouth].curve.end.to(dart.second) < 1e-6
    at = {n.name: front.notch_point(n) for n in front.notches if n.name != "waist"}
    for notch in grown.notches:
        if notch.name in at and notch.name not in ("centre front", "fold"):
            assert grown.notch_point(notch).to(at[notch.name]) < 1e-6
        if notch.name == "fold":
            assert min(grown.notch_point(notch).to(p) for p in (fold.start, fold.end)) < 1e-6
    assert sum(notch.name == "fold" for notch in grown.notches) == 2


def test_without_a_facing_the_front_is_as_it_was() -> None:
    front = front_of()
    faced = faced_front(front, kind="none")
    assert faced.front is front
    assert (faced.pieces, faced.seams, faced.checks, faced.notes) == ((), (), (), ())


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize("long", [False, True])
def test_the_usual_facing_is_three_to_four_at_the_shoulder_and_six_to_seven_at_the_hem(
    chosen: str, long: bool
) -> None:
    """Both are common practice."""
    front = front_of(chosen=chosen, long=long)
    (facing,) = faced_front(front, kind="separate").pieces

    assert 3.0 <= facing.length(EdgeName.SHOULDER) <= 4.0
    width = curve(facing, EdgeName.FRONT_EDGE).start.x - curve(facing, EdgeName.FACING_EDGE).end.x
    assert 6.0 <= width <= 7.0
    # The inner edge is fair: no corner anywhere along it.
    inner = curve(facing, EdgeName.FACING_EDGE)
    places = inner.samples(24)
    turns = [
        degrees(angle_between(inner.heading(float(a)), inner.heading(float(b))))
        for a, b in pairwise(places)
    ]
    assert max(map(abs, turns)) < 4.0


def test_the_checks_see_a_facing_that_is_narrow_or_ends_in_a_buttonhole() -> None:
    front = with_buttonholes(front_of(long=True), button=2.5).front
    names = {c.name: c for c in faced_front(front, kind="separate", width_hem=3.2).checks}
    assert names["facing beyond the buttonholes"].verdict is Verdict.NOTE
    assert names["facing beyond the buttonholes"].measured < figures("facing")["past_buttonhole"]
    wide = {c.name: c for c in faced_front(front, kind="separate", width_hem=7.0).checks}
    assert wide["facing beyond the buttonholes"].verdict is Verdict.PASS
    narrow = {c.name: c for c in faced_front(front, kind="separate", width_shoulder=1.6).checks}
    assert narrow["facing, least width at the neckline"].verdict is Verdict.NOTE


# ---- what stands in the way --------------------------------------------------------------------


def test_a_front_on_the_fold_has_no_edge_to_face() -> None:
    for kind in ("cut on", "separate"):
        with pytest.raises(DraftError, match="lies on the fold"):
            faced_front(front_of(stand=0.0), kind=kind)
    with pytest.raises(DraftError, match="not faced this way"):
        faced_front(front_of(), kind="bias")
    once = faced_front(front_of(), kind="cut on").front
    with pytest.raises(DraftError, match="no front edge to face"):
        faced_front(once, kind="cut on")


@pytest.mark.parametrize(
    ("kind", "shoulder", "hem", "keys"),
    [
        ("separate", 3.5, 1.7, ["width_hem"]),
        ("separate", 3.5, 60.0, ["width_hem"]),
        ("separate", 0.4, 6.5, ["width_shoulder"]),
        ("separate", 30.0, 1.7, ["width_hem", "width_shoulder"]),
        ("cut on", 0.0, 9.2, ["width_hem"]),
    ],
)
def test_widths_that_do_not_fit_are_refused(
    kind: str, shoulder: float, hem: float, keys: list[str]
) -> None:
    with pytest.raises(DraftError) as caught:
        faced_front(front_of(), kind=kind, width_shoulder=shoulder, width_hem=hem)
    assert [problem.key for problem in caught.value.problems] == keys
    assert all(problem.accepted for problem in caught.value.problems)


def dart_cut_into(front: Piece, name: EdgeName, start: float, width: float = 1.0) -> Piece:
    """The front with a dart opening into an edge, ``start`` along it."""
    place = front.place(name)
    edge = front.edges[place]
    first, second = edge.curve.at_length(start), edge.curve.at_length(start + width)
    before, rest = edge.curve.split_at_length(start)
    _, after = rest.split_at_length(width)
    run = [
        replace(edge, curve=before),
        Edge(EdgeName.DART_MOUTH, polyline((first, second))),
        replace(edge, curve=after),
    ]
    apex = first.towards(second, 0.5) + (second - first).unit.left * 8.0
    darts = [
        replace(dart, mouth=dart.mouth + (2 if dart.mouth > place else 0)) for dart in front.darts
    ]
    darts.append(Dart("bust dart", apex, apex, first, second, place + 1))
    notches = tuple(
        replace(notch, edge=notch.edge + (2 if notch.edge > place else 0))
        for notch in front.notches
        if notch.edge != place or notch.at <= start
    )
    edges = (*front.edges[:place], *run, *front.edges[place + 1 :])
    return replace(front, edges=edges, darts=tuple(darts), notches=notches)


def test_a_dart_in_the_shoulder_limits_the_facing() -> None:
    front = front_of(long=True)
    darted = dart_cut_into(front, EdgeName.SHOULDER, 5.0)
    (facing,) = faced_front(darted, kind="separate", width_shoulder=3.5).pieces
    (plain,) = faced_front(front, kind="separate", width_shoulder=3.5).pieces
    assert Polygon(facing.outline()).symmetric_difference(Polygon(plain.outline())).area < 1e-6

    near = dart_cut_into(front, EdgeName.SHOULDER, 3.0)
    for kind in ("separate", "cut on"):
        with pytest.raises(DraftError, match="a dart opens into the shoulder") as caught:
            faced_front(near, kind=kind, width_shoulder=3.5)
        assert "to 3.0 cm" in caught.value.problems[0].accepted
    assert faced_front(near, kind="cut on").front.length(EdgeName.NECK_SEAM) > 0.0


def test_a_dart_in_neckline_front_edge_or_hem_is_refused_with_the_reason() -> None:
    front = front_of(long=True)
    for name, said in ((EdgeName.NECKLINE, "neckline"), (EdgeName.FRONT_EDGE, "front edge")):
        with pytest.raises(DraftError, match=f"in the {said} interrupts the facing"):
            faced_front(dart_cut_into(front, name, 4.0), kind="separate")
    whole = curve(front, EdgeName.HEM).length
    near = dart_cut_into(front, EdgeName.HEM, whole - 4.5)
    with pytest.raises(DraftError, match="wide at the hem"):
        faced_front(near, kind="separate")
    far = dart_cut_into(front, EdgeName.HEM, whole - 12.0)
    assert failed(faced_front(far, kind="separate").checks) == ()


def lapel_front() -> Piece:
    """A front whose edge leans out above the bust into a lapel with a straight gorge."""
    front = front_of(long=True)
    place = front.place(EdgeName.FRONT_EDGE)
    edge, neckline = front.edges[place].curve, curve(front, EdgeName.NECKLINE)
    roll = Point(edge.start.x, -2.0)
    tip = Point(edge.start.x + 2.0, edge.end.y + 1.0)
    run = [
        Edge(EdgeName.FRONT_EDGE, line(edge.start, roll)),
        Edge(EdgeName.LAPEL_EDGE, line(roll, tip)),
        Edge(EdgeName.GORGE, line(tip, neckline.end)),
    ]
    kept = tuple(n for n in front.notches if n.edge < place)
    return replace(
        front,
        edges=(*front.edges[:place], *run, *front.edges[place + 3 :]),
        notches=kept,
        darts=(),
    )


def test_a_lapels_facing_follows_lapel_and_gorge() -> None:
    front = lapel_front()
    faced = faced_front(front, kind="separate", width_hem=7.0)
    for name in (EdgeName.FRONT_EDGE, EdgeName.LAPEL_EDGE, EdgeName.GORGE):
        assert faced.pieces[0].length(name) == pytest.approx(front.length(name), abs=1e-9)
    assert {seam.first.edge for seam in faced.seams} >= {EdgeName.LAPEL_EDGE, EdgeName.GORGE}
    assert all(seam.first.piece == FRONT for seam in faced.seams)
    assert failed(faced.checks) == ()
    with pytest.raises(DraftError, match="cannot be a fold"):
        faced_front(front, kind="cut on", width_shoulder=3.5, width_hem=7.0)
