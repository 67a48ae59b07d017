"""Points, directions and rigid moves."""

from __future__ import annotations

from math import hypot, isclose, pi

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drafting.geometry.points import Move, Point, array, crossing, direction

coordinate = st.floats(-100.0, 100.0)
points = st.builds(Point, coordinate, coordinate)
angles = st.floats(-7.0, 7.0)
moves = st.builds(Move, angles, points, st.booleans())


def same(a: Point, b: Point, within: float = 1e-11) -> bool:
    return a.to(b) <= within


def test_steps_add_and_scale() -> None:
    a, b = Point(1.0, 2.0), Point(4.0, 6.0)

    assert b - a == Point(3.0, 4.0)
    assert a + Point(3.0, 4.0) == b
    assert 2 * a == a * 2.0 == Point(2.0, 4.0)
    assert -a == Point(-1.0, -2.0)
    assert abs(b - a) == a.to(b) == 5.0
    assert tuple(a) == (1.0, 2.0)
    assert (b - a).unit == Point(0.6, 0.8)
    assert a.towards(b, 0.5) == Point(2.5, 4.0)


def test_left_right_cross_and_dot_have_the_right_signs() -> None:
    along, up = Point(1.0, 0.0), Point(0.0, 1.0)

    assert (along.left, along.right) == (up, -up)
    assert (along.cross(up), up.cross(along)) == (1.0, -1.0)
    assert (along.dot(up), along.dot(along)) == (0.0, 1.0)
    assert up.angle == pi / 2
    assert Point(-1.0, 0.0).angle == pi


def test_no_step_at_all_has_no_direction() -> None:
    with pytest.raises(ZeroDivisionError):
        _ = Point(0.0, 0.0).unit


def test_turned_about_the_origin_and_about_a_centre() -> None:
    assert same(Point(1.0, 0.0).turned(pi / 2), Point(0.0, 1.0))
    assert same(Point(3.0, 1.0).turned(pi / 2, Point(2.0, 1.0)), Point(2.0, 2.0))
    # the origin itself as a centre, and a turn to the right
    assert same(Point(0.0, 2.0).turned(-pi / 2, Point(0.0, 0.0)), Point(2.0, 0.0))


def test_crossing_of_two_lines() -> None:
    at = crossing(Point(0.0, 0.0), Point(1.0, 1.0), Point(4.0, 0.0), Point(0.0, -3.0))

    assert at is not None
    assert same(at, Point(4.0, 4.0))


@pytest.mark.parametrize("along", [Point(2.0, 1.0), Point(-4.0, -2.0), Point(0.0, 0.0)])
def test_parallel_lines_do_not_cross(along: Point) -> None:
    assert crossing(Point(0.0, 0.0), Point(2.0, 1.0), Point(0.0, 1.0), along) is None


@given(points, angles, points, angles)
def test_a_crossing_lies_on_both_lines(p: Point, a: float, q: Point, b: float) -> None:
    u, v = direction(a), direction(b)
    assume(abs(u.cross(v)) > 0.01)

    at = crossing(p, u, q, v)

    assert at is not None
    assert abs(u.cross(at - p)) < 1e-9
    assert abs(v.cross(at - q)) < 1e-9


def test_array_of_points() -> None:
    assert array([Point(1.0, 2.0), Point(3.0, 4.0)]).tolist() == [[1.0, 2.0], [3.0, 4.0]]
    assert array([]).shape == (0, 2)


@given(moves, points, points)
def test_moves_keep_distances(move: Move, p: Point, q: Point) -> None:
    assert isclose(move(p).to(move(q)), p.to(q), abs_tol=1e-11)


@given(moves, points)
def test_back_undoes(move: Move, p: Point) -> None:
    assert same(move.back(move(p)), p)
    assert same(move(move.back(p)), p)


@given(moves, moves, points)
def test_then_is_one_after_the_other(first: Move, second: Move, p: Point) -> None:
    assert same(first.then(second)(p), second(first(p)))


@given(moves, moves, moves, points)
def test_back_of_a_chain_runs_it_backwards(a: Move, b: Move, c: Move, p: Point) -> None:
    chain = a.then(b).then(c)

    assert same(chain.back(p), a.back(b.back(c.back(p))))


@given(points, points, points, points)
def test_carrying_lays_point_on_point_and_line_on_line(
    a: Point, b: Point, to_a: Point, to_b: Point
) -> None:
    assume(a.to(b) > 0.01)
    assume(to_a.to(to_b) > 0.01)

    move = Move.carrying(a, b, to_a, to_b)

    assert same(move(a), to_a)
    assert same(move(b), to_a + (to_b - to_a).unit * a.to(b), 1e-10)
    assert not move.mirrored


@given(points, angles)
def test_a_turn_about_a_point_leaves_it(centre: Point, angle: float) -> None:
    move = Move.about(centre, angle)

    assert same(move(centre), centre)
    beside = Point(centre.x + 1.0, centre.y)
    assert same(move(beside), centre + direction(angle))


@given(moves, points, points)
def test_steps_and_arrays_move_like_points(move: Move, p: Point, q: Point) -> None:
    assert same(move.step(q - p), move(q) - move(p))
    assert np.allclose(move.apply(array([p, q])), array([move(p), move(q)]), rtol=0, atol=1e-12)


def test_a_mirrored_move_swaps_left_and_right() -> None:
    move = Move(0.3, Point(2.0, -1.0), mirrored=True)
    along, left = Point(1.0, 0.0), Point(0.0, 1.0)

    assert move.step(along).cross(move.step(left)) == pytest.approx(-1.0, abs=1e-15)
    assert Move(0.3).step(along).cross(Move(0.3).step(left)) == pytest.approx(1.0, abs=1e-15)


def test_size_of_a_step_far_out_does_not_overflow() -> None:
    assert abs(Point(3e200, 4e200)) == hypot(3e200, 4e200) < float("inf")
