"""Shapes laid on paper: none over another, none over the edge, and little wasted."""

from __future__ import annotations

from math import pi

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from drafting.library import data_folder
from garment.garment import make_garment
from workroom.card.card import open_card
from workroom.papers.pages.laid_pieces import Item, Lay, items, lays, moved, nest
from workroom.papers.papers import sheet_content

GAP = 0.6


def polygons(draw: st.DrawFn) -> shapely.Polygon:
    corners = draw(st.lists(st.tuples(st.floats(0, 30), st.floats(0, 30)), min_size=3, max_size=8))
    hull = shapely.MultiPoint(corners).convex_hull.buffer(1.0)
    notch = shapely.box(*draw(st.tuples(*[st.floats(0, 15)] * 2)), 16.0, 17.0)
    left = hull.difference(notch)
    parts = [part for part in shapely.get_parts(left) if part.area > 0.5]
    return max(parts, key=lambda part: part.area, default=hull)


SHAPES = st.lists(st.composite(polygons)(), min_size=1, max_size=6)


def check(shapes: list[shapely.Polygon], lay: Lay, width: float) -> None:
    laid = [(spot.sheet, moved(s, spot.move)) for s, spot in zip(shapes, lay.spots, strict=True)]
    for k, (sheet, shape) in enumerate(laid):
        x0, y0, x1, y1 = shape.bounds
        assert min(x0, y0) >= GAP / 2 - 1e-9
        assert x1 <= width - GAP / 2 + 1e-9
        assert y1 <= lay.lengths[sheet] - GAP / 2 + 1e-9
        for other_sheet, other in laid[:k]:
            assert sheet != other_sheet or shape.distance(other) >= GAP - 1e-9
    for spot in lay.spots:
        assert spot.move.angle in (0.0, pi)
        assert not spot.move.mirrored


@given(SHAPES, st.floats(36.0, 90.0))
@settings(max_examples=40)
def test_nothing_overlaps_and_nothing_hangs_over(
    shapes: list[shapely.Polygon], width: float
) -> None:
    lay = nest([Item(shape) for shape in shapes], width)

    assert lay is not None
    assert len(lay.lengths) == 1
    check(shapes, lay, width)


@given(SHAPES)
@settings(max_examples=25)
def test_sheets_of_one_length_are_taken_as_needed(shapes: list[shapely.Polygon]) -> None:
    lay = nest([Item(shape) for shape in shapes], 40.0, 40.0)

    assert lay is not None
    assert {spot.sheet for spot in lay.spots} == set(range(len(lay.lengths)))
    assert max(lay.lengths) <= 40.0
    check(shapes, lay, 40.0)


def test_two_triangles_share_a_square() -> None:
    """Turned by half a turn one lies against the other: no box round either could do that."""
    triangle = shapely.Polygon([(0, 0), (20, 0), (0, 20)])
    lay = nest([Item(triangle), Item(triangle)], 24.0)

    assert lay is not None
    assert lay.lengths[0] < 26.0
    still = nest([Item(triangle, turns=False)] * 2, 24.0)
    assert still is not None
    assert still.lengths[0] > 32.0


def test_of_all_lays_the_shortest_on_the_fewest_sheets_is_kept() -> None:
    sizes = [(8, 13), (14, 6), (9, 12), (13, 13), (5, 14)]
    shapes = [Item(shapely.box(0, 0, *size)) for size in sizes]
    rolls = [lay.lengths for lay in lays(shapes, 21.0)]
    sheets = [lay.lengths for lay in lays(shapes, 21.0, 21.0)]

    assert min(rolls) < rolls[0] < max(rolls)
    assert nest(shapes, 21.0).lengths == min(rolls)
    # a third sheet that is hardly used counts for more than a second that is used a little more
    least = min(sheets, key=lambda lengths: (len(lengths), lengths[-1]))
    assert len(least) < max(map(len, sheets))
    assert least[-1] > min(lengths[-1] for lengths in sheets)
    assert nest(shapes, 21.0, 21.0).lengths == least


def test_a_shape_larger_than_the_sheet_has_no_lay() -> None:
    square = Item(shapely.box(0, 0, 30, 30))

    assert nest([square], 30.0) is None
    assert nest([square], 40.0, 30.0) is None
    assert nest([square], 31.0, 31.0) is not None


def test_the_demo_wastes_less_than_half_of_its_roll() -> None:
    """59 % of the paper is in pieces, as measured."""
    shapes = items(sheet_content(make_garment(open_card(data_folder() / "clients" / "demo.toml"))))
    lay = nest(shapes, 89.4)

    assert lay is not None
    used = sum(item.shape.area for item in shapes) / (89.4 * lay.lengths[0])
    assert used > 0.5


def test_a_lay_is_the_same_every_time() -> None:
    shapes = [Item(shapely.box(0, 0, w, h)) for w, h in ((10, 4), (10, 4), (7, 9), (3, 12))]

    assert nest(shapes, 21.0) == nest(shapes, 21.0)


@pytest.mark.parametrize("count", [0, 1])
def test_few_shapes_are_no_trouble(count: int) -> None:
    lay = nest([Item(shapely.box(0, 0, 5, 5))] * count, 20.0)

    assert lay is not None
    assert len(lay.spots) == count
