"""The flat collar, and what every collar traced from laid shoulders has in common."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from blocks.neckline.on_block import NeckChange
from collars.drafts import CollarBase, CollarDraft
from collars.flat import flat
from collars.flat.draft import _neck_checks
from collars.flat.neck_edge import NeckShape, draw_neck_edge
from collars.laid_shoulders import lay_front_on_back
from collars.layers import inset_under_layer
from collars.parameters import resolve_parameters
from collars.registry import COLLARS
from drafting.errors import DraftError
from drafting.geometry.curves import through
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, Verdict, failed
from drafting.pieces.cloth_shapes import opened
from drafting.pieces.cutting import cut_line
from tests.collars.laid_grounds import LOWERED, WIDENED, ground_of, grounds
from tests.collars.laid_soundness import attempt, sound

GROUND = ground_of()


def draft(ground: CollarBase = GROUND, **wishes: float | str) -> CollarDraft:
    return flat.draft(ground, wishes)


def check(collar: CollarDraft, name: str) -> Check:
    (found,) = [one for one in collar.checks if one.name == name]
    return found


def refused(ground: CollarBase = GROUND, **wishes: float | str) -> dict[str, str]:
    with pytest.raises(DraftError) as caught:
        draft(ground, **wishes)
    return {problem.key: str(problem) for problem in caught.value.problems}


@st.composite
def wishes_of(draw: st.DrawFn, kind: str) -> dict[str, float | str]:
    """Wishes for some of the parameters, anywhere within their ranges."""
    wishes: dict[str, float | str] = {}
    for key, rule in COLLARS[kind].parameters.items():
        if draw(st.integers(0, 3)) == 0:
            if rule.choices:
                wishes[key] = draw(st.sampled_from(rule.choices))
            else:
                wishes[key] = draw(st.floats(rule.low, rule.high))
    return wishes


# ---- what must always hold ----------------------------------------------------------------------


@settings(max_examples=15)
@given(
    grounds(), st.sampled_from(["one piece", "two halves"]), st.sampled_from(["rounded", "pointed"])
)
def test_on_every_womans_block_it_is_sound_and_nothing_fails(
    ground: CollarBase, made: str, point: str
) -> None:
    collar = draft(ground, made=made, point=point)
    sound(collar, ground)
    assert not failed(collar.checks)
    assert collar.numbers["ease_back"] == pytest.approx(0.0, abs=1e-6)
    assert collar.numbers["ease_front"] == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=15)
@given(grounds(), wishes_of("flat"))
def test_whatever_the_rules_accept_is_sound_or_refused_with_a_reason(
    ground: CollarBase, wishes: dict[str, float | str]
) -> None:
    collar = attempt("flat", ground, wishes)
    if collar is None:
        return
    sound(collar, ground)
    may_fail = {
        f"neck edge to {what}" for what in ("half neckline", "back neckline", "front neckline")
    }
    assert {one.name for one in failed(collar.checks)} <= may_fail


# ---- its shape ----------------------------------------------------------------------------------


@settings(max_examples=15)
@given(grounds(), st.floats(4.0, 9.0), st.floats(0.0, 2.0))
def test_it_has_its_width_all_round_and_its_corners_at_the_fold_are_square(
    ground: CollarBase, width: float, overlap: float
) -> None:
    collar = attempt("flat", ground, {"width": width, "overlap": overlap, "point": "pointed"})
    if collar is None:
        return
    upper = collar.pieces[0]
    back = upper.named(EdgeName.NECK_SEAM)[0].curve
    outer = shapely.LineString(upper.named(EdgeName.OUTER_EDGE)[0].curve.flatten(1e-4))
    for share in np.linspace(0.0, 1.0, 9):  # over the back, before it is drawn to the point
        at = back.t_at_length(share * back.length)
        assert outer.distance(shapely.Point(*back.at(at))) == pytest.approx(width, abs=0.02)
    assert upper.length(EdgeName.CENTRE_BACK) == pytest.approx(width, abs=1e-6)
    squares = [one for one in collar.checks if one.name.startswith("square at the fold")]
    assert len(squares) == 4
    assert all(one.measured == pytest.approx(90.0, abs=0.01) for one in squares)


def test_front_edge_and_point_are_as_asked() -> None:
    collar = draft(point="pointed", point_length=7.5, point_lean=-2.0)
    upper = collar.pieces[0]
    seam = upper.named(EdgeName.NECK_SEAM)[1].curve
    end = upper.named(EdgeName.COLLAR_END)[0].curve
    step = end.end - end.start
    assert abs(step) == pytest.approx(7.5, abs=1e-9)
    assert step.dot(seam.end_heading) == pytest.approx(-2.0, abs=1e-9)
    assert step.dot(seam.end_heading.left) > 0.0


def test_a_rounded_front_is_one_smooth_line_from_neck_to_fold() -> None:
    upper = draft(point_radius=3.0).pieces[0]
    assert not upper.named(EdgeName.COLLAR_END)
    (outer,) = upper.named(EdgeName.OUTER_EDGE)
    lengths = np.linspace(0.05, outer.length - 0.05, 2000)
    turns = [outer.curve.heading(outer.curve.t_at_length(float(s))) for s in lengths]
    steps = [abs(a.cross(b)) for a, b in pairwise(turns)]
    assert max(steps) < 1.6 * (lengths[1] - lengths[0]) / 3.0


def test_two_halves_are_a_pair_shaped_at_both_ends() -> None:
    collar = draft(made="two halves", point="pointed", point_lean=-1.5)
    upper, under = collar.pieces
    assert upper.cut.mirrored_pair
    assert not upper.cut.on_fold
    assert (upper.cut.cloth, upper.cut.interfacing) == (2, 2)
    ends = upper.named(EdgeName.COLLAR_END)
    assert [end.length for end in ends] == pytest.approx([6.0, 6.0], abs=1e-9)
    back = ends[1].curve
    assert back.end.to(upper.edges[0].curve.start) < 1e-9
    assert back.start.x == pytest.approx(1.5, abs=1e-9)  # falls away from centre back
    assert not any(edge.on_fold for edge in under.edges)


@pytest.mark.parametrize("made", ["one piece", "two halves"])
@pytest.mark.parametrize("point", ["pointed", "rounded"])
def test_the_under_collar_is_smaller_at_its_free_edges_by_the_turn_of_the_cloth(
    made: str, point: str
) -> None:
    collar = draft(made=made, point=point, turn_of_cloth=0.4)
    upper, under = collar.pieces
    free = shapely.LineString(
        np.vstack(
            [
                e.curve.flatten(1e-4)
                for e in upper.edges
                if e.name is not EdgeName.NECK_SEAM and not e.on_fold
            ]
        )
    )
    inner = under.named(EdgeName.OUTER_EDGE)[0].curve
    gaps = [
        free.distance(shapely.Point(*inner.at_length(share * inner.length)))
        for share in np.linspace(0.35, 0.65, 7)
    ]
    assert gaps == pytest.approx([0.4] * 7, abs=0.01)
    for a, b in zip(upper.named(EdgeName.NECK_SEAM), under.named(EdgeName.NECK_SEAM), strict=True):
        assert (a.curve.controls == b.curve.controls).all()


def test_an_under_layer_without_a_corner_grows_smaller_over_four_centimetres() -> None:
    """From nothing at the neck seam; half of it half way, and all of it from there on."""
    (inner,) = inset_under_layer([through([Point(0.5 * k, 0.0) for k in range(41)])], 0.3)
    xy = inner.flatten()
    inside = np.interp([0.0, 2.0, 4.0, 12.0], xy[:, 0], xy[:, 1])
    assert inside == pytest.approx([0.0, 0.15, 0.3, 0.3], abs=0.01)


def test_with_no_turn_both_layers_are_one_shape() -> None:
    upper, under = draft(turn_of_cloth=0.0).pieces
    assert (upper.outline() == under.outline()).all()


# ---- sewn to its neckline -----------------------------------------------------------------------


@pytest.mark.parametrize("ease", [-0.2, 0.0, 0.15])
def test_it_is_longer_than_the_neckline_by_what_is_asked_shared_at_the_shoulder(
    ease: float,
) -> None:
    collar = draft(neck_ease=ease)
    assert collar.numbers["neck_edge"] - collar.numbers["neckline"] == pytest.approx(ease, abs=1e-7)
    eases = [seam.ease for seam in collar.seams[:2]]
    assert eases == pytest.approx([ease / 2, ease / 2], abs=1e-6)
    said = [note for note in collar.notes if "beside the shoulder" in note]
    assert len(said) == (2 if ease else 0)
    assert all(("stretch it on" if ease < 0 else "ease the collar in") in note for note in said)
    assert not failed(collar.checks)


def test_as_traced_the_difference_stays_and_too_much_of_it_stops_cutting() -> None:
    """Drawn lower at centre front the line grows; the advice says how low it would do."""
    name = "neck edge to half neckline"
    kept = draft(centre_front="as traced", front_drop=0.1)
    assert check(kept, name).verdict is Verdict.PASS
    assert kept.numbers["moved_at_front"] == 0.0
    deep = draft(centre_front="as traced", front_drop=0.9)
    bad = check(deep, name)
    assert bad.verdict is Verdict.FAIL
    assert bad.off == pytest.approx(sum(seam.ease for seam in deep.seams[:2]), abs=1e-6)
    lower = float(bad.advice.split("about ")[1].split(" cm below")[0])
    cured = check(draft(centre_front="as traced", front_drop=lower), name)
    assert cured.verdict is Verdict.PASS
    assert check(draft(front_drop=0.9), name).verdict is Verdict.PASS  # adjusted


def test_a_piece_that_does_not_fit_fails_its_check() -> None:
    """The check measures the piece, whatever the draft thought."""
    collar = draft()
    neck = draw_neck_edge(lay_front_on_back(GROUND.neckline, 1.25), NeckShape(0.15, 0.6))
    other = Neckline(GROUND.neckline.back_arc + 0.5, GROUND.neckline.front_arc)
    found = _neck_checks(collar.pieces[0], other, neck, resolve_parameters("flat", {})[0])
    assert [one.verdict for one in found[:3]] == [Verdict.FAIL, Verdict.FAIL, Verdict.PASS]


# ---- how it lies --------------------------------------------------------------------------------


@settings(max_examples=8)
@given(grounds(), st.floats(4.0, 9.0))
def test_more_overlap_stands_higher_and_both_reckonings_agree_within_a_third(
    ground: CollarBase, width: float
) -> None:
    plain = {
        "width": width,
        "back_raise": 0.0,
        "front_drop": 0.0,
        "point": "pointed",
        "point_lean": 0.0,
    }
    none, some, more = (draft(ground, overlap=v, **plain).numbers for v in (0.0, 1.0, 2.0))
    assert none["stand_by_shoulders"] == 0.0
    assert none["stand_by_outer_edge"] == pytest.approx(0.0, abs=0.01)
    assert 0.0 < some["stand_by_outer_edge"] < more["stand_by_outer_edge"]
    assert more["stand_by_outer_edge"] == pytest.approx(more["stand_by_shoulders"], rel=0.33)
    assert more["outer_edge_counted"] < more["outer_edge_lying_flat"]


def test_an_edge_too_short_to_lie_flat_is_noted_and_the_overlap_that_is_advised_cures_it() -> None:
    name = "outer edge long enough to lie where it should"
    ground = ground_of(style=NeckChange(-3.0, 6.0, 2.0))
    wishes = {"width": 12.0, "overlap": 2.0, "point_length": 12.0}
    short = check(draft(ground, **wishes), name)
    assert short.verdict is Verdict.NOTE
    overlap = float(short.advice.split("overlap of ")[1].split(" cm")[0])
    assert 0.0 <= overlap < 2.0
    cured = draft(ground, **wishes | {"overlap": overlap})
    assert check(cured, name).verdict is Verdict.PASS
    assert cured.numbers["stand_by_outer_edge"] <= 1.0
    assert check(draft(), name).verdict is Verdict.PASS


def test_it_covers_its_seam_by_its_width_less_twice_its_stand() -> None:
    collar = draft(overlap=2.0)
    found = check(collar, "collar covers its neck seam by")
    assert found.measured == pytest.approx(6.0 - 2 * collar.numbers["stand_by_outer_edge"])
    assert found.verdict is Verdict.PASS


def test_on_a_neckline_at_the_neck_base_it_says_that_a_lowered_one_is_better() -> None:
    assert any("base of the neck" in note for note in draft(ground_of(style=None)).notes)
    for style in (LOWERED, WIDENED):
        assert not any("base of the neck" in note for note in draft(ground_of(style=style)).notes)


# ---- cutting, refusals --------------------------------------------------------------------------


@pytest.mark.parametrize("wishes", [{}, {"point": "pointed"}, {"made": "two halves"}])
def test_every_piece_can_be_opened_and_cut(wishes: dict[str, str]) -> None:
    for piece in draft(**wishes).pieces:
        whole = opened(piece.with_allowances({EdgeName.NECK_SEAM: 0.6}, 1.0))
        times = 2 if piece.cut.on_fold else 1
        area = shapely.Polygon(whole.outline()).area
        assert area == pytest.approx(times * shapely.Polygon(piece.outline()).area, rel=1e-3)
        assert cut_line(whole).polygon().contains(shapely.Polygon(whole.outline()))


@pytest.mark.parametrize(
    ("wishes", "layers"),
    [({}, (1, 1)), ({"cloth": "coating"}, (0, 1)), ({"interfacing": "none"}, (0, 0))],
)
def test_interfacing_by_thickness(wishes: dict[str, str], layers: tuple[int, int]) -> None:
    assert tuple(piece.cut.interfacing for piece in draft(**wishes).pieces) == layers


def test_everything_wrong_is_said_at_once() -> None:
    said = refused(width=99.0, cloth="silk", overlop=1.0, point_lean=-5.0, point_length=5.0)
    assert set(said) == {
        "collar.width",
        "collar.cloth",
        "collar.overlop",
        "collar.point_lean",
    }
    assert "Did you mean overlap" in said["collar.overlop"]


@pytest.mark.parametrize(
    ("wishes", "key"),
    [
        ({"point_radius": 8.0}, "point_radius"),
        ({"point_lean": -6.0}, "point_lean"),
        (
            {"point": "pointed", "width": 9.0, "point_length": 3.0, "point_lean": -2.0},
            "point_length",
        ),
    ],
)
def test_what_is_impossible_is_refused_with_what_would_do(
    wishes: dict[str, float | str], key: str
) -> None:
    said = refused(**wishes)
    assert set(said) == {f"collar.{key}"}
    accepted = said[f"collar.{key}"].split("accepted: ")[1].split(" cm")[0]
    most = next(float(w) for w in accepted.split() if w.lstrip("-").replace(".", "").isdigit())
    assert not failed(draft(**{**wishes, key: most}).checks)


def test_a_taped_neckline_is_refused() -> None:
    assert COLLARS["flat"].needs_block
    assert "a tape is not enough" in refused(CollarBase(Neckline(7.6, 10.9)))["neckline"]


def test_the_same_order_gives_the_same_collar() -> None:
    a, b = draft(overlap=1.7), draft(overlap=1.7)
    assert a.numbers == b.numbers
    for one, other in zip(a.pieces, b.pieces, strict=True):
        assert (one.outline() == other.outline()).all()
