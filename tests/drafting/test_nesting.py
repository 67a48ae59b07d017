"""Shapes laid on a strip: never one on another, and as short as an exhaustive search where one can
be made."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drafting.geometry.nesting import Item, Nest, Nester, _least, shape

Sizes = list[tuple[float, float]]


def rectangle(width: float, height: float) -> np.ndarray:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def laid(sizes: Sizes, strip: float, gap: float = 0.0) -> Nest | None:
    items = [Item((shape(rectangle(*size), gap),)) for size in sizes]
    return Nester(gap).nest(items, strip)


def length_of(sizes: Sizes, strip: float, gap: float = 0.0) -> float:
    found = laid(sizes, strip, gap)
    assert found is not None
    return found.length


def shortest(sizes: Sizes, strip: float) -> float:
    """The shortest strip there is for a few rectangles, all places tried: in some best lay every
    rectangle is pushed to the left and down, so its corner stands at a sum of widths and a sum of
    heights of others."""
    best = sum(height for _, height in sizes)

    def sums(values: list[float]) -> list[float]:
        return sorted(
            {round(sum(some), 6) for n in range(len(values)) for some in combinations(values, n)}
        )

    across, along = sums([w for w, _ in sizes]), sums([h for _, h in sizes])

    def place(k: int, lying: list[tuple[float, float, float, float]], length: float) -> None:
        nonlocal best
        if length >= best - 1e-9:
            return
        if k == len(sizes):
            best = length
            return
        w, h = sizes[k]
        for y in along:
            for x in across:
                if x + w > strip + 1e-9:
                    break
                if all(
                    x >= a + c - 1e-9 or x + w <= a + 1e-9 or y >= b + d - 1e-9 or y + h <= b + 1e-9
                    for a, b, c, d in lying
                ):
                    place(k + 1, [*lying, (x, y, w, h)], max(length, y + h))

    place(0, [], 0.0)
    return best


halves = st.integers(2, 40).map(lambda n: n / 2)


def test_four_that_fill_the_width_take_one_row() -> None:
    assert length_of([(17.0, 50.0)] * 4, 68.0) == pytest.approx(50.0, abs=1e-6)
    assert length_of([(17.13, 50.0)] * 4, 4 * 17.13) == pytest.approx(50.0, abs=1e-6)
    assert length_of([(17.0, 50.0)] * 4, 67.9) == pytest.approx(100.0, abs=1e-6)


def test_a_gap_is_kept_between_but_not_at_the_sides() -> None:
    assert length_of([(17.0, 50.0)] * 4, 68.0 + 3 * 0.4, gap=0.4) == pytest.approx(50.0, abs=1e-6)
    assert length_of([(17.0, 50.0)] * 4, 68.0 + 2 * 0.4, gap=0.4) == pytest.approx(100.4, abs=1e-6)


def test_what_is_too_wide_is_not_laid() -> None:
    assert laid([(10.0, 5.0), (20.5, 1.0)], 20.0) is None


def test_a_hole_left_by_others_is_filled() -> None:
    """A small piece goes into the notch of a large one, though the large one came first."""
    notched = np.array(
        [(0, 0), (20, 0), (20, 10), (14, 10), (14, 4), (6, 4), (6, 10), (0, 10)], dtype=float
    )
    items = [Item((shape(notched, 0.0),)), Item((shape(rectangle(8.0, 6.0), 0.0),))]
    found = Nester(0.0).nest(items, 20.0)

    assert found is not None
    assert found.length == pytest.approx(10.0, abs=1e-6)
    assert (found.spots[1].x, found.spots[1].y) == pytest.approx((6.0, 4.0), abs=1e-6)


def test_a_turned_shape_is_taken_when_it_fits_better() -> None:
    wedge = np.array([(0.0, 0.0), (10.0, 0.0), (0.0, 30.0)])
    turned = np.array([(10.0, 30.0), (0.0, 30.0), (10.0, 0.0)])
    both = Item((shape(wedge, 0.0), shape(turned, 0.0)))
    one = Item((shape(wedge, 0.0),))
    nester = Nester(0.0)
    with_turns, without = nester.nest([both, both], 10.5), nester.nest([one, one], 10.5)

    assert with_turns is not None
    assert without is not None
    assert with_turns.length < 33.0 < without.length


@settings(max_examples=40)
@given(st.lists(st.tuples(halves, halves), min_size=1, max_size=4), st.integers(20, 60))
@example([(10.0, 10.0), (10.0, 5.0), (5.0, 10.0), (15.0, 5.0)], 30)
def test_a_few_rectangles_lie_as_short_as_can_be(sizes: Sizes, strip: int) -> None:
    assert length_of(sizes, float(strip)) == pytest.approx(shortest(sizes, float(strip)), abs=1e-6)


def test_what_is_remembered_of_other_lays_changes_none() -> None:
    """The same shapes laid by one that laid some of them before, on this width and another."""
    sizes = ((10.0, 12.0), (7.0, 9.5), (4.0, 30.0), (12.0, 3.0), (8.0, 8.0), (3.0, 5.0))
    items = [Item((shape(rectangle(*size), 0.4),)) for size in sizes]
    nester = Nester(0.4)
    nester.nest(items[:3], 24.0)
    nester.nest(items[::-1], 18.0)

    assert nester.nest(items, 24.0) == Nester(0.4).nest(items, 24.0)


corners = st.lists(st.tuples(halves, halves), min_size=4, max_size=9)


@settings(max_examples=40)
@given(st.lists(corners, min_size=1, max_size=7), st.sampled_from((0.0, 0.4, 1.3)))
def test_nothing_lies_on_anything(hulls: list[list[tuple[float, float]]], gap: float) -> None:
    outlines = []
    for points in hulls:
        star = shapely.MultiPoint(points).convex_hull.buffer(0.7)
        ring = shapely.get_coordinates(star.exterior)[:-1]
        outlines.append(ring - ring.min(axis=0))
    items = [Item((shape(ring, gap),)) for ring in outlines]
    found = Nester(gap).nest(items, 24.0)

    assert found is not None
    areas = [
        shapely.Polygon(ring + np.array([spot.x, spot.y]))
        for ring, spot in zip(outlines, found.spots, strict=True)
    ]
    for area in areas:
        x0, y0, x1, y1 = area.bounds
        assert x0 >= -1e-6
        assert x1 <= 24.0 + 1e-6
        assert y0 >= -1e-6
        assert y1 <= found.length + 1e-6
    for a, b in combinations(areas, 2):
        assert a.intersection(b).area < 1e-6
        assert a.distance(b) > 0.97 * gap - 1e-6  # half a gap round a corner is a fair polygon


def test_the_same_shapes_lie_the_same_way_every_time() -> None:
    sizes = [(7.0, 9.0), (12.5, 3.0), (4.0, 4.0), (9.0, 11.0), (3.5, 14.0), (8.0, 2.5)]

    assert laid(sizes, 25.0) == laid(sizes, 25.0)


@pytest.mark.parametrize(
    ("boxes", "width", "least"),
    [
        ([(2.0, 7.0), (3.0, 1.0)], 20.0, 7.0),  # as long as the longest
        ([(4.0, 5.0), (4.0, 5.0), (4.0, 5.0)], 8.0, 7.5),  # or as all of their cloth
        ([], 10.0, 0.0),
    ],
)
def test_no_lay_is_shorter_than_its_longest_shape_or_its_cloth(
    boxes: list[tuple[float, float]], width: float, least: float
) -> None:
    items = [Item((shape(rectangle(*box), 0.0),)) for box in boxes]

    assert _least(items, width) == pytest.approx(least)
    turned = [
        Item((*item.shapes, shape(rectangle(*box[::-1]), 0.0)))
        for item, box in zip(items, boxes, strict=True)
    ]
    shorter = max((min(w, h) for w, h in boxes), default=0.0)
    cloth = sum(w * h for w, h in boxes) / width
    assert _least(turned, width) == pytest.approx(max(shorter, cloth))
