"""Neckline facings: they walk on the pieces they are traced from, whatever the neckline's shape."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.edges import EdgeName
from blocks.finishing.neckline_facing import (
    ACCEPTED,
    BACK_FACING,
    FRONT_FACING,
    facing_checks,
    neckline_facings,
)
from blocks.neckline.on_block import NeckChange
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line
from drafting.pieces.checks import Verdict, failed
from drafting.pieces.cutting import smooth_parts
from drafting.pieces.piece import Dart, Edge, Piece, seam_mismatch, stretch_length
from tests.blocks.test_neck_styles import BODY, USUAL
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())


def bodice(
    shape: str = "round",
    style: NeckChange | None = None,
    chosen: str = "direct-measure",
    stand: float = 0.0,
    **taken: float,
) -> tuple[Piece, Piece]:
    wish = BlockWish(chosen, fit="both", style=style, neck_shape=shape, button_stand=stand)
    return make_up(draft_bodice(complete(BODY | taken), wish))


def sound(facing: Piece, width: float) -> None:
    ring = Polygon(facing.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    assert ring.contains(LineString([tuple(p) for p in facing.grain]))
    neck = facing.named(EdgeName.NECKLINE)[0].curve
    (outer,) = facing.named(EdgeName.FACING_EDGE)
    gaps = [neck.nearest(outer.curve.at(float(t)))[1] for t in outer.curve.samples(8)]
    assert width - 0.3 <= min(gaps) <= width + 0.05


@settings(max_examples=15)
@given(
    taken=bodies(),
    chosen=METHODS,
    shape=st.sampled_from(sorted(USUAL)),
    stand=st.sampled_from([0.0, 1.5]),
    width=st.floats(4.0, 7.0),
)
def test_facings_walk_on_every_bodice(
    taken: dict[str, float], chosen: str, shape: str, stand: float, width: float
) -> None:
    wish = BlockWish(chosen, style=USUAL[shape], neck_shape=shape, button_stand=stand)
    try:
        pieces = back, front = make_up(draft_bodice(complete(taken), wish))
        facings, seams, checks = neckline_facings(back, front, width)
    except DraftError as error:
        assert all(problem.key.startswith("neckline.") for problem in error.problems)
        assert all(problem.accepted and problem.advice for problem in error.problems)
        return
    everything = (*pieces, *facings)

    assert [facing.code for facing in facings] == [BACK_FACING, FRONT_FACING]
    assert all(abs(seam_mismatch(everything, seam)) < 1e-6 for seam in seams)
    assert all(stretch_length(everything, seam.first) > 0.0 for seam in seams)
    assert failed(checks) == ()
    for facing, piece in zip(facings, pieces, strict=True):
        sound(facing, width)
        folds = [any(edge.on_fold for edge in one.edges) for one in (facing, piece)]
        assert folds[0] == folds[1] == facing.cut.on_fold
        assert facing.cut.interfacing == facing.cut.cloth
        inside = Polygon(piece.outline()).buffer(1e-3)
        if not any(dart.name == "shoulder dart" for dart in piece.darts):
            assert inside.contains(Polygon(facing.outline()))


@pytest.mark.parametrize("shape", sorted(USUAL))
@pytest.mark.parametrize("chosen", method_names())
def test_a_facing_reaches_the_front_edge_and_keeps_the_notches(shape: str, chosen: str) -> None:
    back, front = bodice(shape, USUAL[shape], chosen, stand=1.5)
    (_, facing), seams, _ = neckline_facings(back, front, 6.0)
    (edge,) = facing.named(EdgeName.FRONT_EDGE)
    (notch,) = facing.notches
    (own,) = [n for n in front.notches if front.edges[n.edge].name is EdgeName.NECKLINE]

    assert edge.curve.start.x == pytest.approx(front.named(EdgeName.FRONT_EDGE)[0].curve.end.x)
    assert edge.length == pytest.approx(6.0)
    assert notch.name == own.name == "centre front"
    assert facing.notch_point(notch).to(front.notch_point(own)) < 1e-6
    assert any(seam.name == "front facing to button stand" for seam in seams)


@pytest.mark.parametrize("chosen", method_names())
def test_outer_edges_run_on_across_the_shoulder_and_meet_the_fold_square(chosen: str) -> None:
    facings, _, checks = neckline_facings(*bodice("v", USUAL["v"], chosen), 6.0)
    back, front = facings
    ends = []
    for facing in facings:
        (outer,) = facing.named(EdgeName.FACING_EDGE)
        (shoulder,) = facing.named(EdgeName.SHOULDER)
        if facing is back:
            ends.append(pi - abs(angle_between(outer.curve.end_heading, _start(shoulder))))
        else:
            ends.append(pi - abs(angle_between(shoulder.curve.end_heading, _start(outer))))
    fold = [c for c in checks if c.name == "facing edge square at the fold"]

    assert sum(ends) == pytest.approx(pi, abs=1e-6)
    assert [c.verdict for c in fold] == [Verdict.PASS] * len(fold)
    assert any(edge.on_fold for edge in front.edges) == any(c.where == FRONT_FACING for c in fold)


def _start(edge: Edge) -> object:
    return edge.curve.start_heading


def test_a_square_facing_has_a_square_corner() -> None:
    (_, facing), _, _ = neckline_facings(*bodice("square", USUAL["square"]), 6.0)
    (outer,) = facing.named(EdgeName.FACING_EDGE)
    neck = facing.named(EdgeName.NECKLINE)[0].curve
    one, other = smooth_parts(neck)
    level, upright = smooth_parts(outer.curve.reversed())

    assert outer.curve.degree == 1
    assert level.start_heading.cross(one.start_heading) == pytest.approx(0.0, abs=1e-9)
    assert upright.start_heading.cross(other.start_heading) == pytest.approx(0.0, abs=1e-9)
    turn = angle_between(one.start_heading, other.start_heading)
    mitre = 6.0 / cos(turn / 2.0)
    assert other.start.to(upright.start) == pytest.approx(mitre, abs=1e-6)  # not rounded


def opened_into_neckline(piece: Piece, name: str) -> Piece:
    """A dart of a piece closed and opened again into the middle of its neckline instead."""
    old = next(d for d in piece.darts if d.name == name)
    edges, neck, mouth = list(piece.edges), piece.place(EdgeName.NECKLINE), old.mouth
    one, other = edges[neck].curve.split_at_length(edges[neck].curve.length / 2)
    if neck < mouth:  # a front: what lies from the neckline to the dart moves down on to it
        move = old.closing().back
        moved = [Edge(e.name, e.curve.moved(move)) for e in edges[neck + 1 : mouth]]
        first, second = one.end, move(one.end)
        ring = [
            *edges[:neck],
            Edge(EdgeName.NECKLINE, one),
            Edge(EdgeName.DART_MOUTH, line(first, second)),
            Edge(EdgeName.NECKLINE, other.moved(move)),
            *moved,
            *edges[mouth + 1 :],
        ]
    else:  # a back: what lies from the dart to the neckline moves out on to it
        move = old.closing()
        moved = [Edge(e.name, e.curve.moved(move)) for e in edges[mouth + 1 : neck]]
        first, second = move(one.end), one.end
        ring = [
            *edges[:mouth],
            *moved,
            Edge(EdgeName.NECKLINE, one.moved(move)),
            Edge(EdgeName.DART_MOUTH, line(first, second)),
            Edge(EdgeName.NECKLINE, other),
            *edges[neck + 1 :],
        ]
    place = next(
        k for k, e in enumerate(ring) if e.name is EdgeName.DART_MOUTH and e.curve.start == first
    )
    dart = Dart("neck dart", old.apex, old.apex, first, second, place)
    return replace(piece, edges=tuple(ring), darts=(dart,), notches=())


@pytest.mark.parametrize("chosen", method_names())
@pytest.mark.parametrize(("which", "name"), [(0, "shoulder dart"), (1, "bust dart")])
def test_a_dart_in_the_neckline_is_folded_before_the_facing_is_traced(
    which: int, name: str, chosen: str
) -> None:
    """The facing is the very one of the same piece with its dart elsewhere."""
    plain = bodice(chosen=chosen)
    darted = [opened_into_neckline(p, name) if k == which else p for k, p in enumerate(plain)]
    theirs, _, _ = neckline_facings(*plain, 6.0)
    ours, seams, checks = neckline_facings(darted[0], darted[1], 6.0)

    assert len(darted[which].named(EdgeName.NECKLINE)) == 2
    assert failed(checks) == ()
    for seam in seams:
        assert abs(seam_mismatch((*darted, *ours), seam)) < 1e-6
    one, other = (Polygon(facings[which].outline()) for facings in (ours, theirs))
    # Not moved off the centre either: both lie on the same place of the table.
    assert one.symmetric_difference(other).area < 0.05


def test_a_facing_too_wide_for_the_shoulder_says_what_fits() -> None:
    boat = bodice("boat", NeckChange(0.0, 7.0, 4.0))
    with pytest.raises(DraftError, match="shoulder of the") as caught:
        neckline_facings(*boat, 7.0)
    accepted = caught.value.problems[0].accepted
    most = float(accepted.split(" to ")[1].split(" cm")[0])

    assert most < 7.0
    neckline_facings(*boat, most - 0.1)


@pytest.mark.parametrize("width", [ACCEPTED[0] - 0.1, ACCEPTED[1] + 0.1])
def test_widths_out_of_range_are_refused(width: float) -> None:
    with pytest.raises(DraftError, match="no neckline facing of this width") as caught:
        neckline_facings(*bodice(), width)

    assert caught.value.problems[0].key == "neckline.facing"
    assert "3 to 10 cm" in caught.value.problems[0].accepted


@pytest.mark.parametrize("name", [EdgeName.GORGE, EdgeName.LAPEL_EDGE])
def test_a_lapel_has_no_neckline_facing(name: EdgeName) -> None:
    back, front = bodice(stand=1.5)
    neck = front.place(EdgeName.NECKLINE)
    edges = [replace(e, name=name) if k == neck - 1 else e for k, e in enumerate(front.edges)]
    with pytest.raises(DraftError, match="no facing can be traced on the front"):
        neckline_facings(back, replace(front, edges=tuple(edges)), 6.0)
    bare = tuple(replace(e, name=name) if k == neck else e for k, e in enumerate(front.edges))
    with pytest.raises(DraftError, match="it has no neckline"):
        neckline_facings(back, replace(front, edges=bare), 6.0)


def test_a_neckline_on_two_folds_says_that_it_must_open() -> None:
    close, _, wide = (
        neckline_facings(*bodice(shape, style), 5.0)[2]
        for shape, style in (
            ("round", None),
            ("v", USUAL["v"]),
            ("round", NeckChange(-8.0, 5.0, 4.0)),
        )
    )

    assert [c.verdict for c in close if c.name == "neckline over the head"] == [Verdict.NOTE]
    assert not any(c.name == "neckline over the head" for c in wide)


def test_a_facing_cut_narrower_fails_its_check() -> None:
    back, front = bodice()
    facings, seams, _ = neckline_facings(back, front, 5.0)
    checks = facing_checks((back, front, *facings), seams, facings, 6.0)

    assert [c.name for c in failed(checks)] == ["facing width", "facing width"]
