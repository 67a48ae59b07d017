"""What waits for what when pieces are put together."""

from __future__ import annotations

import pytest

from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.assembly import Assembly, Operation, in_order
from drafting.pieces.piece import CutPlan, Dart, Edge, Piece, Seam, Stretch

NECKLINE, SHOULDER, SCYE = EdgeName.NECKLINE, EdgeName.SHOULDER, EdgeName.SCYE


def ringed(code: str, *names: EdgeName, dart: Dart | None = None) -> Piece:
    """A piece with these edges, every corner on a circle."""
    corners = [Point(10.0, 0.0).turned(6.283185307 * k / len(names)) for k in range(len(names))]
    edges = tuple(
        Edge(name, line(corners[k], corners[(k + 1) % len(names)])) for k, name in enumerate(names)
    )
    darts = () if dart is None else (dart,)
    return Piece(code, code.title(), edges, CutPlan(), (Point(0, 0), Point(0, 5)), darts=darts)


FRONT = ringed("FRONT", NECKLINE, SHOULDER, SCYE, EdgeName.SIDE_SEAM, EdgeName.WAIST)
_ON = [Point(10.0, 0.0).turned(6.283185307 * k / 6) for k in (2, 3)]
DART = Dart("shoulder dart", Point(0, 0), Point(0, 0), _ON[0], _ON[1], 2)
BACK = ringed(
    "BACK", NECKLINE, SHOULDER, EdgeName.DART_MOUTH, SHOULDER, SCYE, EdgeName.WAIST, dart=DART
)
BAND = ringed("BAND", EdgeName.NECK_SEAM, EdgeName.COLLAR_END, EdgeName.OUTER_EDGE)
ASSEMBLY = Assembly(
    (FRONT, BACK, BAND), {"FRONT": "bodice", "BACK": "bodice", "BAND": "collar"}, ("bodice",)
)

JOIN = Operation(
    "shoulder", (Seam("shoulder", Stretch("FRONT", SHOULDER), Stretch("BACK", SHOULDER)),)
)
SEW_ON = Operation(
    "neck",
    tuple(
        Seam(f"neck, {code}", Stretch("BAND", EdgeName.NECK_SEAM), Stretch(code, NECKLINE))
        for code in ("FRONT", "BACK")
    ),
)
SEW_DART = Operation("dart", dart=("BACK", DART))
CATCH_DOWN = Operation("catch down", edges=(("BACK", 0),), closes=True)
TURN_IN = Operation("turn in", edges=(("BACK", 0),), closes=True)


def test_beside_an_edge_is_what_it_meets_once_darts_are_sewn() -> None:
    assert ASSEMBLY.beside(("BACK", 1)) == {("BACK", 0), ("BACK", 3)}
    assert ASSEMBLY.beside(("BACK", 3)) == {("BACK", 1), ("BACK", 4)}
    assert ASSEMBLY.beside(("BACK", 2)) == {("BACK", 1), ("BACK", 3)}
    assert ASSEMBLY.beside(("FRONT", 0)) == {("FRONT", 4), ("FRONT", 1)}


@pytest.mark.parametrize(
    ("then", "first"),
    [
        (SEW_ON, JOIN),  # the neck is sewn across the shoulder seam
        (JOIN, SEW_DART),  # a dart that opens in the shoulder is sewn before it
        (CATCH_DOWN, SEW_ON),  # what covers a seam comes after it
    ],
)
def test_what_meets_a_line_is_done_before_it_and_never_the_other_way(
    then: Operation, first: Operation
) -> None:
    assert ASSEMBLY.waits(then, first)
    assert not ASSEMBLY.waits(first, then)


def test_two_that_close_do_not_wait_for_each_other() -> None:
    assert not ASSEMBLY.waits(CATCH_DOWN, TURN_IN)
    assert not ASSEMBLY.waits(TURN_IN, CATCH_DOWN)


def test_all_are_put_in_order_and_else_stay_as_they_are_given() -> None:
    given = (CATCH_DOWN, SEW_ON, TURN_IN, JOIN, SEW_DART)

    assert in_order(given, ASSEMBLY) == (SEW_DART, JOIN, SEW_ON, CATCH_DOWN, TURN_IN)


def test_steps_that_wait_for_each_other_are_named() -> None:
    class Both(Assembly):
        def waits(self, operation: Operation, other: Operation) -> bool:
            return True

    with pytest.raises(DraftError, match=r"wait for each other: .*(shoulder|neck)"):
        in_order((JOIN, SEW_ON), Both((FRONT, BACK, BAND), {}, ()))
