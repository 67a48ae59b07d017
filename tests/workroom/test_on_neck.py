"""The collar on the neck: said in words, and pictured from nearest to farthest as it lies."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import pi
from pathlib import Path

import numpy as np
import pytest

from drafting.units import LengthUnit
from garment.garment import Garment, make_garment
from garment.on_neck import SEEN, legend, neck_lines, on_neck
from workroom.card.card import open_card, read_card_text
from workroom.papers.pictures.neck_picture import (
    VIEWS,
    Layer,
    cells_of,
    neck_picture,
    painted,
    seen_from,
)

CLIENTS = Path(__file__).parents[2] / "data" / "clients"
TAPED = """
client = "Nora Vik"
date = 2026-03-01
unit = "cm"
[measurements]
neck_girth = 33.0
[neckline]
back_arc = 7.6
front_arc = 10.9
[collar]
kind = "band"
"""


@cache
def order_of(name: str) -> Garment:
    return make_garment(open_card(CLIENTS / f"{name}.toml"))


@pytest.mark.parametrize("name", ["demo", "band", "wing"])
def test_it_says_where_the_collar_stands_off_and_what_is_guessed(name: str) -> None:
    order = order_of(name)
    space = on_neck(order)
    assert not isinstance(space, str)
    assert on_neck(order) is space  # placed once for all papers
    said = " ".join(neck_lines(order, space))
    assert f"{space.numbers['top_off_front']:.1f} cm off at centre front" in said
    assert "touching at the side" in said
    assert ("would have to stretch by up to" in said) == (name == "demo")
    guessed = order.neckline.neck.estimated if order.neckline.neck else ()
    assert ("estimated" in said) == bool(guessed)


def test_inches_are_spoken_on_an_inch_card() -> None:
    order = order_of("band")
    space = on_neck(order)
    assert not isinstance(space, str)
    inch = replace(order, commission=replace(order.commission, unit=LengthUnit.INCH))
    said = " ".join(neck_lines(inch, space))
    assert " in off at centre front" in said
    assert " cm" not in said


@pytest.mark.parametrize(("name", "why"), [("none", "only collars"), ("flat", "only collars")])
def test_what_is_not_shown_says_why(name: str, why: str) -> None:
    assert why in str(on_neck(order_of(name)))


def test_a_taped_neckline_has_no_neck_to_be_shown_on() -> None:
    said = on_neck(make_garment(read_card_text(TAPED, "taped")))
    assert isinstance(said, str)
    assert "taped" in said
    assert "measurements" in said


def test_both_halves_are_there_and_mirror_each_other() -> None:
    space = on_neck(order_of("demo"))
    assert not isinstance(space, str)
    for layer in (Layer.NECK, Layer.SHOULDERS, Layer.STAND, Layer.FALL):
        right, left = (one.corners for one in cells_of(space) if one.layer is layer)
        assert left == pytest.approx(right * np.array([-1.0, 1.0, 1.0]))
    assert sum(one.layer is Layer.BEYOND for one in cells_of(space)) == 1  # one buttons over


def test_a_view_looks_from_her_front_and_her_left_is_on_its_right() -> None:
    front = seen_from(0.0, 0.0)
    right, up, nearer = front(np.array([-3.0, 2.0, 1.0]))  # her left, forward, up
    assert (right, up, nearer) == pytest.approx((3.0, 1.0, 2.0))
    back = seen_from(pi, 0.0)
    assert back(np.array([-3.0, 2.0, 1.0])) == pytest.approx((-3.0, 1.0, -2.0))
    for turn, raised in VIEWS:
        axes = seen_from(turn, raised).axes
        assert axes @ axes.T == pytest.approx(np.eye(3))


def test_what_lies_before_is_painted_after_what_it_hides() -> None:
    space = on_neck(order_of("demo"))
    assert not isinstance(space, str)
    seen = seen_from(*VIEWS[0])
    cells = painted(space, seen)
    strained = [cell for cell in cells if abs(cell.strain) >= SEEN]
    assert strained
    assert all(cell.cloth for cell in strained)
    assert all(0.0 <= cell.grey <= 1.0 for cell in cells)
    last_body = max(k for k, cell in enumerate(cells) if not cell.cloth)
    assert any(cell.cloth for cell in cells[last_body + 1 :])  # the near half of the collar
    assert any(cell.cloth for cell in cells[:last_body])  # the far half behind the neck


def test_strained_cells_are_marked_without_colour() -> None:
    space = on_neck(order_of("demo"))
    assert not isinstance(space, str)
    names = [type(shape).__name__ for shape in neck_picture(space, 300.0, 150.0).contents]
    assert names.count("Line") > 10
    assert "+ would have to stretch" in legend()
    assert "centre front" in legend()
