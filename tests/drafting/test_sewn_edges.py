"""Stretches and seams, and which edges no seam takes up."""

from __future__ import annotations

import pytest

from blocks.edges import EdgeName
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.assembly import (
    LooseEdge,
    carried_on,
    is_finished,
    loose_edges,
    sewn_runs,
    union_length,
)
from drafting.pieces.piece import CutPlan, Edge, Piece, Seam, Stretch, seam_mismatch, stretch_length

A, B, C, D = Point(0.0, 0.0), Point(10.0, 0.0), Point(10.0, 6.0), Point(0.0, 6.0)


def oblong(code: str, *names: EdgeName, on_fold: bool = False) -> Piece:
    corners = (A, B, C, D, A)
    edges = tuple(
        Edge(name, line(one, other), on_fold=on_fold and name is EdgeName.CENTRE_BACK)
        for name, one, other in zip(names, corners, corners[1:], strict=False)
    )
    return Piece(code, code.title(), edges, CutPlan(), (A, C))


BODY = oblong(
    "BODY", EdgeName.HEM, EdgeName.SIDE_SEAM, EdgeName.NECKLINE, EdgeName.CENTRE_BACK, on_fold=True
)
BAND = oblong(
    "BAND",
    EdgeName.NECK_SEAM,
    EdgeName.COLLAR_END,
    EdgeName.OUTER_EDGE,
    EdgeName.CENTRE_BACK,
    on_fold=True,
)


def sewn(
    first: tuple[str, EdgeName],
    second: tuple[str, EdgeName],
    start: float = 0.0,
    end: float | None = None,
) -> Seam:
    return Seam("seam", Stretch(*first), Stretch(*second, start=start, end=end))


NECK = ("BAND", EdgeName.NECK_SEAM), ("BODY", EdgeName.NECKLINE)
SIDE = ("BODY", EdgeName.SIDE_SEAM), ("BODY", EdgeName.SIDE_SEAM)
END = ("BAND", EdgeName.COLLAR_END), ("BAND", EdgeName.COLLAR_END)
TOP = ("BAND", EdgeName.OUTER_EDGE), ("BAND", EdgeName.OUTER_EDGE)


def test_a_part_of_an_edge_is_as_long_as_it_is_said_to_be() -> None:
    assert stretch_length([BODY], Stretch("BODY", EdgeName.NECKLINE, start=3.0)) == 7.0
    assert stretch_length([BODY], Stretch("BODY", EdgeName.NECKLINE, start=3.0, end=5.0)) == 2.0
    assert seam_mismatch([BODY, BAND], sewn(*NECK, start=2.5)) == pytest.approx(2.5)


def test_all_is_sewn_but_folds_and_hems() -> None:
    assert loose_edges([BODY, BAND], [sewn(*each) for each in (NECK, SIDE, END, TOP)]) == ()


def test_an_edge_in_no_seam_is_loose() -> None:
    found = loose_edges([BODY, BAND], [sewn(*each) for each in (NECK, SIDE, TOP)])
    assert found == (LooseEdge("BAND", EdgeName.COLLAR_END, 1, 6.0),)


def test_what_a_seam_leaves_of_an_edge_is_loose_until_another_takes_it_up() -> None:
    seams = [sewn(*each) for each in (SIDE, END, TOP)] + [sewn(*NECK, start=3.0)]
    (left,) = loose_edges([BODY, BAND], seams)
    assert (left.piece, left.edge, left.length) == ("BODY", EdgeName.NECKLINE, 3.0)
    (still,) = loose_edges([BODY, BAND], [*seams, sewn(*NECK, end=2.0)])
    assert still.length == pytest.approx(1.0)
    assert loose_edges([BODY, BAND], [*seams, sewn(*NECK, end=3.5)]) == ()


def test_a_seam_of_a_piece_there_is_not_is_no_seam() -> None:
    with pytest.raises(KeyError, match="BAND"):
        loose_edges([BODY], [sewn(*NECK)])


@pytest.mark.parametrize(
    ("beside", "goes_on", "finished"),
    [
        (EdgeName.HEM, EdgeName.HEM, True),
        (EdgeName.WAIST, EdgeName.WAIST, True),
        (EdgeName.NECKLINE, EdgeName.NECKLINE, False),
        (EdgeName.SHOULDER, None, False),
    ],
)
def test_the_end_of_a_button_stand_goes_on_what_lies_beside_it(
    beside: EdgeName, goes_on: EdgeName | None, finished: bool
) -> None:
    piece = oblong(
        "FRONT",
        beside,
        EdgeName.BUTTON_STAND_END,
        EdgeName.BUTTON_STAND_END,
        EdgeName.FRONT_EDGE,
    )
    for place in (1, 2):
        assert carried_on(piece.edges, place) is goes_on
        assert is_finished(piece.edges, place) is finished
    assert carried_on(piece.edges, 3) is None


def test_folds_mouths_of_darts_and_hems_take_no_seam() -> None:
    piece = oblong(
        "SKIRT", EdgeName.HEM, EdgeName.SIDE_SEAM, EdgeName.DART_MOUTH, EdgeName.CENTRE_BACK
    )
    folded = oblong("SKIRT", *(edge.name for edge in piece.edges), on_fold=True)

    assert [is_finished(piece.edges, place) for place in range(4)] == [True, False, True, False]
    assert [is_finished(folded.edges, place) for place in range(4)] == [True, False, True, True]


def test_a_part_of_a_run_ends_where_it_is_said_to_on_whichever_edge() -> None:
    piece = oblong(
        "FRONT", EdgeName.NECKLINE, EdgeName.NECKLINE, EdgeName.SHOULDER, EdgeName.CENTRE_FRONT
    )

    def runs(start: float, end: float | None) -> list[tuple[int, float, float]]:
        return [*sewn_runs(piece, Stretch("FRONT", EdgeName.NECKLINE, None, start, end))]

    assert runs(0.0, None) == [(0, 0.0, 10.0), (1, 0.0, 6.0)]
    assert runs(3.0, 12.0) == [(0, 3.0, 10.0), (1, 0.0, 2.0)]
    assert runs(3.0, 8.0) == [(0, 3.0, 8.0)]
    assert runs(11.0, 15.0) == [(1, 1.0, 5.0)]


def test_what_lies_twice_in_a_line_counts_once() -> None:
    assert union_length([(4.0, 6.0), (0.0, 3.0), (2.0, 5.0), (2.5, 2.6)]) == 6.0
    assert union_length([]) == 0.0
