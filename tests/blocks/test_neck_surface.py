"""The neck as a surface: its girths are those that were measured, and on a cone all is known."""

from __future__ import annotations

from dataclasses import replace
from math import asin, cos, exp, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.body.measures import measurements
from blocks.neck.measures import NeckShape, neck_figures, neck_on
from blocks.neck.surface import Heights, neck_surface, surface_under
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from tests.strategies import bodies

WOMAN = NeckShape(37.1, 33.0, 4.5, radians(13.0), 0.41, 6.6, 5.3)


def cone(radius: float, girth: float, height: float) -> NeckShape:
    """An upright round neck, level at its base."""
    return NeckShape(2.0 * pi * radius, girth, height, 0.0, 0.5, 0.0, radius)


def level(height: float) -> Heights:
    return lambda shares: np.full_like(shares, height)


def walked(points: FloatArray) -> float:
    """Length of a polyline: an integration that knows nothing of ours."""
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


@pytest.mark.parametrize(("girth", "height"), [(32.0, 4.0), (30.0, 6.0), (40.0, 5.0)])
def test_an_upright_round_neck_is_a_cone(girth: float, height: float) -> None:
    radius = 5.9
    surface = neck_surface(cone(radius, girth, height), height)
    lean_in = asin((2.0 * pi * radius - girth) / (2.0 * pi * height))
    assert surface.taper == pytest.approx(lean_in, abs=1e-9)
    assert surface.back_slope == pytest.approx(lean_in, abs=1e-9)
    assert surface.front_slope == pytest.approx(-lean_in, abs=1e-9)
    for up in (0.0, 1.0, height / 2, height):
        round_ = 2.0 * pi * (radius - up * sin(lean_in))
        assert surface.girth(up) == pytest.approx(round_, abs=1e-9)
        assert surface.reached(level(up)) == pytest.approx(round_, abs=1e-9)
        places = surface.points(np.linspace(0.0, 1.0, 9), up)
        assert places[:, 2] == pytest.approx(up * cos(lean_in), abs=1e-9)
        apart = np.hypot(places[:, 0], places[:, 1] - radius)
        assert apart == pytest.approx(round_ / (2.0 * pi), abs=1e-9)
    assert surface.turning_middle() in (pytest.approx(0.5, abs=1e-9), None)


def test_a_neck_that_does_not_narrow_is_a_cylinder() -> None:
    surface = neck_surface(cone(6.0, 12.0 * pi, 5.0), 3.0)
    assert surface.taper == pytest.approx(0.0, abs=1e-9)
    assert surface.girth(2.5) == pytest.approx(12.0 * pi, abs=1e-9)
    assert surface.turning_middle() is None


def test_a_strip_whose_height_changes_on_a_cylinder() -> None:
    """Unrolled, its top edge is a plane curve: a wave of known length."""
    radius = 6.0
    surface = neck_surface(cone(radius, 12.0 * pi, 5.0), 5.0)
    shares = np.linspace(0.0, 1.0, 20_001)
    wave = 3.0 - 0.5 * (1.0 - np.cos(pi * shares)) / 2.0
    plane = walked(np.column_stack((shares * pi * radius, wave)))
    found = surface.reached(lambda s: 3.0 - 0.5 * (1.0 - np.cos(pi * s)) / 2.0)
    assert found == pytest.approx(2.0 * plane, abs=1e-6)


@pytest.mark.parametrize("up", [0.0, 1.5, 3.0, 4.5])
def test_girths_are_those_of_the_drawn_lines(up: float) -> None:
    surface = neck_surface(WOMAN, 4.5)
    assert 2.0 * walked(surface.points(np.linspace(0.0, 1.0, 4001), up)) == pytest.approx(
        surface.girth(up), abs=1e-4
    )


def test_what_a_strip_reaches_lies_its_height_from_the_ring() -> None:
    """Near its seam, where the skin is as good as flat, places a height up a strip lie that far
    from the nearest place of the ring; higher up, its edge is walked on lines found by steps."""
    surface, shares = neck_surface(WOMAN, 3.0), np.linspace(0.0, 1.0, 8001)
    ring = surface.points(shares, 0.0)
    along = np.gradient(ring, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    lines = surface.points(shares, 1.0) - ring
    square = np.sqrt(1.0 - (along * lines).sum(axis=1) ** 2)
    for share in (0.05, 0.3, 0.5, 0.7, 0.95):
        at = round(share * 8000)
        [place] = surface.points(shares[[at]], 0.4 / square[at])
        assert np.linalg.norm(ring - place, axis=1).min() == pytest.approx(0.4, abs=0.01)
    edge = surface.points(shares, 3.0 / square)
    assert 2.0 * walked(edge) == pytest.approx(surface.reached(level(3.0)), abs=1e-3)


@settings(max_examples=25)
@given(
    taken=bodies(),
    method=st.sampled_from(method_names()),
    share=st.floats(0.15, 0.5),
    taped_at=st.floats(2.0, 5.0),
    height=st.floats(1.5, 5.0),
    lean=st.floats(0.0, 30.0),
)
def test_both_girths_are_those_measured(
    taken: dict[str, float], method: str, share: float, taped_at: float, height: float, lean: float
) -> None:
    """At the base and where it was taped; at any other height the girth of its fall."""
    base, neck = taken["neck_base_girth"], taken["neck_girth"]
    taped = {
        "collar_top_girth": neck + share * (base - neck),
        "collar_top_height": taped_at,
        "neck_lean": radians(lean),
    }
    shape = draft_bodice(complete({**taken, **taped}), BlockWish(method)).neckline.neck
    assert shape is not None
    surface = neck_surface(shape, taped_at)
    assert surface.girth(0.0) == pytest.approx(base, abs=1e-6)
    assert surface.reached(level(taped_at)) == pytest.approx(taped["collar_top_girth"], abs=1e-6)
    surface = neck_surface(shape, height)
    assert surface.reached(level(height)) == pytest.approx(shape.girth_at(height), abs=1e-6)
    ring = surface.points(np.linspace(0.0, 1.0, 801), 0.0)
    assert 2.0 * walked(ring) == pytest.approx(taken["neck_base_girth"], abs=0.01)
    upper = surface.points(np.linspace(0.0, 1.0, 801), height)
    lines = np.linalg.norm(upper - ring, axis=1)
    assert lines == pytest.approx(height, abs=1e-9)
    assert np.diff(ring[:, 1]).min() > -1e-9, "the ring never turns back"
    girths = [surface.girth(up) for up in np.linspace(0.0, height, 7)]
    assert np.all(np.diff(girths) < 0.0), "it narrows all the way up"
    side = ring[round(shape.back_share * 800)]
    assert side[0] == pytest.approx(shape.half_width, abs=0.05)


def test_the_ring_is_smooth_at_the_shoulder_and_square_to_the_middle() -> None:
    surface = neck_surface(WOMAN, 3.0)
    places = surface.points(np.linspace(0.0, 1.0, 2001), 0.0)
    steps = np.diff(places, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    assert np.abs(np.diff(steps, axis=0)).max() < 0.01
    assert steps[0] == pytest.approx([1.0, 0.0, 0.0], abs=0.01)
    assert steps[-1] == pytest.approx([-1.0, 0.0, 0.0], abs=0.01)
    assert places[0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert places[-1, 2] == pytest.approx(-WOMAN.front_drop, abs=1e-9)


def test_a_neck_that_leans_more_turns_its_strip_less_in_front() -> None:
    middles = [
        neck_surface(replace(WOMAN, lean=radians(lean)), 3.0).turning_middle()
        for lean in (0, 13, 30)
    ]
    assert [middle for middle in middles if middle] == sorted(filter(None, middles), reverse=True)
    assert None not in middles


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"top_height": 0.5}, "narrow by more than 45 degrees on 0.5 cm"),
        ({"back_share": 0.2}, "20 of 100 parts"),
        ({"front_drop": 10.6}, "too low|one ring"),
    ],
)
def test_what_is_no_neck_is_refused_with_its_reason(changed: dict[str, float], said: str) -> None:
    with pytest.raises(DraftError, match=said):
        neck_surface(replace(WOMAN, **changed), 0.5)  # type: ignore[arg-type]


def test_a_neck_says_what_of_it_was_only_estimated() -> None:
    body = complete({"bust_girth": 92.0, "waist_girth": 74.0, "back_waist_length": 39.0})
    shape = draft_bodice(body, BlockWish("direct-measure")).neckline.neck
    assert shape is not None
    keys = {"neck_base_girth", "neck_girth", "collar_top_girth", "neck_lean"}
    assert set(shape.estimated) == keys
    assert shape.top_height == 3.0
    assert not shape.taped


def test_the_estimate_of_the_upper_girth_is_the_fall_of_the_girth() -> None:
    """One law, written as a formula of the measurements and as figures of the neck."""
    figures = neck_figures()
    (rule,) = measurements()["collar_top_girth"].estimates
    for base, neck in ((37.1, 33.0), (41.0, 36.8), (33.6, 29.4)):
        narrower = figures["narrows"] * (base - neck)
        wanted = base - narrower * (1.0 - exp(-figures["top_height"] / figures["flare"]))
        told = rule.value({"neck_base_girth": base, "neck_girth": neck})
        assert told == pytest.approx(wanted, abs=1e-3)


@settings(max_examples=60)
@given(
    base=st.floats(31.0, 46.0),
    gap=st.floats(1.2, 8.2),
    share=st.floats(0.0, 0.6),
    taped_at=st.floats(1.0, 5.0),
    estimated=st.booleans(),
)
def test_the_girth_falls_all_the_way_and_less_and_less(
    base: float, gap: float, share: float, taped_at: float, estimated: bool
) -> None:
    """From the neck base on; as it is where it was taped, and where nothing was, never less than
    the neck."""
    figures, neck = neck_figures(), base - gap
    (rule,) = measurements()["collar_top_girth"].estimates
    taped = neck + share * gap
    at = figures["top_height"] if estimated else taped_at
    if estimated:
        taped = rule.value({"neck_base_girth": base, "neck_girth": neck})
    guessed = ("collar_top_girth",) if estimated else ()
    shape = NeckShape(base, taped, at, 0.2, 0.41, 6.6, 5.3, estimated=guessed)
    assert shape.girth_at(0.0) == pytest.approx(base)
    assert shape.girth_at(at) == pytest.approx(taped)
    girths = np.array([shape.girth_at(height) for height in np.linspace(0.0, 5.5, 56)])
    steps = np.diff(girths)
    assert (steps < 0.0).all()
    assert (np.diff(steps) > 0.0).all(), "hollow: it narrows less the higher up"
    if estimated:
        assert (girths > neck).all()
    assert shape.astray_at(at) == 0.0
    astray = 0.0 if estimated else figures["astray"]
    assert shape.astray_at(at + 1.0) == pytest.approx(astray)


def test_an_uneven_strip_is_held_against_the_neck_at_its_mean_height() -> None:
    surface = surface_under(WOMAN, lambda s: 3.0 - 0.5 * s)
    assert surface.height == pytest.approx(2.75, abs=1e-6)
    assert surface.taper == pytest.approx(neck_surface(WOMAN, 2.75).taper, abs=1e-9)


def test_the_same_neck_on_another_body_keeps_the_height_for_which_it_was_estimated() -> None:
    body = complete({"bust_girth": 92.0, "waist_girth": 74.0, "back_waist_length": 39.0})
    shape = draft_bodice(body, BlockWish("direct-measure")).neckline.neck
    assert shape is not None
    other = neck_on(shape, {**body.values, "collar_top_girth": 35.0, "collar_top_height": 2.0})
    assert (other.top_girth, other.top_height) == (35.0, 3.0)
    taped = replace(shape, estimated=())
    other = neck_on(taped, {**body.values, "collar_top_girth": 35.0, "collar_top_height": 2.0})
    assert (other.top_girth, other.top_height) == (35.0, 2.0)
