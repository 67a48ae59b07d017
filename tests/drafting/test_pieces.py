"""Pieces: rings of named edges, darts that close, seams that match."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import pi, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blocks.edges import EdgeName
from drafting.geometry.curves import angle_between, line, polyline, through
from drafting.geometry.points import FloatArray, Move, Point
from drafting.pieces.piece import (
    CutPlan,
    Dart,
    Edge,
    Notch,
    Piece,
    Seam,
    Stretch,
    one_curve,
    ring,
    seam_mismatch,
    stretch_length,
)
from tests import shapes

#: Apex and half opening of the darts of :func:`two_darts`, and where their first legs stand.
APEX_HEIGHT, HALF, AT = 6.0, 0.1, (4.0, 10.0)


def two_darts() -> Piece:
    """A block 20 wide and 12 high whose straight waist is opened by two equal darts: shut, the
    waist is a straight line again."""
    waist_to = 20.0
    edges: list[Edge] = []
    darts: list[Dart] = []
    at, along = Point(0.0, 0.0), Point(1.0, 0.0)
    done = 0.0
    for k, stop in enumerate(AT):
        foot = at + along * (stop - done)
        edges.append(Edge(EdgeName.WAIST, line(at, foot)))
        apex = foot + along.left * APEX_HEIGHT
        second = foot.turned(2 * HALF, apex)
        edges.append(Edge(EdgeName.DART_MOUTH, polyline((foot, foot.towards(second, 0.5), second))))
        darts.append(Dart(f"dart {k}", apex, apex, foot, second, len(edges) - 1))
        at, along, done = second, along.turned(2 * HALF), stop
    end = at + along * (waist_to - done)
    top = end + along.left * 12.0
    edges += [
        Edge(EdgeName.WAIST, line(at, end)),
        Edge(EdgeName.SIDE_SEAM, line(end, top)),
        Edge(EdgeName.SHOULDER, line(top, Point(0.0, 12.0))),
        Edge(EdgeName.CENTRE_BACK, line(Point(0.0, 12.0), Point(0.0, 0.0)), on_fold=True),
    ]
    return Piece("TWO", "Two darts", tuple(edges), CutPlan(), (at, end), tuple(darts))


def area(xy: FloatArray) -> float:
    x, y = xy.T
    return float(0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def test_edges_that_do_not_meet_are_refused() -> None:
    edges = list(shapes.square().edges)
    edges[1] = replace(edges[1], curve=line(Point(10.0, 1e-5), Point(10.0, 10.0)))

    with pytest.raises(ValueError, match=r"POLY: outer edge ends 1\.00e-05 cm from the start"):
        Piece("POLY", "Polygon", tuple(edges), CutPlan(), (Point(0, 0), Point(1, 1)))


def test_a_ring_must_close() -> None:
    edges = shapes.square().edges[:-1]

    with pytest.raises(ValueError, match="from the start of outer edge"):
        Piece("OPEN", "Open", edges, CutPlan(), (Point(0, 0), Point(1, 1)))


@pytest.mark.parametrize("piece", shapes.all_pieces(), ids=lambda piece: piece.code)
def test_sample_pieces_run_counter_clockwise(piece: Piece) -> None:
    assert area(piece.outline()) > 0.0


def test_named_edges_their_length_and_place() -> None:
    front = shapes.front()

    assert [edge.name for edge in front.named(EdgeName.SCYE)] == [EdgeName.SCYE] * 2
    assert front.place(EdgeName.SCYE) == 6
    assert front.length(EdgeName.SHOULDER) == pytest.approx(np.hypot(11.0, 4.0), abs=1e-12)
    scyes = [front.edges[6].length, front.edges[8].length]
    assert front.length(EdgeName.SCYE) == pytest.approx(sum(scyes), abs=1e-12)
    assert front.named(EdgeName.GORGE) == ()
    assert front.length(EdgeName.GORGE) == 0
    with pytest.raises(KeyError, match="FRONT has no edge called gorge"):
        front.place(EdgeName.GORGE)


def test_a_dart_knows_its_measures() -> None:
    dart = two_darts().darts[0]

    assert dart.angle == pytest.approx(2 * HALF, abs=1e-14)
    assert dart.width == pytest.approx(2 * APEX_HEIGHT * sin(HALF), abs=1e-13)
    assert dart.legs == pytest.approx((APEX_HEIGHT, APEX_HEIGHT), abs=1e-13)


def test_a_dart_that_points_left_closes_the_short_way() -> None:
    apex = Point(0.0, 0.0)
    first, second = Point(-5.0, 0.2), Point(-5.0, -0.2)
    dart = Dart("left", apex, apex, first, second, 0)

    assert dart.angle == pytest.approx(2 * np.arctan(0.04), abs=1e-14)
    assert dart.closing()(second).to(first) < 1e-12


@pytest.mark.parametrize("piece", [shapes.front(), shapes.back(), two_darts()])
def test_closing_lays_the_second_leg_on_the_first(piece: Piece) -> None:
    for dart in piece.darts:
        close = dart.closing()

        assert close(dart.apex).to(dart.apex) < 1e-12
        shut = close(dart.second) - dart.apex
        assert abs(angle_between(shut, dart.first - dart.apex)) < 1e-12


def test_a_seam_closed_over_two_darts_is_one_line() -> None:
    curves = two_darts().seam_closed(EdgeName.WAIST)

    assert len(curves) == 3
    for a, b in pairwise(curves):
        assert a.end.to(b.start) < 1e-12
    assert curves[0].start == Point(0.0, 0.0)
    assert curves[-1].end.to(Point(20.0, 0.0)) < 1e-11
    assert all(abs(c.start_heading.angle) < 1e-12 for c in curves)


def test_a_seam_after_the_darts_of_another_stays_where_it_is() -> None:
    piece = two_darts()
    [side] = piece.seam_closed(EdgeName.SIDE_SEAM)

    assert side.start.to(piece.named(EdgeName.SIDE_SEAM)[0].curve.start) < 1e-12


def test_outline_is_closed_without_repeating_a_point() -> None:
    xy = shapes.square(10.0).outline()

    assert xy.tolist() == [[0, 0], [10, 0], [10, 10], [0, 10]]
    disc = shapes.circle(3.0, 1.0).outline(0.001)
    assert area(disc) == pytest.approx(9 * pi, rel=1e-3)
    assert np.hypot(*(np.roll(disc, -1, axis=0) - disc).T).min() > 0.0


def test_a_notch_stands_where_its_arc_length_says() -> None:
    piece = shapes.square(10.0)

    assert piece.notch_point(Notch("side", 1, 2.5)) == Point(10.0, 2.5)
    yoke = shapes.yoke()
    on_hem = yoke.notch_point(yoke.notches[0])
    hem = yoke.edges[1].curve
    assert hem.length_to(hem.nearest(on_hem)[0]) == pytest.approx(9.0, abs=1e-8)


@given(st.floats(-pi, pi), st.floats(-50, 50), st.floats(-50, 50))
def test_a_moved_piece_keeps_all_its_measures(angle: float, x: float, y: float) -> None:
    move, front = Move(angle, Point(x, y)), replace(shapes.front(), label_at=Point(20.0, 10.0))
    moved = front.moved(move)

    for name in EdgeName:
        assert moved.length(name) == pytest.approx(front.length(name), abs=1e-8)
    assert area(moved.outline()) == pytest.approx(area(front.outline()), abs=1e-6)
    for dart, before in zip(moved.darts, front.darts, strict=True):
        assert dart.angle == pytest.approx(before.angle, abs=1e-11)
        assert dart.legs == pytest.approx(before.legs, abs=1e-11)
        assert dart.tip.to(move(before.tip)) < 1e-11
    for notch in front.notches:
        assert moved.notch_point(notch).to(move(front.notch_point(notch))) < 1e-8
    assert moved.grain == (move(front.grain[0]), move(front.grain[1]))
    assert moved.label_at == move(Point(20.0, 10.0))
    assert [drill.at for drill in moved.drills] == [move(drill.at) for drill in front.drills]
    for mark, old in zip(moved.marks, front.marks, strict=True):
        assert mark.curve.start.to(move(old.curve.start)) < 1e-11


def test_a_piece_without_label_place_stays_without() -> None:
    assert shapes.square().moved(Move(0.2)).label_at is None


def test_a_piece_is_never_mirrored() -> None:
    with pytest.raises(ValueError, match="clockwise"):
        shapes.square().moved(Move(mirrored=True))


def test_allowances_by_name_and_none_on_a_fold() -> None:
    yoke = shapes.yoke().with_allowances({EdgeName.HEM: 3.0, EdgeName.CENTRE_FRONT: 2.0}, 1.2)

    assert [edge.allowance for edge in yoke.edges] == [0.0, 3.0, 1.2, 1.2]


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (CutPlan(), "cut 1"),
        (CutPlan(2, mirrored_pair=True), "cut 2 (a pair)"),
        (CutPlan(2, 1, on_fold=True), "cut 2 on fold, interfacing 1"),
        (CutPlan(1, 1, 2), "cut 1, lining 2, interfacing 1"),
    ],
)
def test_cut_plan_in_words(plan: CutPlan, words: str) -> None:
    assert plan.words() == words


def test_stretches_and_seams() -> None:
    pieces = (shapes.front(), shapes.back())
    front, back = pieces
    scye = Stretch("FRONT", EdgeName.SCYE)
    lower = Stretch("FRONT", EdgeName.SCYE, 1)
    shoulder = Seam(
        "shoulder", Stretch("BACK", EdgeName.SHOULDER), Stretch("FRONT", EdgeName.SHOULDER), 0.5
    )

    assert stretch_length(pieces, scye) == front.length(EdgeName.SCYE)
    assert stretch_length(pieces, lower) == front.edges[8].length
    gap = back.length(EdgeName.SHOULDER) - front.length(EdgeName.SHOULDER)
    assert seam_mismatch(pieces, shoulder) == pytest.approx(gap - 0.5, abs=1e-12)
    assert seam_mismatch(iter(pieces), shoulder) == pytest.approx(gap - 0.5, abs=1e-12)


@pytest.mark.parametrize(
    ("stretch", "said"),
    [
        (Stretch("SLEEVE", EdgeName.SCYE), "no piece SLEEVE"),
        (Stretch("FRONT", EdgeName.GORGE), "FRONT has no gorge"),
        (Stretch("FRONT", EdgeName.SCYE, 2), "FRONT has no armhole 2"),
        (Stretch("FRONT", EdgeName.SCYE, -1), "FRONT has no armhole -1"),
    ],
)
def test_a_stretch_that_is_not_there_is_told(stretch: Stretch, said: str) -> None:
    with pytest.raises(KeyError, match=said):
        stretch_length((shapes.front(), shapes.back()), stretch)


def test_ring_flattens_and_leaves_out_what_has_no_length() -> None:
    a, b, c = Point(0, 0), Point(4, 0), Point(4, 3)
    first, second = Edge(EdgeName.WAIST, line(a, b)), Edge(EdgeName.HEM, line(b, c))
    nothing = Edge(EdgeName.SIDE_SEAM, line(c, c))
    back = Edge(EdgeName.SCYE, line(c, a))

    assert ring([first, second], nothing, back) == (first, second, back)


def test_ring_keeps_an_edge_that_ends_where_it_starts() -> None:
    round_ = Edge(
        EdgeName.OUTER_EDGE, through([Point(0, 0), Point(3, 0), Point(2, 3), Point(0, 0)])
    )

    assert ring(round_) == (round_,)


def test_one_curve_of_edges_in_a_row() -> None:
    edges = shapes.square(10.0).edges[:3]
    whole = one_curve(edges)

    assert whole.length == pytest.approx(30.0, abs=1e-12)
    assert (whole.start, whole.end) == (Point(0, 0), Point(0, 10))
