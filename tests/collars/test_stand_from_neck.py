"""A stand from the client's neck: it turns as a cone does, its top edge has the room asked."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians, sqrt

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.neck.measures import NeckShape
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarBase, CollarDraft
from collars.parameters import collar_sheet, resolve_parameters
from collars.registry import COLLARS
from collars.stands.from_neck import NeckRise, rise_of
from collars.stands.stand import StandShape, bend_with_rise
from drafting.errors import DraftError, Problem
from drafting.geometry.points import FloatArray
from drafting.pieces.checks import Verdict
from tests.strategies import bodies

KINDS = ("two-piece shirt", "band", "wing")
TOP = "closed top edge at its height on the neck"
MEAN = {  # means of ANSUR II, 1986 women (data/survey/women.toml)
    "bust_girth": 94.7,
    "waist_girth": 81.0,
    "back_waist_length": 38.0,
    "stature": 162.8,
    "neck_girth": 32.98,
    "neck_base_girth": 37.12,
}
TAPED = {"collar_top_girth": 33.9, "collar_top_height": 3.0}


def cone(radius: float, girth: float, height: float) -> NeckShape:
    return NeckShape(2.0 * pi * radius, girth, height, 0.0, 0.5, 0.0, radius)


def on_cone(shape: NeckShape, height: float, ease: float, longer: float) -> NeckRise | Problem:
    """A stand of one height on an upright round neck, its neckline so much longer than it."""
    half = (shape.base_girth + longer) / 2.0
    sewn = Neckline(0.41 * half, 0.59 * half)
    values = resolve_parameters("band", {"finger_ease": ease})[0]
    asked = StandShape(height, height, 0.0, sewn.back_arc)
    return rise_of(shape, sewn, asked, "band", values, 0.0, free=False)


@pytest.mark.parametrize(
    ("girth", "height", "ease", "longer"),
    [(33.7, 3.0, 1.5, 0.5), (34.2, 2.0, 1.0, 0.0), (33.0, 4.0, 1.5, 1.0)],
)
def test_on_a_cone_the_strip_is_a_sector_of_a_ring(
    girth: float, height: float, ease: float, longer: float
) -> None:
    """Rolled out, a frustum of slant h is a sector of a ring: its edges are R a and (R - h) a. So
    bottom less top is h times the angle, whatever the bend's own shape (J. Steiner, 1840)."""
    shape = cone(5.9, girth, height)
    found = on_cone(shape, height, ease, longer)
    assert isinstance(found, NeckRise)
    bottom = (shape.base_girth + longer) / 2.0
    assert found.girth == pytest.approx(girth, abs=1e-9)
    top = (girth + ease) / 2.0
    angle = (bottom - top) / height
    radius = bottom / angle
    assert (radius - height) * angle == pytest.approx(top, abs=1e-12)
    assert bend_with_rise(0.41 * bottom, bottom, found.rise).angle == pytest.approx(angle, abs=1e-9)


def unrolled(bottom: FloatArray, top: FloatArray) -> float:
    """The angle by which the lower edge of a strip turns when its triangles are laid out one after
    another in the plane, each by its three sides alone."""
    low, high = np.zeros(2), np.array([0.0, np.linalg.norm(top[0] - bottom[0])])
    headings = []
    for k in range(len(bottom) - 1):
        after = laid(low, high, bottom[k], top[k], bottom[k + 1])
        headings.append(np.arctan2(*(after - low)[::-1]))
        high = laid(after, high, bottom[k + 1], top[k], top[k + 1])
        low = after
    return float(headings[-1] - headings[0]) * len(headings) / (len(headings) - 1)


def laid(
    a: FloatArray, b: FloatArray, at: FloatArray, bt: FloatArray, ct: FloatArray
) -> FloatArray:
    """The third corner, to the right of a to b, of a triangle known by its corners in space."""
    along = (b - a) / np.linalg.norm(b - a)
    side, far = np.linalg.norm(bt - at), np.linalg.norm(ct - at)
    x = (side**2 + far**2 - np.linalg.norm(ct - bt) ** 2) / (2.0 * side)
    y = sqrt(far**2 - x**2)
    return np.asarray(a + x * along + y * np.array([along[1], -along[0]]))


def test_the_turning_is_that_of_the_cone_unrolled_by_triangles() -> None:
    """The frustum the closed stand stands as, cut into slivers in space and laid out flat."""
    shape, height, ease = cone(5.9, 32.0, 4.5), 3.0, 1.5
    found = on_cone(shape, height, ease, 0.0)
    assert isinstance(found, NeckRise)
    low, high = 5.9, (found.girth + ease) / (2.0 * pi)
    turn = np.linspace(0.0, pi, 4001)
    circle = np.column_stack((np.sin(turn), -np.cos(turn), np.zeros_like(turn)))
    upright = np.array([0.0, 0.0, sqrt(height**2 - (low - high) ** 2)])
    angle = unrolled(low * circle, high * circle + upright)
    half = shape.base_girth / 2.0
    assert bend_with_rise(0.41 * half, half, found.rise).angle == pytest.approx(angle, abs=1e-4)


def test_on_a_cylinder_a_straight_strip_has_just_the_room_its_neckline_has() -> None:
    shape = cone(6.0, 12.0 * pi, 5.0)
    found = on_cone(shape, 3.0, 1.5, 1.5)
    assert isinstance(found, NeckRise)
    assert found.rise == pytest.approx(0.0, abs=1e-6)
    refused = on_cone(shape, 3.0, 1.5, 0.5)
    assert isinstance(refused, Problem)
    assert "neckline itself is too close" in refused.said


def on_block(
    taken: dict[str, float], kind: str, method: str = "bust-proportional", **wishes: float | str
) -> tuple[Neckline, CollarDraft]:
    bodice = draft_bodice(complete(taken), BlockWish(method, fit="both"))
    wishes = {"rise_by": "neck", **wishes}
    return bodice.neckline, COLLARS[kind].draft(CollarBase(bodice.neckline), wishes)


@settings(max_examples=40)
@given(
    taken=bodies(),
    kind=st.sampled_from(KINDS),
    method=st.sampled_from(method_names()),
    height=st.floats(2.2, 3.8),
    ease=st.floats(1.0, 2.5),
    share=st.floats(0.1, 0.5),
    taped_at=st.floats(2.0, 4.0),
)
def test_the_closed_top_edge_is_the_neck_at_its_height_and_the_room_asked(
    taken: dict[str, float],
    kind: str,
    method: str,
    height: float,
    ease: float,
    share: float,
    taped_at: float,
) -> None:
    """Measured on the piece, held against the neck: what was taped, where it was taped as high as
    the stand, and else what it falls to; or refused, and the reason is told."""
    wishes = {"stand_back": height, "stand_front": height, "finger_ease": ease}
    base, neck = taken["neck_base_girth"], taken["neck_girth"]
    taped = {"collar_top_girth": neck + share * (base - neck), "collar_top_height": taped_at}
    try:
        neckline, collar = on_block({**taken, **taped}, kind, method, **wishes)
    except DraftError as error:
        assert all(problem.got and problem.advice for problem in error.problems)
        assume("cannot be fitted" not in str(error))
        assert "rise_by" in str(error) or "wing_width" in str(error)
        return
    assert neckline.neck is not None
    girth = neckline.neck.girth_at(height)
    assert collar.numbers["closed_top_girth"] == pytest.approx(girth + ease, abs=0.01)
    (check,) = [one for one in collar.checks if one.name == TOP]
    assert check.verdict is Verdict.PASS
    assert collar.numbers["neck_at_top"] == pytest.approx(girth, abs=1e-9)
    rises = [one.measured for one in collar.checks if one.name == "rise at centre front"]
    assert rises
    assert rises == pytest.approx([collar.numbers["rise"]] * len(rises), abs=1e-9)


def test_a_neck_that_is_thicker_there_or_narrows_later_asks_less_rise() -> None:
    def rise(**changed: float) -> float:
        _, collar = on_block({**MEAN, **changed}, "two-piece shirt")
        (found,) = [one.measured for one in collar.checks if one.name.startswith("rise at")]
        return found

    taped = {"collar_top_girth": 33.9, "collar_top_height": 2.75}
    assert rise(**{**taped, "collar_top_girth": 34.4}) < rise(**taped)
    assert rise(**{**taped, "collar_top_height": 3.25}) < rise(**taped)
    assert rise(neck_girth=34.0) < rise() < rise(neck_girth=32.0)


def test_the_fall_follows_the_rise_that_was_reckoned() -> None:
    taken = {**MEAN, "neck_girth": 31.6}
    _, collar = on_block(taken, "two-piece shirt", fall_rise_by="rule")
    checks = {one.name: one for one in collar.checks}
    rise = checks["rise at centre front"].measured
    assert rise > 1.6
    assert checks["the fall's seam rises more than the stand's"].measured == pytest.approx(
        rise + 0.8, abs=1e-6
    )


@pytest.mark.parametrize("kind", KINDS)
def test_by_rule_and_by_number_it_is_what_it_always_was(kind: str) -> None:
    bodice = draft_bodice(complete(MEAN), BlockWish("direct-measure", fit="both"))
    draft = COLLARS[kind].draft
    usual = float(collar_sheet(kind).rules["rise"].default)

    def outlines(**wishes: float | str) -> list[FloatArray]:
        return [
            np.array(one.outline()) for one in draft(CollarBase(bodice.neckline), wishes).pieces
        ]

    def same(one: list[FloatArray], other: list[FloatArray]) -> bool:
        return all(np.array_equal(a, b) for a, b in zip(one, other, strict=True))

    plain, other = outlines(rise_by="rule"), outlines(rise=2.0)
    assert same(outlines(rise_by="number", rise=usual), plain)
    assert same(outlines(rise_by="number", rise=2.0), other)
    assert same(outlines(rise_by="rule", rise=2.0), plain)
    assert not same(other, plain)
    ruled = draft(CollarBase(bodice.neckline), {"rise_by": "rule", "rise": 2.0})
    assert any("is not used" in note for note in ruled.notes)


@pytest.mark.parametrize("kind", KINDS)
def test_left_open_it_comes_from_the_neck_where_that_is_known(kind: str) -> None:
    bodice = draft_bodice(complete(MEAN), BlockWish("direct-measure", fit="both"))
    neckline = bodice.neckline
    assert neckline.neck is not None

    def top(neckline: Neckline, **wishes: float | str) -> float:
        return COLLARS[kind].draft(CollarBase(neckline), wishes).numbers["closed_top_girth"]

    assert top(neckline) == top(neckline, rise_by="neck") != top(neckline, rise_by="rule")
    neither = frozenset({"neck_girth", "collar_top_girth"})
    guessed = replace(neckline, neck=replace(neckline.neck, estimated=neither))
    assert top(guessed) == top(neckline, rise_by="rule")
    taped = replace(neckline, neck=replace(neckline.neck, estimated=frozenset({"neck_girth"})))
    assert top(taped) == top(taped, rise_by="neck")
    wide = replace(neckline, front_arc=neckline.front_arc + 2.0)
    assert top(wide) == top(wide, rise_by="rule")
    said = COLLARS[kind].draft(CollarBase(wide), {}).notes
    assert any("usual rise, for this neckline is" in note for note in said)


def test_a_neck_that_leans_far_forward_bends_its_stand_farther_back() -> None:
    """Upright, the throat leans in against the ring and the nape out: all turning is in front. A
    neck that leans with its ring turns the strip more evenly."""

    _, upright = on_block({**MEAN, "neck_lean": radians(5.0)}, "band")
    _, leaning = on_block({**MEAN, "neck_lean": radians(34.0)}, "band")
    at_shoulder = [one.pieces[0].edges[0].curve.end.y for one in (upright, leaning)]
    assert at_shoulder[0] == pytest.approx(0.0, abs=1e-9)
    assert at_shoulder[1] > 0.02
    assert upright.numbers["turning_angle"] == pytest.approx(
        leaning.numbers["turning_angle"], rel=0.05
    )


def test_what_was_estimated_is_said() -> None:
    _, collar = on_block(MEAN, "band")
    assert any("Estimated for that rise" in note and "neck lean" in note for note in collar.notes)
    assert any("not taped at that height" in one and "0.9 cm" in one for one in collar.notes)
    assert collar.leans_on == {"neck_base_girth", "collar_top_girth", "neck_lean"}
    whole = {**MEAN, **TAPED, "neck_lean": radians(14.0)}
    _, collar = on_block(whole, "band")
    assert not any("stimated" in note or "taped" in note for note in collar.notes)
    assert collar.leans_on == {
        "neck_base_girth",
        "collar_top_girth",
        "collar_top_height",
        "neck_lean",
    }


@pytest.mark.parametrize("height", [2.0, 3.0, 4.0])
@pytest.mark.parametrize("girth", [34.0, 34.6, 35.2])
def test_with_the_girth_taped_at_its_height_the_stand_is_right_by_construction(
    girth: float, height: float
) -> None:
    """Whatever neck girth, lean and law say: the closed top edge is that girth and the room."""
    taped = {"collar_top_girth": girth, "collar_top_height": height}
    for more in ({}, {"neck_girth": 31.8}, {"neck_lean": radians(24.0)}):
        _, collar = on_block({**MEAN, **taped, **more}, "band", stand_back=height)
        assert collar.numbers["neck_at_top"] == pytest.approx(girth, abs=1e-6)
        assert collar.numbers["closed_top_girth"] == pytest.approx(girth + 1.5, abs=0.01)


def test_a_tape_at_another_height_or_below_the_neck_girth_is_told() -> None:
    def notes(**changed: float) -> list[str]:
        return [*on_block({**MEAN, **TAPED, **changed}, "band")[1].notes]

    assert not any("again" in note for note in notes())
    (far,) = [note for note in notes(collar_top_height=2.0) if "again" in note]
    assert "taped 2.0 cm above the chain" in far
    assert "3 cm high" in far
    (thin,) = [note for note in notes(collar_top_girth=32.6) if "measure both again" in note]
    assert "32.6 cm, is less than her neck girth, 33.0 cm" in thin


def test_a_collar_must_never_be_tight_on_the_neck_is_said_wherever_the_neck_is_asked() -> None:
    for taken in (MEAN, {**MEAN, **TAPED}):
        for kind in KINDS:
            notes = on_block(taken, kind)[1].notes
            assert any("must never be tight on the neck" in note for note in notes)


def refusal(neckline: Neckline, kind: str = "band", **wishes: float | str) -> Problem:
    with pytest.raises(DraftError) as caught:
        COLLARS[kind].draft(CollarBase(neckline), {"rise_by": "neck", **wishes})
    (problem,) = caught.value.problems
    return problem


def test_where_the_neck_does_not_allow_it_the_reason_is_told() -> None:
    bodice = draft_bodice(complete(MEAN), BlockWish("direct-measure", fit="both"))
    neckline = bodice.neckline
    taped = Neckline(neckline.back_arc, neckline.front_arc, neck_girth=33.0)
    assert "neckline was taped" in refusal(taped).said
    assert "nothing is known" in refusal(neckline, stand_back=6.0).said
    assert "is too close" in refusal(neckline, finger_ease=4.0, stand_back=1.5).said
    assert neckline.neck is not None
    thin = replace(neckline, neck=replace(neckline.neck, top_girth=30.0))
    assert "no rise up to 3.5 cm" in refusal(thin).said
    wide = replace(neckline, front_arc=neckline.front_arc + 2.0)
    assert "longer than the neck base" in refusal(wide).said
    vee = replace(neckline, shape="v")
    assert "of v shape" in refusal(vee).said
    low = replace(neckline, neck=replace(neckline.neck, top_girth=30.0, top_height=0.4))
    assert "make no neck" in refusal(low, stand_back=1.5, stand_front=1.0).said


def test_a_band_that_stops_short_leaves_its_gap_to_the_neck() -> None:
    neckline, collar = on_block(MEAN, "band", ends="short", gap=0.5)
    assert neckline.neck is not None
    top = 2.0 * collar.numbers["top_edge"] + 1.0
    assert top == pytest.approx(collar.numbers["neck_at_top"] + 1.5, abs=0.01)


def test_a_closer_stand_is_not_advised_without_its_caution() -> None:
    """The check against the middle of the neck names a rise that would bring the top edge there.
    Higher up than the collar stands the neck is thicker, so that would press."""
    bodice = draft_bodice(complete(MEAN), BlockWish("direct-measure", fit="both"))
    collar = COLLARS["band"].draft(CollarBase(bodice.neckline), {"rise_by": "rule"})
    (check,) = [one for one in collar.checks if one.name.startswith("closed top edge")]
    assert "longer than asked" in check.advice
    reckoned = COLLARS["band"].draft(CollarBase(bodice.neckline), {"rise_by": "neck"})
    assert f"{reckoned.numbers['neck_at_top']:.1f} cm round and would press" in check.advice
    taped = replace(bodice.neckline, neck=None)
    collar = COLLARS["band"].draft(CollarBase(taped), {})
    (check,) = [one for one in collar.checks if one.name.startswith("closed top edge")]
    assert "longer than asked" in check.advice
    assert "press" not in check.advice
