"""Derivatives and symbols: against sympy, and against small differences."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
import sympy

from drafting.errors import FormulaError
from drafting.formulas import Entry, Kind, Sheet, parse
from drafting.formulas.tree import FUNCTIONS, Call, Chain, Constant, Negative, Power, walk

CM, DEG, NUMBER = Kind.CM, Kind.DEG, Kind.NUMBER
INPUTS = {"bust": CM, "waist": CM, "back": CM, "slope": DEG, "fit": NUMBER}
BODIES = [
    {"bust": 92.0, "waist": 72.0, "back": 41.0, "slope": math.radians(22), "fit": 0.3},
    {"bust": 110.0, "waist": 104.5, "back": 39.2, "slope": math.radians(17), "fit": 0.8},
    {"bust": 78.0, "waist": 60.0, "back": 38.0, "slope": math.radians(25), "fit": -0.4},
]

#: Every operation of the language, each in a chain of others.
EVERYTHING = Sheet(
    [
        Entry("width", "bust / 24 + 3.4", CM),
        Entry("ratio", "waist / bust - fit * 0.1", NUMBER),
        Entry("side", "sqrt(width^2 + waist * back / 40 - 2 * cm^2)", CM),
        Entry("tilt", "asin(ratio / 2) + acos(ratio / 3) - atan(ratio * pi)", DEG),
        Entry("lean", "atan2(side - back, width) / 3 + tilt", DEG),
        Entry("drop", "hypot(side, width * 1.5) * tan(slope / 2)", CM),
        Entry("turn", "deg(bust / cm / 4 - 2.5) - slope * ratio", DEG),
        Entry("wave", "sin(turn) * cos(lean) + degrees(slope) / 90", NUMBER),
        Entry("least", "min(drop, side, width * wave + back)", CM),
        Entry("most", "max(drop, -side + back, least)", CM),
        Entry("gap", "abs(most - back * 3) + abs(bust - waist / 4)", CM),
        Entry("dart", "choose_below(bust, 95, gap / 8 + fit * cm, (most - least) / 4)", CM),
        Entry("power", "(ratio^0 + ratio^1 - ratio^2 * ratio^3) / (1 + ratio^4)", NUMBER),
        Entry("last", "dart * power - (-drop) / (2 - fit) + side", CM),
    ],
    INPUTS,
)


def test_the_sheet_uses_every_operation() -> None:
    nodes = [node for name in EVERYTHING.order for node in walk(EVERYTHING.formula(name).tree)]
    assert {node.function for node in nodes if isinstance(node, Call)} == set(FUNCTIONS)
    assert {node.exponent for node in nodes if isinstance(node, Power)} == {0, 1, 2, 3, 4}
    signs = {sign for node in nodes if isinstance(node, Chain) for sign, _ in node.rest}
    assert signs == set("+-*/")
    assert {node.name for node in nodes if isinstance(node, Constant)} == {"cm", "pi"}
    assert any(isinstance(node, Negative) for node in nodes)


@pytest.mark.parametrize("body", BODIES)
def test_values_against_sympy(body: dict[str, float]) -> None:
    found = EVERYTHING.evaluate(body)
    for name in EVERYTHING.order:
        expected = float(EVERYTHING.symbol(name).subs(symbols(body)).evalf(30))
        assert found[name] == pytest.approx(expected, rel=1e-12, abs=1e-13), name


def test_arrays_against_one_body_at_a_time() -> None:
    many = EVERYTHING.evaluate({key: np.array([body[key] for body in BODIES]) for key in INPUTS})
    for index, body in enumerate(BODIES):
        for name, value in EVERYTHING.evaluate(body).items():
            assert many[name][index] == pytest.approx(value, rel=1e-12, abs=1e-14)  # type: ignore[index]


@pytest.mark.parametrize("body", BODIES)
def test_slopes_against_sympy(body: dict[str, float]) -> None:
    found = EVERYTHING.gradient(body)
    for name in EVERYTHING.order:
        assert set(found[name]) == EVERYTHING.needs(name)
        symbol = EVERYTHING.symbol(name)
        for key, slope in found[name].items():
            exact = symbol.diff(sympy.Symbol(key, real=True)).subs(symbols(body)).evalf(30)
            assert slope == pytest.approx(float(exact), rel=1e-11, abs=1e-13), (name, key)


@pytest.mark.parametrize("body", BODIES)
def test_slopes_against_small_differences(body: dict[str, float]) -> None:
    found = EVERYTHING.gradient(body)
    for key in INPUTS:
        step = 1e-5 * max(1.0, abs(body[key]))
        beside = [
            EVERYTHING.evaluate({**body, key: body[key] + times * step}) for times in (-2, -1, 1, 2)
        ]
        for name in EVERYTHING.order:
            far_left, left, right, far_right = (float(values[name]) for values in beside)
            difference = (far_left - 8 * left + 8 * right - far_right) / (12 * step)
            slope = found[name].get(key, 0.0)
            assert slope == pytest.approx(difference, rel=1e-6, abs=1e-8), (name, key)


def symbols(body: dict[str, float]) -> dict[sympy.Symbol, sympy.Rational]:
    return {sympy.Symbol(key, real=True): sympy.Rational(value) for key, value in body.items()}


def slope(text: str, **values: float) -> dict[str, float]:
    kinds = dict.fromkeys(values, NUMBER)
    return Sheet([Entry("q", text, NUMBER)], kinds).gradient(values)["q"]


def test_slopes_of_closed_forms() -> None:
    assert slope("x * y", x=3.0, y=4.0) == {"x": 4.0, "y": 3.0}
    assert slope("x / y", x=3.0, y=4.0) == {"x": 0.25, "y": -3 / 16}
    assert slope("x^3", x=2.0) == {"x": 12.0}
    assert slope("hypot(x, y)", x=3.0, y=4.0) == {"x": 0.6, "y": 0.8}
    assert slope("sqrt(x)", x=16.0) == {"x": 0.125}
    assert slope("x - x", x=16.0) == {"x": 0.0}


def test_slopes_at_corners_are_of_the_side_the_value_comes_from() -> None:
    assert slope("abs(x)", x=0.0) == {"x": 1.0}
    assert slope("abs(x)", x=-2.0) == {"x": -1.0}
    assert slope("min(x, y)", x=1.0, y=1.0) == {"x": 1.0, "y": 0.0}
    assert slope("max(2 * x, 3 * x)", x=0.0) == {"x": 2.0}
    assert slope("choose_below(x, 1, x, 5 * x)", x=1.0) == {"x": 5.0}
    assert slope("choose_below(x, 1, x, 5 * x)", x=0.5) == {"x": 1.0}


def test_slopes_that_do_not_exist_are_nan() -> None:
    for text in ("sqrt(x - 1)", "degrees(asin(x))", "degrees(acos(x))", "hypot(x - 1, x - 1)"):
        assert math.isnan(slope(text, x=1.0)["x"])
    assert slope("choose_below(x, 5, x, sqrt(x - 1))", x=1.0) == {"x": 1.0}


def test_symbols_are_real_and_numbers_exact() -> None:
    bust = sympy.Symbol("bust_girth", real=True)
    assert parse("bust_girth / 24 + 3.4").symbol() == bust / 24 + sympy.Rational(17, 5)
    assert parse("sqrt(bust_girth^2)").symbol() == sympy.Abs(bust)
    assert parse("deg(30) * cm").symbol() == sympy.pi / 6
    assert parse("degrees(pi)").symbol() == 180
    assert parse("S + E + I").symbol().free_symbols == {
        sympy.Symbol(name, real=True) for name in "SEI"
    }


def test_a_quantity_is_written_out_down_to_its_measurements() -> None:
    bust = sympy.Symbol("bust", real=True)
    sheet = Sheet([Entry("half", "width / 2", CM), Entry("width", "bust / 24", CM)], INPUTS)
    assert sheet.symbol("half") == bust / 48


@pytest.mark.parametrize(
    "text",
    ["(((((((((9^4)^4)^4)^4)^4)^4)^4)^4)^4)^4", "(" * 39 + "x" + "^4)" * 39],
)
def test_powers_of_powers_are_not_written_out(text: str) -> None:
    with pytest.raises(FormulaError, match="too large"):
        parse(text, place="house.toml:7").symbol()


def test_chains_of_powers_and_sums_are_not_written_out() -> None:
    powers = [Entry("q0", "9 * fit", NUMBER)]
    doubles = [Entry("q0", "fit", NUMBER)]
    for index in range(1, 60):
        powers.append(Entry(f"q{index}", f"q{index - 1}^4", NUMBER))
        doubles.append(Entry(f"q{index}", f"q{index - 1} + atan(q{index - 1}) / deg(1)", NUMBER))
    for entries in (powers, doubles):
        sheet = Sheet(entries, INPUTS)
        assert sheet.symbol("q2").free_symbols == {sympy.Symbol("fit", real=True)}
        with pytest.raises(FormulaError, match=r"q\d+: written out in full this is too large"):
            sheet.symbol("q59")


def test_what_has_no_answer_at_all_cannot_be_written_out() -> None:
    with pytest.raises(FormulaError, match="cannot be written out"):
        parse("max(sqrt(-1), 2)").symbol()


def test_sympy_is_only_loaded_when_asked_for() -> None:
    code = (
        "import sys; from drafting.formulas import parse; "
        "parse('bust / 24').pretty(); parse('bust / 24').evaluate({'bust': 92.0}); "
        "assert 'sympy' not in sys.modules; parse('bust').symbol(); assert 'sympy' in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
