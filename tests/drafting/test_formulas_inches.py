"""A formula for a maker in inches is the same formula."""

from __future__ import annotations

import pytest

from blocks.bodice.methods import method, method_names, quantities
from blocks.body.body import complete
from drafting.formulas import Kind, parse
from drafting.formulas.inches import in_inches
from drafting.formulas.numbers import for_one
from drafting.formulas.writing import pretty
from drafting.units import CM_PER_INCH, LengthUnit
from tests.fronts import BODY

KINDS = {"bust_girth": Kind.CM, "depth": Kind.CM, "slope": Kind.DEG, "share": Kind.NUMBER}


@pytest.mark.parametrize(
    ("text", "kind", "inches"),
    [
        ("bust_girth / 24 + 3.4", Kind.CM, "bust girth ÷ 24 + 1.339"),
        ("2.5 * depth / 11.6", Kind.CM, "2.5 × depth ÷ 11.6"),  # a share stays
        ("7 + 0.6 * (bust_girth - 88) / 4", Kind.CM, "2.756 + 0.6 × (bust girth - 34.646) ÷ 4"),
        ("max(depth, 2)", Kind.CM, "max(depth, 0.787)"),
        ("choose_below(depth, 4, 0, 1)", Kind.NUMBER, "(0 if depth < 1.575, otherwise 1)"),
        ("12", Kind.CM, "4.724"),
        ("12", Kind.NUMBER, "12"),
        ("deg(bust_girth / cm / 4 - 2.5)", Kind.DEG, "(bust girth ÷ 0.394 ÷ 4 - 2.5)°"),
        ("2 / 3 + 0.5 * cm / depth", Kind.NUMBER, "2 ÷ 3 + 0.197 ÷ depth"),
    ],
)
def test_lengths_are_turned_and_shares_are_not(text: str, kind: Kind, inches: str) -> None:
    assert pretty(in_inches(parse(text).tree, KINDS, kind)) == inches


@pytest.mark.parametrize("name", method_names())
def test_worked_out_in_inches_every_quantity_comes_out_the_same(name: str) -> None:
    """To what a thousandth of an inch in each number may do."""
    chosen = method(name)
    known = quantities(chosen, complete(BODY), neck_ease=0.5)
    sheet = chosen.sheet
    kinds = {**sheet.inputs, **{key: entry.kind for key, entry in sheet.entries.items()}}
    values = {**known.inputs, **known.results}
    inside = {
        key: value / CM_PER_INCH if kinds[key] is Kind.CM else value
        for key, value in values.items()
        if key in kinds
    }
    for key in sheet.order:
        told = for_one(in_inches(sheet.formula(key).tree, kinds, kinds[key]))(inside)
        assert told == pytest.approx(inside[key], abs=4e-3), sheet.pretty(key, LengthUnit.INCH)
