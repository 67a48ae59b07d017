"""Cut lines, notches, and folded pieces opened out.

Oracles: closed forms (squares, circles, Steiner's formula for parallel curves), shapely's own
mitred buffer where one width goes all round, and distances measured from the curves themselves.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, degrees, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, bezier, line
from drafting.geometry.points import Point, direction
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import (
    HOLE_SHORT,
    MITRE_LIMIT,
    NOTCH_DEPTH,
    NOTCH_PAIR,
    CutLine,
    _healed,
    cut_line,
    drill_holes,
    notch_marks,
)
from drafting.pieces.piece import CutPlan, Edge, Notch, NotchKind, Piece
from drafting.tolerances import FLATTEN, SAME_POINT
from tests import shapes
from tests.notch_places import lies


def sewn(piece: Piece) -> shapely.Polygon:
    return shapely.Polygon(piece.outline(FLATTEN / 20))


def corner_points(cut: CutLine) -> set[tuple[float, float]]:
    return {(round(float(x), 4) + 0.0, round(float(y), 4) + 0.0) for x, y in cut.points}


def outward(edge: Edge, at: float) -> tuple[Point, Point]:
    """A point of an edge, and the same point one allowance out."""
    t = edge.curve.t_at_length(at)
    point = edge.curve.at(t)
    return point, point + edge.curve.heading(t).right * edge.allowance


# ---- closed forms -------------------------------------------------------------------------------


def test_a_square_gets_square_corners() -> None:
    cut = cut_line(shapes.square(10.0))

    assert corner_points(cut) == {(-1, -1), (11, -1), (11, 11), (-1, 11)}
    assert cut.corners == (0, 1, 2, 3)


def test_every_edge_keeps_its_own_width() -> None:
    cut = cut_line(shapes.square(10.0, 1.0, 2.0, 0.0, 3.0))

    assert corner_points(cut) == {(-3, -1), (12, -1), (12, 10), (-3, 10)}


def test_without_allowance_the_cut_line_is_the_sew_line() -> None:
    cut = cut_line(shapes.square(10.0, 0.0, 0.0, 0.0, 0.0))

    assert corner_points(cut) == {(0, 0), (10, 0), (10, 10), (0, 10)}


def test_a_parallel_is_longer_by_width_times_turning() -> None:
    """Steiner's formula for parallel curves: a full turn adds 2 pi widths, whatever the shape."""
    piece = shapes.circle(3.0, 1.25)
    cut = cut_line(piece)
    length = sum(curve.length for curve in cut.curves())

    assert length == pytest.approx(sum(e.length for e in piece.edges) + 2 * pi * 1.25, abs=0.01)
    assert cut.polygon().area == pytest.approx(pi * 4.25**2, rel=1e-3)


@pytest.mark.parametrize("width", [0.5, 1.0, 2.4])
def test_the_mitre_is_where_both_parallels_meet(width: float) -> None:
    """A corner of angle A reaches width / sin(A / 2) from the sew line's corner."""
    slant = direction(radians(80.0)) * 7.0
    corners = (Point(0, 0), Point(10, 0), Point(10, 0) + slant, slant)
    cut = cut_line(shapes.polygon(corners, (width,) * 4))
    reach = [min(float(np.hypot(*(xy - tuple(p)))) for xy in cut.points) for p in corners]
    sharp, blunt = width / sin(radians(40.0)), width / sin(radians(50.0))

    assert reach == pytest.approx([sharp, blunt, sharp, blunt], abs=1e-5)


# ---- corners by rule ----------------------------------------------------------------------------


def wedge(angle: float, width: float = 0.6) -> Piece:
    """A long triangle whose sharp point lies at the origin, along the x axis."""
    far = 20.0
    corners = (
        Point(0, 0),
        Point(far, -far * tan(angle / 2)),
        Point(far, far * tan(angle / 2)),
    )
    return shapes.polygon(corners, (width,) * 3)


@pytest.mark.parametrize("angle", [61.0, 75.0, 90.0, 120.0])
def test_a_blunt_enough_point_keeps_its_mitre(angle: float) -> None:
    cut = cut_line(wedge(radians(angle)))

    point = cut.points[cut.points[:, 0] < 1.0]

    assert point == pytest.approx(np.array([[-0.6 / sin(radians(angle) / 2), 0.0]]), abs=1e-5)


@pytest.mark.parametrize("angle", [15.0, 30.0, 45.0, 59.0])
def test_a_sharp_point_is_cut_square(angle: float) -> None:
    cut = cut_line(wedge(radians(angle)))
    end = cut.points[cut.points[:, 0] < -0.6]

    assert end[:, 0] == pytest.approx([-MITRE_LIMIT * 0.6] * 2, abs=1e-5)
    assert end[0, 1] == pytest.approx(-end[1, 1], abs=1e-5)


def test_a_collar_point_is_cut_within_the_limit() -> None:
    piece = shapes.fall()
    tip = piece.edges[2].curve.start
    cut = cut_line(piece)
    near = cut.points[np.hypot(*(cut.points - tuple(tip)).T) < 2.0]
    out = (tip - Point(10.0, 3.0)).unit

    assert max(float((xy - tuple(tip)) @ tuple(out)) for xy in near) <= MITRE_LIMIT * 0.6 + 1e-6


def test_nearly_straight_edges_of_unlike_width_meet_in_a_step() -> None:
    corners = (Point(0, 0), Point(10, 0), Point(20, 1), Point(20, 10), Point(0, 10))
    piece = shapes.polygon(corners, (1.0, 3.0, 1.0, 1.0, 1.0))
    cut = cut_line(piece).polygon()
    narrow, wide = Point(9.9, -1.0), Point(10.2, 0.02) + Point(1.0, -10.0).unit * 3.0

    assert cut.exterior.distance(shapely.Point(tuple(narrow))) < 1e-5
    assert cut.exterior.distance(shapely.Point(tuple(wide))) < 1e-5
    assert slits(cut) < 1e-6


def test_a_wide_hem_follows_the_line_of_its_narrow_side_seam() -> None:
    """Where little is lost the wide allowance is cut on the narrow one's line, no step."""
    slant = direction(radians(80.0))
    corners = (Point(0, 0), Point(20, 0), Point(20, 0) + slant * 15.0, Point(0, 15))
    cut = cut_line(shapes.polygon(corners, (4.0, 1.0, 1.0, 1.0)))
    lowest = cut.points[cut.points[:, 1] < -3.9]
    expected = 20.0 + 1.0 / sin(radians(80.0)) - 4.0 / tan(radians(80.0))

    assert float(lowest[:, 0].max()) == pytest.approx(expected, abs=1e-5)


# ---- folds --------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [shapes.yoke, shapes.back, shapes.stand, shapes.fall])
def test_the_cut_line_lies_on_the_fold_and_never_beyond(make: object) -> None:
    piece = make()  # type: ignore[operator]
    fold = next(edge for edge in piece.edges if edge.on_fold)
    cut = cut_line(piece)
    along = (fold.curve.end - fold.curve.start).unit
    beyond = [along.right.dot(Point(*map(float, xy)) - fold.curve.start) for xy in cut.points]
    border = cut.polygon().exterior

    assert max(beyond) <= SAME_POINT
    for share in (0.01, 0.5, 0.99):
        on = shapely.Point(tuple(fold.curve.start.towards(fold.curve.end, share)))
        assert border.distance(on) <= SAME_POINT


def test_the_cut_line_leaves_a_square_fold_squarely() -> None:
    cut = cut_line(shapes.yoke())
    on_fold = sorted(float(y) for x, y in cut.points if abs(x) < SAME_POINT)

    assert on_fold[0] == pytest.approx(-1.0, abs=1e-5)
    assert on_fold[-1] == pytest.approx(11.0, abs=1e-5)


@pytest.mark.parametrize("lean", [-25.0, -10.0, 10.0, 25.0])
def test_at_a_slanting_fold_corner_both_halves_still_meet_on_the_fold(lean: float) -> None:
    """A hem that leans by an angle ends on the fold at width / cos(lean) below its corner."""
    drop = 10 * tan(radians(lean))
    corners = (Point(0, 10), Point(0, 0), Point(10, drop), Point(10, 10))
    curves = [line(a, b) for a, b in pairwise((*corners, corners[0]))]
    edges = [
        Edge(EdgeName.CENTRE_BACK, curves[0], on_fold=True),
        *(Edge(EdgeName.HEM, curve, allowance=1.5) for curve in curves[1:]),
    ]
    piece = Piece("HEM", "Hem", tuple(edges), CutPlan(on_fold=True), (Point(2, 1), Point(2, 9)))
    cut = cut_line(piece)
    on_fold = [float(y) for x, y in cut.points if abs(x) < SAME_POINT]

    assert float(cut.points[:, 0].min()) >= -SAME_POINT
    assert min(on_fold) == pytest.approx(-1.5 / cos(radians(lean)), abs=1e-5)


# ---- hollow edges -------------------------------------------------------------------------------


def hollow(radius: float, width: float) -> Piece:
    """A strip with a half-round bite of a radius out of its upper edge."""
    k = 4 / 3 * (2**0.5 - 1) * radius
    low, side = Point(0, -radius), Point(-radius, 0)
    bite = (
        bezier(Point(radius, 0), Point(radius, -k), Point(k, -radius), low),
        bezier(low, Point(-k, -radius), Point(-radius, -k), side),
    )
    corners = (side, Point(-8, 0), Point(-8, -10), Point(8, -10), Point(8, 0), Point(radius, 0))
    straight = [line(a, b) for a, b in pairwise(corners)]
    edges = [Edge(EdgeName.NECKLINE, c, allowance=width) for c in (*bite, *straight)]
    return Piece("BITE", "Bite", tuple(edges), CutPlan(), (Point(0, -9), Point(0, -5)))


@pytest.mark.parametrize("width", [0.6, 1.0, 1.9])
def test_a_hollow_edge_is_cut_parallel(width: float) -> None:
    cut = cut_line(hollow(2.0, width))
    lowest = Point(0, -2.0 + width)

    assert cut.polygon().is_valid
    assert cut.polygon().exterior.distance(shapely.Point(tuple(lowest))) < FLATTEN


def test_a_hollow_tighter_than_its_allowance_closes_without_crossing() -> None:
    cut = cut_line(hollow(1.0, 1.5)).polygon()

    assert cut.is_valid
    assert cut.contains(shapely.Point(0, 0.2))
    assert cut.contains(sewn(hollow(1.0, 1.5)).buffer(-1e-6))


def test_a_sew_line_that_crosses_itself_is_refused() -> None:
    corners = (Point(0, 0), Point(10, 10), Point(10, 0), Point(0, 10))

    with pytest.raises(DraftError, match="crosses or touches itself"):
        cut_line(shapes.polygon(corners, (1.0,) * 4))


# ---- any shape ----------------------------------------------------------------------------------

WIDTHS = st.sampled_from([0.0, 0.6, 1.0, 1.5, 2.0]) | st.floats(0.1, 2.5)


@st.composite
def blobs(draw: st.DrawFn) -> Piece:
    radii = draw(st.lists(st.floats(4.0, 15.0), min_size=3, max_size=9))
    widths = draw(st.lists(WIDTHS, min_size=len(radii), max_size=len(radii)))
    return shapes.blob(tuple(radii), tuple(widths))


def slits(cut: shapely.Polygon) -> float:
    """Length of hair-thin cuts: what closes when the cloth grows and shrinks by a hair."""
    reversal = np.diff(shapely.get_coordinates(cut), axis=0)
    heading = np.arctan2(reversal[:, 1], reversal[:, 0])
    turn = np.abs((np.diff(heading, append=heading[0]) + pi) % (2 * pi) - pi)
    return float(np.hypot(*reversal.T)[turn > pi - 1e-4].sum())


@given(blobs())
def test_any_piece_gets_a_simple_cut_line_round_it(piece: Piece) -> None:
    inside = sewn(piece)
    assume(inside.is_valid)
    cut = cut_line(piece).polygon()

    assert cut.is_valid
    assert cut.exterior.is_simple
    assert shapely.get_exterior_ring(cut).is_ccw
    assert cut.buffer(FLATTEN).contains(inside)
    assert slits(cut) < 1e-6


@pytest.mark.parametrize(
    ("radii", "widths"),
    [
        ((5.80294, 9.71543, 4.87247, 4.5, 5.0), (1.07496, 1.5, 0.1, 0.6, 0.1)),
        ((4.5, 6.572574, 11.411581, 5.424893, 4.5), (1.5, 0.0, 0.484868, 1.89325, 0.6)),
        (
            (12.0, 15.0, 15.0, 10.148762, 8.0, 12.195212),
            (0.389794, 1.746841, 1.118602, 2.5, 0.1, 1.0),
        ),
        (
            (4.5, 13.3305, 15.0, 13.9953, 12.6997, 8.0, 7.7786),
            (0.123, 0.6, 2.0, 0.5115, 0.6092, 0.6, 1.6054),
        ),
    ],
)
def test_where_wide_and_narrow_allowances_meet_no_slit_is_left(
    radii: tuple[float, ...], widths: tuple[float, ...]
) -> None:
    piece = shapes.blob(radii, widths)
    cut = cut_line(piece).polygon()
    assert cut.is_valid
    assert cut.buffer(FLATTEN).contains(sewn(piece))
    assert slits(cut) < 1e-6


@pytest.mark.parametrize("reach", [1.0, -1.0, 0.01])
@pytest.mark.parametrize("first", range(6))
def test_a_fin_or_a_slit_is_taken_off_wherever_the_ring_begins(reach: float, first: int) -> None:
    triangle = [(0.0, 0.0), (10.0, 0.0), (5.0, 8.0)]
    run = [(4.0, 0.0), (4.0, -reach), (4.0, 0.0)]
    ring = [triangle[0], *run, *triangle[1:]]
    healed = _healed(shapely.LinearRing(ring[first:] + ring[:first]))

    assert healed.equals(shapely.Polygon(triangle))
    assert len(healed.exterior.coords) <= 5
    assert _healed(shapely.LinearRing(triangle)).exterior.coords[:3] == triangle


@given(blobs())
def test_the_cut_line_is_one_allowance_away_inside_every_edge(piece: Piece) -> None:
    """Away from the corners each point, moved out by the allowance, lies on the cut line, or in
    cloth that a neighbour's wider allowance covers anyway; nothing is cut nearer."""
    inside = sewn(piece)
    assume(inside.is_valid)
    cut = cut_line(piece).polygon()
    widest = max(edge.allowance for edge in piece.edges)
    for edge in piece.edges:
        clear = 1.5 * widest
        for at in np.linspace(clear, edge.length - clear, 5) if edge.length > 2 * clear else ():
            _, out = outward(edge, float(at))
            spot = shapely.Point(tuple(out))
            assert cut.exterior.distance(spot) <= FLATTEN or cut.contains(spot)
    reach = max(float(inside.distance(shapely.Point(xy))) for xy in shapely.get_coordinates(cut))
    assert reach <= (MITRE_LIMIT**2 + 1) ** 0.5 * widest + FLATTEN


@given(st.lists(st.floats(4.0, 12.0), min_size=4, max_size=8), st.floats(0.3, 2.0))
def test_one_width_all_round_agrees_with_another_offset(radii: list[float], width: float) -> None:
    """shapely's mitred buffer of the straight-edged shape, where no corner is cut square. It
    smooths away the shallowest hollows, so those are left out."""
    count = len(radii)
    corners = tuple(direction(2 * pi * k / count) * r for k, r in enumerate(radii))
    piece = shapes.polygon(corners, (width,) * count)
    inside = sewn(piece)
    steps = [edge.curve for edge in piece.edges]
    turns = [
        angle_between(a.start_heading, b.start_heading)
        for a, b in zip(steps, steps[1:] + steps[:1], strict=True)
    ]
    assume(max(turns) < radians(115))
    assume(all(turn > 0 or turn < radians(-20) for turn in turns))
    expected = inside.buffer(width, join_style="mitre", mitre_limit=10.0)
    found = cut_line(piece).polygon()

    assert found.symmetric_difference(expected).area < 1e-3


@pytest.mark.parametrize("piece", shapes.all_pieces(), ids=lambda piece: piece.code)
def test_the_stretches_between_corners_go_round(piece: Piece) -> None:
    cut = cut_line(piece)
    curves = cut.curves()

    assert len(curves) == len(cut.corners)
    for curve, after in zip(curves, curves[1:] + curves[:1], strict=True):
        assert curve.end == after.start
    for curve in curves:  # no hidden corner inside a stretch
        steps = np.diff(curve.controls, axis=0)
        heading = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        assert np.all(np.abs(np.diff(heading)) < radians(20))


# ---- notches ------------------------------------------------------------------------------------


@pytest.mark.parametrize("piece", shapes.all_pieces(), ids=lambda piece: piece.code)
def test_snips_run_from_the_cut_line_inwards_and_stop_before_the_sew_line(piece: Piece) -> None:
    cut = cut_line(piece)
    border, inside = cut.polygon().exterior, sewn(piece)
    marks = notch_marks(piece, cut)

    assert len(marks) == len(piece.notches)
    for mark in marks:
        edge = piece.edges[mark.notch.edge]
        double = mark.notch.kind is NotchKind.DOUBLE and mark.notch.name != "centre back"
        assert len(mark.strokes) == (2 if double else 1)
        for stroke in mark.strokes:
            assert border.distance(shapely.Point(tuple(stroke.start))) < FLATTEN
            assert 0.0 < stroke.length <= NOTCH_DEPTH + SAME_POINT
            assert inside.distance(shapely.Point(tuple(stroke.end))) > 0.2 * edge.allowance
            t, _ = edge.curve.nearest(stroke.end)
            lean = angle_between(edge.curve.heading(t), stroke.end_heading)
            assert degrees(lean) == pytest.approx(90.0, abs=0.01)


def test_a_single_snip_points_at_its_notch() -> None:
    piece = shapes.yoke()
    mark = notch_marks(piece, cut_line(piece))[0]
    at = piece.notch_point(piece.notches[0])

    assert mark.at.to(at) < SAME_POINT
    assert abs(mark.strokes[0].start_heading.cross(at - mark.strokes[0].start)) < 1e-5
    assert mark.strokes[0].start.to(at) == pytest.approx(1.0, abs=FLATTEN)


def test_a_double_notch_is_two_snips_apart() -> None:
    piece = shapes.yoke()
    first, second = notch_marks(piece, cut_line(piece))[1].strokes

    assert first.start.to(second.start) == pytest.approx(NOTCH_PAIR, abs=1e-4)


@pytest.mark.parametrize("make", [shapes.stand, shapes.fall])
def test_a_double_notch_on_a_fold_is_one_snip_along_the_fold(make: object) -> None:
    """Two would be three once the cloth is opened; and one it stays then."""
    half = make()  # type: ignore[operator]
    for piece in (half, opened(half)):
        (mark,) = (m for m in notch_marks(piece, cut_line(piece)) if m.notch.name == "centre back")
        (snip,) = mark.strokes
        for end in (snip.start, snip.end):
            assert end.x == pytest.approx(0.0, abs=1e-4)
        assert cut_line(piece).polygon().exterior.distance(shapely.Point(*snip.start)) < FLATTEN


@pytest.mark.parametrize("lean", [-25.0, -10.0, 10.0, 25.0])
def test_where_an_edge_leaves_its_fold_aslant_the_snip_lies_on_the_fold(lean: float) -> None:
    drop = 10 * tan(radians(lean))
    corners = (Point(0, 10), Point(0, 0), Point(10, drop), Point(10, 10))
    piece = notched(corners, (0.0, 1.5, 1.5, 1.5), Notch("centre", 1, 0.0), fold=0)
    (mark,) = notch_marks(piece, cut_line(piece))
    (snip,) = mark.strokes

    assert snip.start.to(Point(0.0, -1.5 / cos(radians(lean)))) < 1e-4
    assert snip.end.to(Point(0.0, -1.5 / cos(radians(lean)) + NOTCH_DEPTH)) < 1e-4


def test_nothing_is_snipped_into_a_fold() -> None:
    corners = (Point(0, 10), Point(0, 0), Point(10, 0), Point(10, 10))
    piece = notched(corners, (0.0, 1.0, 1.0, 1.0), Notch("roll line", 0, 4.0), fold=0)

    assert notch_marks(piece, cut_line(piece)) == ()


def notched(
    corners: tuple[Point, ...], widths: tuple[float, ...], notch: Notch, fold: int | None = None
) -> Piece:
    """A polygon with one notch."""
    piece = shapes.polygon(corners, widths)
    edges = tuple(replace(edge, on_fold=k == fold) for k, edge in enumerate(piece.edges))
    return replace(piece, edges=edges, notches=(notch,))


def hollow_corner(turn: float, first: float, second: float, at: float = 0.0) -> Piece:
    """A strip whose upper edge is broken inwards by ``turn`` (degrees) at the origin, with a notch
    ``at`` from the break on the edge that ends there."""
    slant = direction(radians(180.0 - turn)) * 12.0
    corners = (Point(0, 0), slant, Point(-30, 15), Point(-30, -20), Point(12, -20), Point(12, 0))
    return notched(corners, (second, 1.0, 1.0, 1.0, 1.0, first), Notch("corner", 5, 12.0 - at))


@pytest.mark.parametrize("widths", [(1.0, 1.0), (0.6, 1.5), (1.5, 0.6), (4.0, 1.0)])
@pytest.mark.parametrize("turn", [2.0, 8.0, 15.0, 30.0, 60.0, 90.0, 130.0])
@pytest.mark.parametrize("at", [0.0, 0.4])
def test_a_notch_in_a_hollow_corner_tells_the_corner(
    turn: float, widths: tuple[float, float], at: float
) -> None:
    """By a snip where one can, by a hole in the allowance where none can."""
    (lies_there,) = lies(hollow_corner(turn, *widths, at))

    assert lies_there.good, lies_there


def test_a_corner_broken_far_in_takes_a_hole_and_a_slight_one_a_snip() -> None:
    (far,) = lies(hollow_corner(60.0, 1.0, 1.0))
    (slight,) = lies(hollow_corner(15.0, 1.0, 1.0))
    (beside,) = lies(hollow_corner(60.0, 1.0, 1.0, at=2.0))

    assert (far.hole, slight.hole, beside.hole) == (True, False, False)
    assert far.along == pytest.approx(HOLE_SHORT)
    piece = hollow_corner(60.0, 1.0, 1.0)
    assert list(drill_holes(piece, cut_line(piece))) == [
        mark.hole for mark in notch_marks(piece, cut_line(piece))
    ]


def test_without_allowance_a_snip_at_a_sharp_point_still_goes_into_the_piece() -> None:
    tip = Point(0, 0)
    corners = (tip, Point(10, -3), Point(10, 3))
    piece = notched(corners, (0.0, 0.0, 0.0), Notch("point", 0, 0.0))
    (snip,) = notch_marks(piece, cut_line(piece))[0].strokes

    assert snip.start.to(tip) < SAME_POINT
    assert snip.end.to(Point(NOTCH_DEPTH, 0.0)) < SAME_POINT


def test_without_allowance_a_snip_goes_into_the_piece() -> None:
    piece = shapes.polygon((Point(0, 0), Point(10, 0), Point(10, 10), Point(0, 10)), (0.0,) * 4)
    piece = Piece(
        piece.code, piece.title, piece.edges, piece.cut, piece.grain, notches=(Notch("a", 0, 4.0),)
    )

    for cut in (None, cut_line(piece)):
        stroke = notch_marks(piece, cut)[0].strokes[0]
        assert stroke.start.to(Point(4, 0)) < SAME_POINT
        assert stroke.end.to(Point(4, NOTCH_DEPTH)) < SAME_POINT


# ---- opened out ---------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [shapes.yoke, shapes.back, shapes.stand, shapes.fall])
def test_an_opened_piece_is_both_halves(make: object) -> None:
    half = make()  # type: ignore[operator]
    whole = opened(half)

    assert sewn(whole).is_valid
    assert shapely.get_exterior_ring(sewn(whole)).is_ccw
    assert sewn(whole).area == pytest.approx(2 * sewn(half).area, rel=1e-5)
    assert not any(edge.on_fold for edge in whole.edges)
    assert not whole.cut.on_fold
    for name in {edge.name for edge in half.edges if not edge.on_fold}:
        assert whole.length(name) == pytest.approx(2 * half.length(name), abs=1e-6)
    cut = cut_line(whole).polygon()
    assert cut.area == pytest.approx(2 * cut_line(half).polygon().area, rel=1e-4)


def test_opening_mirrors_notches_and_darts() -> None:
    half = shapes.back()
    whole = opened(half)
    points = sorted((round(p.x, 5), round(p.y, 5)) for p in map(whole.notch_point, whole.notches))

    assert points == sorted((round(s * x, 5), y) for x, y in points for s in (-1,))
    assert len(whole.darts) == 2
    for dart in whole.darts:
        mouth = whole.edges[dart.mouth]
        assert mouth.name is EdgeName.DART_MOUTH
        assert mouth.curve.start.to(dart.first) < SAME_POINT
        assert mouth.curve.end.to(dart.second) < SAME_POINT


def test_a_notch_on_the_fold_is_not_doubled() -> None:
    whole = opened(shapes.fall())

    assert sum(notch.name == "centre back" for notch in whole.notches) == 1
    assert sum(notch.name == "shoulder" for notch in whole.notches) == 2


def test_a_piece_without_a_fold_is_left_alone() -> None:
    piece = shapes.front()

    assert opened(piece) is piece


def test_two_folds_cannot_be_opened() -> None:
    piece = shapes.square()
    edges = tuple(
        Edge(e.name, e.curve, on_fold=k in (1, 3), allowance=1.0) for k, e in enumerate(piece.edges)
    )

    with pytest.raises(DraftError, match="two folds"):
        opened(Piece("TUBE", "Tube", edges, CutPlan(), piece.grain))
