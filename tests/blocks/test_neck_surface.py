"""The neck as a surface: its girths are those that were measured, and on a cone all is known."""

from __future__ import annotations

from dataclasses import replace
from math import asin, cos, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method_names
from blocks.body.body import complete
from blocks.neck.measures import NeckShape
from blocks.neck.surface import Heights, NeckSurface, neck_surface
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
    surface = neck_surface(cone(radius, girth, height))
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
    surface = neck_surface(cone(6.0, 12.0 * pi, 5.0))
    assert surface.taper == pytest.approx(0.0, abs=1e-9)
    assert surface.girth(2.5) == pytest.approx(12.0 * pi, abs=1e-9)
    assert surface.turning_middle() is None


def test_a_strip_whose_height_changes_on_a_cylinder() -> None:
    """Unrolled, its top edge is a plane curve: a wave of known length."""
    radius = 6.0
    surface = neck_surface(cone(radius, 12.0 * pi, 5.0))
    shares = np.linspace(0.0, 1.0, 20_001)
    wave = 3.0 - 0.5 * (1.0 - np.cos(pi * shares)) / 2.0
    plane = walked(np.column_stack((shares * pi * radius, wave)))
    found = surface.reached(lambda s: 3.0 - 0.5 * (1.0 - np.cos(pi * s)) / 2.0)
    assert found == pytest.approx(2.0 * plane, abs=1e-6)


@pytest.mark.parametrize("up", [0.0, 1.5, 3.0, 4.5])
def test_girths_are_those_of_the_drawn_lines(up: float) -> None:
    surface = neck_surface(WOMAN)
    assert 2.0 * walked(surface.points(np.linspace(0.0, 1.0, 4001), up)) == pytest.approx(
        surface.girth(up), abs=1e-4
    )


def test_what_a_strip_reaches_lies_its_height_from_the_ring() -> None:
    """Near its seam, where the skin is as good as flat, places a height up a strip lie that far
    from the nearest place of the ring; higher up, its edge is walked on lines found by steps."""
    surface, shares = neck_surface(WOMAN), np.linspace(0.0, 1.0, 8001)
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
    assert surface.highest(level(3.0)) == pytest.approx(3.0 / square.min(), abs=1e-3)


@settings(max_examples=25)
@given(
    taken=bodies(),
    method=st.sampled_from(method_names()),
    height=st.floats(3.0, 7.0),
    lean=st.floats(0.0, 30.0),
)
def test_both_girths_are_those_measured(
    taken: dict[str, float], method: str, height: float, lean: float
) -> None:
    body = complete({**taken, "neck_height": height, "neck_lean": radians(lean)})
    shape = draft_bodice(body, BlockWish(method)).neckline.neck
    assert shape is not None
    surface = neck_surface(shape)
    assert surface.girth(0.0) == pytest.approx(taken["neck_base_girth"], abs=1e-6)
    assert surface.girth(height) == pytest.approx(taken["neck_girth"], abs=1e-6)
    ring = surface.points(np.linspace(0.0, 1.0, 801), 0.0)
    assert 2.0 * walked(ring) == pytest.approx(taken["neck_base_girth"], abs=0.01)
    upper = surface.points(np.linspace(0.0, 1.0, 801), height)
    assert 2.0 * walked(upper) == pytest.approx(taken["neck_girth"], abs=0.01)
    lines = np.linalg.norm(upper - ring, axis=1)
    assert lines == pytest.approx(height, abs=1e-9)
    assert np.diff(ring[:, 1]).min() > -1e-9, "the ring never turns back"
    girths = [surface.girth(up) for up in np.linspace(0.0, height, 7)]
    assert np.all(np.diff(girths) < 0.0), "it narrows all the way up"
    side = ring[round(shape.back_share * 800)]
    assert side[0] == pytest.approx(shape.half_width, abs=0.05)


def test_the_ring_is_smooth_at_the_shoulder_and_square_to_the_middle() -> None:
    surface = neck_surface(WOMAN)
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
        neck_surface(replace(WOMAN, lean=radians(lean))).turning_middle() for lean in (0, 13, 30)
    ]
    assert [middle for middle in middles if middle] == sorted(filter(None, middles), reverse=True)
    assert None not in middles


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"height": 0.5}, "narrow by more than 35 degrees on 0.5 cm"),
        ({"back_share": 0.2}, "20 of 100 parts"),
        ({"front_drop": 10.6}, "too low|one ring"),
    ],
)
def test_what_is_no_neck_is_refused_with_its_reason(changed: dict[str, float], said: str) -> None:
    with pytest.raises(DraftError, match=said):
        neck_surface(replace(WOMAN, **changed))  # type: ignore[arg-type]


def test_a_neck_says_what_of_it_was_only_estimated() -> None:
    body = complete({"bust_girth": 92.0, "waist_girth": 74.0, "back_waist_length": 39.0})
    shape = draft_bodice(body, BlockWish("direct-measure")).neckline.neck
    assert shape is not None
    assert set(shape.estimated) == {"neck_base_girth", "neck_girth", "neck_height", "neck_lean"}
    assert shape.height == 4.5
    assert isinstance(neck_surface(shape), NeckSurface)
