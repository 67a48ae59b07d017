"""Pieces laid on the table: apart, in order, not turned, the same every time."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.drawing.table_layout import GAP, Placed, extent, lay_out
from drafting.geometry.points import Move, Point
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Piece
from tests import shapes


def cloth(one: Placed) -> shapely.Polygon:
    return cut_line(one.piece).polygon()


def test_pieces_lie_apart_by_the_gap() -> None:
    placed = lay_out(shapes.all_pieces())

    for one, other in combinations(placed, 2):
        assert cloth(one).distance(cloth(other)) >= GAP - 1e-6


def test_the_lower_left_corner_is_the_origin() -> None:
    placed = lay_out(shapes.all_pieces())
    width, height = extent(placed)
    bounds = shapely.union_all([cloth(one) for one in placed]).bounds

    assert bounds == pytest.approx((0.0, 0.0, width, height), abs=1e-5)


def test_pieces_come_back_in_their_order_only_shifted() -> None:
    pieces = shapes.all_pieces()
    placed = lay_out(pieces)

    assert [one.piece.code for one in placed] == [piece.code for piece in pieces]
    for piece, one in zip(pieces, placed, strict=True):
        assert one.move.angle == 0.0
        assert not one.move.mirrored
        assert one.piece.grain[0].to(one.move(piece.grain[0])) < 1e-9
        assert one.piece.edges[0].length == pytest.approx(piece.edges[0].length, abs=1e-9)


def test_back_lies_left_front_right_collar_below() -> None:
    front, back, stand, fall, _ = lay_out(shapes.all_pieces())

    assert back.high.x < front.low.x
    assert max(stand.high.y, fall.high.y) < min(back.low.y, front.low.y)


def test_pieces_drafted_side_by_side_keep_their_level() -> None:
    """A waist point at the same height in the draft is at the same height on the table."""
    front, back = shapes.front(), shapes.back()
    laid_front, laid_back = lay_out((front, back))

    assert laid_front.move.shift.y == pytest.approx(laid_back.move.shift.y)


def test_pieces_from_different_drafts_stand_on_one_line() -> None:
    back = shapes.back().moved(Move(shift=Point(0.0, 500.0)))
    laid_front, laid_back = lay_out((shapes.front(), back))

    assert laid_front.low.y == laid_back.low.y == 0.0


def test_a_narrow_table_takes_more_rows() -> None:
    placed = lay_out(shapes.all_pieces(), width=40.0)

    assert extent(placed)[0] <= 40.0
    assert extent(placed)[1] > extent(lay_out(shapes.all_pieces()))[1]


def test_a_piece_wider_than_the_table_has_its_own_row() -> None:
    placed = lay_out((shapes.stand(), shapes.fall()), width=5.0)

    assert placed[0].low.y != placed[1].low.y


def test_nothing_takes_no_room() -> None:
    assert lay_out(()) == ()
    assert extent(()) == (0.0, 0.0)


def test_a_piece_that_crosses_itself_is_laid_by_its_sew_line() -> None:
    corners = (Point(0, 0), Point(10, 10), Point(10, 0), Point(0, 10))
    placed = lay_out((shapes.polygon(corners, (1.0,) * 4), shapes.square()))

    assert placed[0].high.x - placed[0].low.x == pytest.approx(10.0)


@settings(max_examples=25)
@given(
    st.lists(st.sampled_from(shapes.all_pieces()), min_size=1, max_size=7),
    st.floats(0.5, 6.0),
    st.floats(10.0, 120.0),
)
def test_any_pieces_on_any_table_lie_apart(chosen: list[Piece], gap: float, width: float) -> None:
    pieces = [replace(piece, code=f"{piece.code}{k}") for k, piece in enumerate(chosen)]
    placed = lay_out(pieces, gap, width)
    boxes = [shapely.box(*one.low, *one.high) for one in placed]

    for one, other in combinations(boxes, 2):
        assert one.distance(other) >= gap - 1e-6
    assert [one.low for one in placed] == [one.low for one in lay_out(pieces, gap, width)]
