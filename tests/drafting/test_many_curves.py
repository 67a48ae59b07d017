"""Curves of many bodies at once: each as the one-by-one construction draws it, or no curve."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.arc_lengths import lengths
from drafting.curves import Curve, bezier, corner, through
from drafting.errors import DraftError
from drafting.many_curves import corners, cubic_lengths, spline_lengths
from drafting.points import Point, direction
from tests.long import examples

PLACES = st.floats(-20.0, 20.0).map(lambda v: round(v, 3))
POINTS = st.builds(Point, PLACES, PLACES)
ANGLES = st.floats(-3.1, 3.1)
BENDS = st.floats(-0.3, 0.3)


def together(points: list[Point]) -> Point:
    """Points as one, whose coordinates are arrays."""
    x, y = np.array([tuple(p) for p in points]).T
    return Point(x, y)


@settings(max_examples=examples(60))
@given(
    st.lists(
        st.tuples(POINTS, ANGLES, POINTS, ANGLES, st.floats(0.05, 1.2) | POINTS),
        min_size=1,
        max_size=12,
    ),
    st.booleans(),
)
def test_corners_are_those_of_one(
    rows: list[tuple[Point, float, Point, float, float | Point]], through_point: bool
) -> None:
    rows = [row for row in rows if isinstance(row[4], Point) == through_point]
    if not rows:
        return
    starts, ends = ([direction(row[k]) for row in rows] for k in (1, 3))
    p, q = together([row[0] for row in rows]), together([row[2] for row in rows])
    guides = [row[4] for row in rows]
    guide = together(guides) if through_point else np.array(guides)
    with np.errstate(all="ignore"):
        many = cubic_lengths(corners(p, together(starts), q, together(ends), guide))

    for k, row in enumerate(rows):
        try:
            one = corner(row[0], starts[k], row[2], ends[k], row[4]).length
        except DraftError:
            assert np.isnan(many[k])
        else:
            assert many[k] == pytest.approx(one, abs=1e-9)


@settings(max_examples=examples(30))
@given(st.lists(st.tuples(*[POINTS] * 5, ANGLES, ANGLES), min_size=1, max_size=6))
def test_splines_are_as_long_as_one(rows: list[tuple[Point, ...]]) -> None:
    stops = [together([row[k] for row in rows]) for k in range(5)]
    start, end = (direction(np.array([row[k] for row in rows])) for k in (5, 6))
    with np.errstate(all="ignore"):
        many = spline_lengths(stops, start, end)

    for k, row in enumerate(rows):
        try:
            one = through(row[:5], direction(row[5]), direction(row[6])).length
        except DraftError:
            assert np.isnan(many[k])
        else:
            assert many[k] == pytest.approx(one, abs=1e-9)


@settings(max_examples=examples(25))
@given(st.lists(st.tuples(POINTS, POINTS, POINTS, POINTS), min_size=5, max_size=30))
def test_a_piece_is_as_long_among_others_as_by_itself(
    rows: list[tuple[Point, Point, Point, Point]],
) -> None:
    """Cusps and mere points are among them."""
    rates = np.array([_rates(bezier(*row)) for row in rows])
    alone = [float(lengths(one[None])[0]) for one in rates]

    assert lengths(rates) == pytest.approx(alone, abs=2e-10)


@settings(max_examples=examples(25))
@given(
    st.lists(
        st.tuples(POINTS, ANGLES, st.floats(0.1, 30.0), BENDS, BENDS), min_size=5, max_size=30
    ),
    st.floats(0.0, 1.0),
)
def test_pieces_that_hardly_bend_are_right_to_a_rounding(
    rows: list[tuple[Point, float, float, float, float]], much: float
) -> None:
    """Fewer nodes do for those; by itself each is worked out with more."""
    rates = []
    for a, angle, size, one, other in rows:
        way = direction(angle) * size
        b, c = (way * (k / 3) + way.left * much * bend for k, bend in ((1, one), (2, other)))
        rates.append(_rates(bezier(a, a + b, a + c, a + way)))
    alone = [float(lengths(np.array([rate]))[0]) for rate in rates]

    assert lengths(np.array(rates)) == pytest.approx(alone, rel=1e-13)


def _rates(curve: Curve) -> list[tuple[float, float]]:
    (a, b, c, d), *_ = curve.beziers()
    return [tuple(3.0 * step) for step in (b - a, c - b, d - c)]
