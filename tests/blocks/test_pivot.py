"""A dart turned into another seam: nothing of the cloth is lost, nothing else moves."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from math import atan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.making_up import make_up, with_allowances
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.darts.pivot import merged, pivoted, seam_place
from blocks.darts.shapes import dart_called, ended
from blocks.darts.wish import front_places
from blocks.edges import EdgeName
from drafting.errors import DraftError
from drafting.geometry.curves import angle_between, line, polyline
from drafting.geometry.points import Point
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import CutPlan, Dart, Drill, Edge, Mark, MarkKind, Notch, Piece
from tests.strategies import bodies

METHODS = st.sampled_from(method_names())
SEAMS = st.sampled_from(
    [
        EdgeName.SIDE_SEAM,
        EdgeName.SHOULDER,
        EdgeName.NECKLINE,
        EdgeName.CENTRE_FRONT,
        EdgeName.SCYE,
        EdgeName.WAIST,
    ]
)
SHARES = st.sampled_from([0.25, 0.5, 1.0])
SLIM = {"bust_girth": 92.0, "waist_girth": 70.0, "back_waist_length": 39.0}
WAY_DOWN = Point(0.0, -1.0)


def card() -> Piece:
    """A sheet 20 square with a dart in its left side, apex in the middle, feet 4 apart: its angle
    has sine 5/13 and cosine 12/13. The right side is the centre, on the fold."""
    apex, first, second = Point(10.0, 10.0), Point(0.0, 12.0), Point(0.0, 8.0)
    low, high, far, top = Point(0.0, 0.0), Point(20.0, 0.0), Point(20.0, 20.0), Point(0.0, 20.0)
    return Piece(
        "CARD",
        "Card",
        (
            Edge(EdgeName.WAIST, line(low, high)),
            Edge(EdgeName.CENTRE_FRONT, line(high, far), on_fold=True),
            Edge(EdgeName.SHOULDER, line(far, top)),
            Edge(EdgeName.SIDE_SEAM, line(top, first)),
            Edge(EdgeName.DART_MOUTH, polyline((first, Point(-0.5, 9.0), second))),
            Edge(EdgeName.SIDE_SEAM, line(second, low)),
        ),
        CutPlan(cloth=1, on_fold=True),
        (Point(17.0, 2.0), Point(17.0, 18.0)),
        darts=(Dart("dart", apex, Point(8.0, 10.0), first, second, 4),),
        notches=(Notch("low", 0, 4.0), Notch("side", 5, 3.0), Notch("top", 3, 2.0)),
        marks=(Mark(MarkKind.STITCH, line(Point(2.0, 3.0), Point(6.0, 3.0)), "pocket"),),
        drills=(Drill(Point(8.0, 10.0), "dart"), Drill(Point(3.0, 4.0), "button")),
        label_at=Point(14.0, 14.0),
    )


def at(piece: Piece, name: EdgeName, share: float) -> float:
    return share * piece.length(name)


def fronts(taken: dict[str, float], chosen: str) -> Piece:
    return make_up(draft_bodice(complete(taken), BlockWish(chosen)))[1]


def cleared(piece: Piece) -> Piece:
    """Without the waist dart that reaches up beside the bust: nothing lies in the way of a cut."""
    for dart in piece.darts:
        if dart.name == "front side waist dart":
            return ended(piece, dart.name, 0.55 * dart.legs[0])
    return piece


def cloth_area(piece: Piece) -> float:
    """The area with every dart folded: the outline less its wedges."""
    ring: list[np.ndarray] = []
    for place, edge in enumerate(piece.edges):
        dart = next((d for d in piece.darts if d.mouth == place), None)
        if dart is None:
            ring.append(edge.curve.flatten(1e-5)[:-1])
        else:
            ring.append(np.array([tuple(dart.first), tuple(dart.apex)]))
    return float(Polygon(np.vstack(ring)).area)


def along_seam(piece: Piece, notch: Notch) -> tuple[EdgeName, float]:
    """The seam a notch is on, and its distance along it."""
    name = piece.edges[notch.edge].name
    before = sum(edge.length for edge in piece.edges[: notch.edge] if edge.name is name)
    return name, before + notch.at


def sound(piece: Piece) -> None:
    ring = Polygon(piece.outline())
    assert ring.is_valid
    assert ring.exterior.is_ccw
    wedges = [
        Polygon([tuple(p) for p in (dart.first, dart.tip, dart.second)]) for dart in piece.darts
    ]
    legs = [LineString([tuple(foot), tuple(d.tip)]) for d in piece.darts for foot in feet(d)]
    assert all(ring.buffer(1e-2).covers(leg) for leg in legs)
    assert all(a.intersection(b).area < 1e-9 for a, b in combinations(wedges, 2))
    for dart in piece.darts:
        assert dart.legs[0] == pytest.approx(dart.legs[1], abs=1e-6)
        assert dart.tip.to(dart.first) == pytest.approx(dart.tip.to(dart.second), abs=1e-6)
        mouth = piece.edges[dart.mouth]
        assert mouth.name is EdgeName.DART_MOUTH
        assert mouth.curve.start.to(dart.first) < 1e-9
        assert mouth.curve.end.to(dart.second) < 1e-9
    assert sum(e.name is EdgeName.DART_MOUTH for e in piece.edges) == len(piece.darts)
    for notch in piece.notches:
        assert 0.0 <= notch.at <= piece.edges[notch.edge].length + 1e-9


def feet(dart: Dart) -> tuple[Point, Point]:
    return dart.first, dart.second


def alike(one: Piece, two: Piece, *, caps: bool) -> None:
    """Equal to 1e-6: outline, darts, notches; their caps too when asked."""
    assert [e.name for e in one.edges] == [e.name for e in two.edges]
    for a, b in zip(one.edges, two.edges, strict=True):
        shares = (0.0, 0.2, 0.5, 0.9, 1.0)
        if caps or a.name is not EdgeName.DART_MOUTH:
            for share in shares:
                p, q = (c.at_length(share * c.length) for c in (a.curve, b.curve))
                assert p.to(q) < 1e-6
    for old, new in zip(one.darts, two.darts, strict=True):
        assert (old.name, old.mouth) == (new.name, new.mouth)
        for p, q in zip(ends(old), ends(new), strict=True):
            assert p.to(q) < 1e-6
    for n, m in zip(one.notches, two.notches, strict=True):
        assert (n.name, n.edge, n.kind) == (m.name, m.edge, m.kind)
        assert n.at == pytest.approx(m.at, abs=1e-6)


def ends(dart: Dart) -> tuple[Point, ...]:
    return dart.first, dart.apex, dart.tip, dart.second


# ---- closed forms -----------------------------------------------------------------------------


def test_a_quarter_of_a_card_turns_as_the_triangle_5_12_13_says() -> None:
    done = pivoted(card(), "dart", EdgeName.WAIST, 10.0, held_back=1.5)
    names = [edge.name.value for edge in done.edges]
    [dart] = done.darts

    assert names == ["waist", "dart mouth", "waist", "centre front", "shoulder"] + ["side seam"] * 2
    assert done.edges[0].curve.start.to(Point(10 - 170 / 13, 10 - 70 / 13)) < 1e-12
    assert dart.first.to(Point(10 - 50 / 13, 10 - 120 / 13)) < 1e-12
    assert dart.second == Point(10.0, 0.0)
    assert dart.apex == Point(10.0, 10.0)
    assert dart.angle == pytest.approx(2 * atan(0.2), abs=1e-14)
    half = atan(0.2)
    assert dart.tip.to(dart.apex + WAY_DOWN.turned(-half) * 1.5) < 1e-12
    # what stayed has not moved at all, what turned has turned with all that is on it
    assert done.edges[2].curve.end == Point(20.0, 0.0)
    assert done.notch_point(done.notches[2]) == Point(0.0, 18.0)
    assert done.notch_point(done.notches[0]).to(Point(4, 0).turned(-2 * half, dart.apex)) < 1e-12
    assert done.notch_point(done.notches[1]).to(Point(0, 5).turned(-2 * half, dart.apex)) < 1e-12
    [pocket] = done.marks
    assert pocket.curve.start.to(Point(2, 3).turned(-2 * half, dart.apex)) < 1e-12
    assert [drill.label for drill in done.drills] == ["dart", "button"]
    assert done.drills[0].at == dart.tip
    assert done.drills[1].at.to(Point(3, 4).turned(-2 * half, dart.apex)) < 1e-12
    assert done.label_at == Point(14.0, 14.0)
    assert done.grain == card().grain
    assert done.cut == card().cut


def test_the_upper_half_turns_the_other_way() -> None:
    done = pivoted(card(), "dart", EdgeName.SHOULDER, 10.0)
    [dart] = done.darts

    assert dart.first == Point(10.0, 20.0)
    assert dart.second.to(Point(10 - 50 / 13, 10 + 120 / 13)) < 1e-12
    assert done.notch_point(done.notches[0]) == Point(4.0, 0.0)
    # an upright dart is folded towards the centre: its cap mirrors the seam on the centre's leg
    seam = done.edges[dart.mouth - 1].curve
    cap = done.edges[dart.mouth].curve
    leg = (dart.tip - dart.first).unit
    off = angle_between(-seam.end_heading, leg), angle_between(leg, cap.start_heading)
    assert off[0] == pytest.approx(off[1], abs=1e-12)


def test_half_a_dart_leaves_the_other_half() -> None:
    done = pivoted(card(), "dart", EdgeName.WAIST, 10.0, 0.5, name="new")
    old, new = done.darts

    assert [old.name, new.name] == ["dart", "new"]
    assert old.angle == pytest.approx(atan(0.2), abs=1e-14)
    assert new.angle == pytest.approx(atan(0.2), abs=1e-14)
    assert old.first == Point(0.0, 12.0)
    assert old.apex.to(old.tip) == pytest.approx(2.0, abs=1e-12)
    assert [drill.label for drill in done.drills] == ["dart", "new", "button"]
    assert [done.drills[0].at, done.drills[1].at] == [old.tip, new.tip]
    # a dart that lies across is folded down, on to its lower leg
    after = done.edges[(old.mouth + 1) % len(done.edges)].curve
    leg = (old.tip - old.second).unit
    cap = done.edges[old.mouth].curve.reversed()
    assert abs(angle_between(after.start_heading, leg)) == pytest.approx(
        abs(angle_between(leg, cap.start_heading)), abs=1e-12
    )


def test_a_cut_centre_is_a_seam_and_its_lower_half_stays() -> None:
    done = pivoted(card(), "dart", EdgeName.CENTRE_FRONT, 10.0)
    [dart] = done.darts

    assert not any(edge.on_fold for edge in done.edges)
    assert done.cut == CutPlan(cloth=2, mirrored_pair=True)
    assert dart.first == Point(20.0, 10.0)
    assert dart.second.to(Point(10 + 120 / 13, 10 + 50 / 13)) < 1e-12
    assert done.edges[0].curve.end == Point(20.0, 0.0)
    assert done.grain[0] == Point(17.0, 2.0)
    assert done.grain[1].to(Point(17.0, 9.0)) < 1e-9  # a centimetre short of the cut


def test_two_darts_become_one_with_the_sum_of_their_angles() -> None:
    plain = card()
    waist = Point(9.0, 0.0), Point(11.0, 0.0)
    other = Dart("waist dart", Point(10.0, 5.0), Point(10.0, 5.0), *waist, 1)
    edges = list(plain.edges)
    edges[:1] = [
        Edge(EdgeName.WAIST, line(Point(0.0, 0.0), waist[0])),
        Edge(EdgeName.DART_MOUTH, line(*waist)),
        Edge(EdgeName.WAIST, line(waist[1], Point(20.0, 0.0))),
    ]
    piece = replace(
        plain,
        edges=tuple(edges),
        darts=(replace(plain.darts[0], mouth=6), other),
        notches=(),
        drills=(Drill(other.tip, other.name), Drill(plain.darts[0].tip, "dart")),
    )
    done = merged(piece, "dart", "waist dart", held_back=2.0)
    [dart] = done.darts

    assert dart.angle == pytest.approx(2 * atan(0.2) + 2 * atan(0.2), abs=1e-12)
    assert dart.second == waist[1]
    assert dart.first.to(waist[0].turned(-2 * atan(0.2), Point(10.0, 10.0))) < 1e-12
    assert dart.tip.to(Point(10.0, 10.0)) == pytest.approx(2.0, abs=1e-12)
    assert dart.legs[0] == pytest.approx(dart.legs[1], abs=1e-12)
    # folded, the waist lies as it lay with both darts folded
    before = other.closing().then(plain.darts[0].closing())
    assert dart.closing()(Point(20.0, 0.0)).to(before(Point(20.0, 0.0))) < 1e-11
    assert done.drills == (Drill(dart.tip, "dart"),)


# ---- every body -------------------------------------------------------------------------------


@settings(max_examples=30, deadline=None)
@given(taken=bodies(), chosen=METHODS, name=SEAMS, place=st.floats(0.3, 0.7), share=SHARES)
def test_a_moved_bust_dart_takes_nothing_from_the_front(
    taken: dict[str, float], chosen: str, name: EdgeName, place: float, share: float
) -> None:
    plain = cleared(fronts(taken, chosen))
    try:
        done = pivoted(plain, "bust dart", name, at(plain, name, place), share, name="moved")
    except DraftError as error:
        assert name in (EdgeName.WAIST, EdgeName.SIDE_SEAM)  # behind a waist dart
        assert "would cross" in str(error)
        return
    old, new = dart_called(plain, "bust dart"), dart_called(done, "moved")

    sound(done)
    for seam in EdgeName:
        if seam is not EdgeName.DART_MOUTH:
            assert done.length(seam) == pytest.approx(plain.length(seam), abs=1e-6)
    assert new.angle == pytest.approx(share * old.angle, abs=1e-9)
    left = [dart.angle for dart in done.darts if dart.name == "bust dart"]
    assert sum(left) == pytest.approx((1.0 - share) * old.angle, abs=1e-9)
    assert len(left) == (share < 1.0)
    assert new.tip.to(old.apex) == pytest.approx(2.0, abs=1e-9)
    assert cloth_area(done) == pytest.approx(cloth_area(plain), abs=2e-3)
    assert len(done.notches) == len(plain.notches)
    for was, now in zip(plain.notches, done.notches, strict=True):
        assert (was.name, was.kind) == (now.name, now.kind)
        seam, distance = along_seam(plain, was)
        assert along_seam(done, now) == (seam, pytest.approx(distance, abs=1e-6))
    if share == 1.0 and name is not EdgeName.SCYE:
        assert len(done.named(EdgeName.SCYE)) == 1
    for seam in (EdgeName.SCYE, name):
        for a, b in pairwise(done.seam_closed(seam)):
            assert a.end.to(b.start) < 1e-6
            assert abs(angle_between(a.end_heading, b.start_heading)) < 1e-5
    cut_line(with_allowances(done, {}, 1.0))


@settings(max_examples=25, deadline=None)
@given(taken=bodies(), chosen=METHODS, name=SEAMS, place=st.floats(0.35, 0.65))
def test_turning_it_back_gives_the_old_front(
    taken: dict[str, float], chosen: str, name: EdgeName, place: float
) -> None:
    plain = cleared(fronts(taken, chosen))
    home = plain.named(EdgeName.SCYE)[0].length
    held = plain.darts[-1].apex.to(plain.darts[-1].tip)
    there = at(plain, name, place)
    try:
        once = pivoted(plain, "bust dart", name, there)
    except DraftError as error:
        assert "would cross" in str(error)
        return
    back = pivoted(once, "bust dart", EdgeName.SCYE, home, held_back=held)
    if name in (EdgeName.CENTRE_FRONT, EdgeName.SIDE_SEAM):
        # what was cut and closed again is one straight edge
        assert len(back.named(name)) == 1

    alike(plain, back, caps=False)
    twice = pivoted(back, "bust dart", name, there)
    alike(once, twice, caps=True)
    # the old cap was trued about the apex, the new one about the legs that are stitched
    alike(back, pivoted(twice, "bust dart", EdgeName.SCYE, home, held_back=held), caps=True)


@settings(max_examples=25, deadline=None)
@given(taken=bodies(), chosen=METHODS, share=SHARES)
def test_bust_and_waist_dart_as_one_keep_every_seam(
    taken: dict[str, float], chosen: str, share: float
) -> None:
    plain = fronts(taken, chosen)
    if not any(dart.name == "front waist dart" for dart in plain.darts):
        return  # too little to take in
    done = merged(plain, "bust dart", "front waist dart", share, name="one")
    bust, waist = (dart_called(plain, name) for name in ("bust dart", "front waist dart"))
    one = dart_called(done, "one")

    sound(done)
    for seam in EdgeName:
        if seam is not EdgeName.DART_MOUTH:
            assert done.length(seam) == pytest.approx(plain.length(seam), abs=1e-6)
    assert one.angle == pytest.approx(share * bust.angle + waist.angle, abs=1e-9)
    assert one.tip.to(bust.apex) == pytest.approx(2.0, abs=1e-9)
    assert one.apex.to(bust.apex) < bust.apex.to(waist.apex)
    closed = done.seam_closed(EdgeName.WAIST)
    for a, b in pairwise(closed):
        assert a.end.to(b.start) < 1e-6
        assert abs(angle_between(a.end_heading, b.start_heading)) < 1e-5
    old = plain.seam_closed(EdgeName.WAIST)
    across = old[0].start.to(old[-1].end)
    assert closed[0].start.to(closed[-1].end) == pytest.approx(across, abs=1e-6)


# ---- refusals ---------------------------------------------------------------------------------


def test_a_cut_across_a_dart_or_a_drawn_line_is_refused() -> None:
    plain = fronts(SLIM, "bust-proportional")
    with pytest.raises(DraftError, match="would cross the front side waist dart"):
        pivoted(plain, "bust dart", EdgeName.SIDE_SEAM, 6.0)
    drawn = replace(
        card(), marks=(Mark(MarkKind.STITCH, line(Point(8.0, 3.0), Point(12.0, 3.0)), "pocket"),)
    )
    with pytest.raises(DraftError, match="would cross the pocket"):
        pivoted(drawn, "dart", EdgeName.WAIST, 10.0)
    across = replace(
        card(), marks=(Mark(MarkKind.STITCH, line(Point(3.0, 3.0), Point(3.0, 18.0)), "tuck"),)
    )
    with pytest.raises(DraftError, match="would cross the tuck"):
        pivoted(across, "dart", EdgeName.WAIST, 10.0)


def test_a_cut_out_of_the_cloth_is_refused() -> None:
    hollow = replace(
        card(),
        edges=(
            Edge(
                EdgeName.WAIST,
                polyline([Point(0.0, 0.0), Point(12.0, 9.0), Point(14.0, 0.0), Point(20.0, 0.0)]),
            ),
            *card().edges[1:],
        ),
        marks=(),
    )
    with pytest.raises(DraftError, match="would leave the cloth"):
        pivoted(hollow, "dart", EdgeName.WAIST, hollow.length(EdgeName.WAIST) - 3.0)


@pytest.mark.parametrize(
    ("name", "along", "said"),
    [
        (EdgeName.HEM, 3.0, "has no hem"),
        (EdgeName.WAIST, 0.0, "at an end of the waist"),
        (EdgeName.WAIST, 20.0, "at an end of the waist"),
        (EdgeName.SIDE_SEAM, 8.0, "where another dart opens"),
        (EdgeName.WAIST, float("nan"), "at an end of the waist"),
    ],
)
def test_a_place_that_is_none_is_refused(name: EdgeName, along: float, said: str) -> None:
    with pytest.raises(DraftError, match=said):
        pivoted(card(), "dart", name, along)


def test_a_place_on_a_seam_counts_its_sewn_length() -> None:
    assert seam_place(card(), EdgeName.SIDE_SEAM, 5.0) == (3, 5.0)
    assert seam_place(card(), EdgeName.SIDE_SEAM, 9.0) == (5, 1.0)


def test_what_cannot_be_folded_or_stitched_is_refused() -> None:
    with pytest.raises(DraftError, match=r"Card has no bust dart|card has no bust dart"):
        pivoted(card(), "bust dart", EdgeName.WAIST, 10.0)
    with pytest.raises(DraftError, match=r"cannot be held back by 7\.0 cm: its leg is 10\.0 cm"):
        pivoted(card(), "dart", EdgeName.WAIST, 10.0, held_back=7.0)
    uneven = replace(card().darts[0], first=Point(0.0, 12.0), apex=Point(10.0, 10.5))
    with pytest.raises(DraftError, match="legs of the dart differ"):
        pivoted(replace(card(), darts=(uneven,)), "dart", EdgeName.WAIST, 10.0)
    for share, name in ((0.5, "dart"), (0.0, "new"), (1.5, "new")):
        with pytest.raises(ValueError, match="two names for two darts"):
            pivoted(card(), "dart", EdgeName.WAIST, 10.0, share, name=name)


def test_a_dart_ended_lower_keeps_its_feet_and_its_fold() -> None:
    plain = fronts(SLIM, "bust-proportional")
    old = dart_called(plain, "front side waist dart")
    done = ended(plain, old.name, 4.0)
    new = dart_called(done, old.name)

    assert new == replace(old, tip=new.tip)
    assert new.tip.to(old.apex - Point(0.0, 4.0)) < 1e-9
    assert [d.at for d in done.drills if d.label == old.name] == [new.tip]
    assert done.edges[old.mouth].length > plain.edges[old.mouth].length  # a wider dart's cap
    assert [e for k, e in enumerate(done.edges) if k != old.mouth] == [
        e for k, e in enumerate(plain.edges) if k != old.mouth
    ]


def test_the_seams_of_the_data_are_seams_of_a_front() -> None:
    plain = fronts(SLIM, "direct-measure")
    assert all(plain.named(place.edge) for place in front_places().values())
