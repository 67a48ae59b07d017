"""The worksheet says what is drawn: its points are the draft's, and a maker who has nothing but its
printed numbers draws the same pieces."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from blocks.bodice.bodice import BlockWish, draft_bodice
from blocks.bodice.methods import method, method_names
from blocks.body.body import complete
from blocks.body.ease import EaseWish, ease_names
from drafting.errors import DraftError
from drafting.geometry.curves import polyline, through
from drafting.geometry.points import Point
from drafting.library import data_folder
from drafting.units import LengthUnit, parse_length
from garment.garment import Garment, make_garment
from tests.strategies import bodies
from workroom.card.card import open_card, read_card_text
from workroom.papers.booklets.worksheet_pdf import _whole
from workroom.worksheet.construction import construction, plan
from workroom.worksheet.making import make_worksheet, worksheet_lines
from workroom.worksheet.steps import Line, Plotted, Step

CLIENTS = data_folder() / "clients"


def order_of(name: str) -> Garment:
    return make_garment(open_card(CLIENTS / f"{name}.toml"))


def printed(point: Plotted) -> Point:
    """The point as a maker reads it."""
    return Point(parse_length(point.across, LengthUnit.CM), parse_length(point.up, LengthUnit.CM))


@settings(max_examples=40, deadline=None)
@given(
    body=bodies(),
    method=st.sampled_from(method_names()),
    ease=st.sampled_from(("", *ease_names())),
)
def test_every_construction_point_is_worked_out_as_the_draft_draws_it(
    body: dict[str, float], method: str, ease: str
) -> None:
    try:
        draft = draft_bodice(complete(body), BlockWish(method, ease=EaseWish(ease)))
    except DraftError:
        return
    plotted = {
        point.name: point.at
        for step in construction(draft, LengthUnit.CM)
        for point in step.plotted
    }
    assert set(plotted) == set(draft.points)
    for name, at in plotted.items():
        assert at.to(draft.points[name]) < 1e-9, name


def redrawn(line: Line) -> np.ndarray:
    """A line drawn from its printed points alone."""
    points = [printed(point) for point in line.points]
    if line.straight or len(points) == 2:
        return polyline(points).flatten()
    return through(points).flatten()


@pytest.mark.parametrize("client", ["demo", "small", "large"])
@pytest.mark.parametrize("unit", list(LengthUnit))
def test_the_pieces_can_be_drawn_from_the_printed_numbers_alone(
    client: str, unit: LengthUnit
) -> None:
    """To the millimetre in centimetres, to the sixteenth in inches, and a fair hand besides."""
    text = (CLIENTS / f"{client}.toml").read_text(encoding="utf-8")
    order = make_garment(read_card_text(text, "card"))
    if unit is LengthUnit.INCH:
        order = in_inches(order)
    near = 0.1 if unit is LengthUnit.CM else 0.2
    drawn = {step.piece.code: step for step in make_worksheet(order).steps if step.piece}
    assert set(drawn) == {piece.code for piece in order.pieces}
    for piece in order.pieces:
        step = drawn[piece.code]
        ring = np.vstack([redrawn(line) for line in step.lines])
        rebuilt, true = shapely.LinearRing(ring), shapely.LinearRing(piece.outline())
        assert shapely.hausdorff_distance(rebuilt, true, densify=0.05) < near, piece.code
        for line in step.lines:
            length = float(np.hypot(*np.diff(redrawn(line), axis=0).T).sum())
            assert abs(length - parse_length(line.shown, LengthUnit.CM)) < 2 * near


def in_inches(order: Garment) -> Garment:
    """The same order with results written in inches."""
    from dataclasses import replace

    return replace(order, commission=replace(order.commission, unit=LengthUnit.INCH))


def test_a_maker_reads_names_that_say_what_they_are() -> None:
    said = plan().called
    known = {name for key in method_names() for name in method(key).sheet.entries}
    assert said
    assert set(said) <= known
    text = "\n".join(worksheet_lines(make_worksheet(order_of("demo"))))
    assert "taken in by darts = waist to take in = " in text


def test_no_line_of_the_page_breaks_in_a_fraction() -> None:
    assert _whole("2 7/16 in + 3 cm ÷ 2").split(" ") == [
        "2\xa07/16\xa0in",
        "+",
        "3\xa0cm",
        "÷\xa02",
    ]


def test_every_quantity_is_worked_out_after_those_it_needs() -> None:
    order = order_of("demo")
    assert order.bodice is not None
    sheet = order.bodice.quantities.method.sheet
    seen: set[str] = set()
    for step in construction(order.bodice, LengthUnit.CM):
        for one in step.worked:
            assert one.uses <= sheet.formula(one.key).names
            assert one.uses - set(sheet.inputs) <= seen
            seen.add(one.key)
    assert {"half_width", "scye_width", "other_leg_x", "waist_front"} <= seen


def test_the_text_has_every_step_in_order_and_the_numbers_of_this_client() -> None:
    order = order_of("demo")
    text = "\n".join(worksheet_lines(make_worksheet(order)))
    steps: tuple[Step, ...] = make_worksheet(order).steps
    places = [text.index(f"{k}. {step.title}") for k, step in enumerate(steps, start=1)]
    assert places == sorted(places)
    assert "half width = (bust girth + bust ease) ÷ 2 = (94 + 10) ÷ 2 = 52.0 cm" in text
    assert "neck seam = 18.95 cm" in text
