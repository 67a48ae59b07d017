"""Reading, working out and writing single formulas."""

from __future__ import annotations

import math
import pickle
import re

import numpy as np
import pytest

from drafting.errors import FormulaError
from drafting.formulas import parse
from drafting.formulas.tree import RESERVED

BODY = {"bust_girth": 92.0, "waist_girth": 72.0, "slope": math.radians(20), "fit": 0.25}


VALUES = [
    ("12", 12.0),
    ("3.5", 3.5),
    (".5", 0.5),
    ("cm", 1.0),
    ("pi", math.pi),
    ("1 + 2 * 3", 7.0),
    ("(1 + 2) * 3", 9.0),
    ("7 - 4 - 2", 1.0),
    ("7 - (4 - 2)", 5.0),
    ("48 / 4 / 3", 4.0),
    ("48 / (4 / 3)", 36.0),
    ("12 / 3 * 2", 8.0),
    ("-3^2", -9.0),
    ("(-3)^2", 9.0),
    ("2 * -3", -6.0),
    ("2 - -3", 5.0),
    ("--3", 3.0),
    ("5^0", 1.0),
    ("5^1", 5.0),
    ("2^3", 8.0),
    ("3^4", 81.0),
    ("2^2 * 3^2", 36.0),
    ("sqrt(16)", 4.0),
    ("sin(deg(30))", 0.5),
    ("cos(deg(60))", 0.5),
    ("tan(deg(45))", 1.0),
    ("degrees(asin(0.5))", 30.0),
    ("degrees(acos(0.5))", 60.0),
    ("degrees(atan(1))", 45.0),
    ("degrees(atan2(1, -1))", 135.0),
    ("hypot(3, 4)", 5.0),
    ("abs(3 - 5)", 2.0),
    ("min(3, 1, 2)", 1.0),
    ("max(3, 1, 2, 7)", 7.0),
    ("min(1, 2)", 1.0),
    ("choose_below(1, 2, 10, 20)", 10.0),
    ("choose_below(2, 2, 10, 20)", 20.0),
    ("choose_below(3, 2, 10, 20)", 20.0),
    ("bust_girth / 24 + 3.4", 92 / 24 + 3.4),
    ("  bust_girth/24\n\t+ 3.4 ", 92 / 24 + 3.4),
    ("bust_girth / 4 * (1 + fit)", 28.75),
    ("degrees(slope)", 20.0),
]


@pytest.mark.parametrize(("text", "value"), VALUES)
def test_value(text: str, value: float) -> None:
    assert parse(text).evaluate(BODY) == pytest.approx(value, rel=1e-14)


def test_a_formula_knows_its_text_place_and_names() -> None:
    formula = parse("bust_girth / 24 + min(fit, sqrt(4)) * cm", place="house.toml:7")
    assert formula.text == "bust_girth / 24 + min(fit, sqrt(4)) * cm"
    assert formula.place == "house.toml:7"
    assert formula.names == {"bust_girth", "fit"}
    assert formula == parse(formula.text, place="house.toml:7")
    assert formula.tree == parse("bust_girth/24+min( fit,sqrt(4))*cm").tree
    assert formula.tree != parse("bust_girth/24-min( fit,sqrt(4))*cm").tree


def test_a_formula_can_be_sent_to_another_process() -> None:
    formula = parse("bust_girth / 24 + 3.4")
    before = formula.evaluate(BODY)
    copy = pickle.loads(pickle.dumps(formula))
    assert copy == formula
    assert copy.evaluate(BODY) == before


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [
        ("", 1, "empty"),
        ("   ", 1, "empty"),
        ("bust_girth / ", 14, "missing"),
        ("bust_girth / * 2", 14, "does not fit"),
        ("2 ** 3", 4, "Write \\^"),
        ("2 bust_girth", 3, "Write \\*"),
        ("2(3)", 2, "Write \\*"),
        ("3,4 + 2", 2, "written with a point"),
        ("(1 + 2", 7, "missing"),
        ("1 + 2)", 6, "does not fit"),
        ("()", 2, "does not fit"),
        ("3. + 2", 2, "decimal point"),
        ("1.2.3", 4, "does not fit"),
        ("2^5", 3, "whole number from 0 to 4"),
        ("2^9999", 3, "whole number from 0 to 4"),
        ("2^-1", 3, "whole number from 0 to 4"),
        ("2^0.5", 3, "whole number from 0 to 4"),
        ("2^fit", 3, "whole number from 0 to 4"),
        ("2^(1+1)", 3, "whole number from 0 to 4"),
        ("2^2^2", 4, "in brackets"),
        ("sqrt", 1, "needs brackets"),
        ("sqrt()", 1, "sqrt has 0"),
        ("sqrt(1, 2)", 1, "sqrt has 2"),
        ("atan2(1)", 1, "atan2\\(y, x\\)"),
        ("min(1)", 1, "min has 1"),
        ("choose_below(1, 2, 3)", 1, "has 3"),
        ("squrt(4)", 1, "Did you mean sqrt"),
        ("pi(4)", 1, "no such function"),
        ("bust_girth(4)", 1, "Write \\*"),
        ("a.b", 2, "decimal point"),
        ("__import__('os')", 1, "starts with a letter"),
        ("1 + '2'", 5, "no meaning"),
        ("1 + \x00", 5, "'\\\\x00'"),
        ("1 + \u200b2", 5, "u200b"),
        ("٣ + 2", 1, "no meaning"),
        ("１ + 2", 1, "no meaning"),
        ("bust × 2", 6, "Write \\* for times"),
        ("22°", 3, "deg\\(22\\)"),
        ("1234567890", 1, "too many digits"),
        ("1.1234567890", 1, "too many digits"),
        ("1e5", 2, "does not fit"),
    ],
)
def test_what_cannot_be_read(text: str, column: int, said: str) -> None:
    with pytest.raises(FormulaError, match=said) as caught:
        parse(text, place="house.toml:7")
    (problem,) = caught.value.problems
    assert problem.place == "house.toml:7"
    assert problem.said.startswith(f"column {column}: ")


def test_what_was_found_and_what_may_stand_there() -> None:
    with pytest.raises(FormulaError) as caught:
        parse("bust_girth / )", place="house.toml:7")
    (problem,) = caught.value.problems
    assert problem.got == "')'"
    assert problem.accepted == "a number, a name, - or ("
    with pytest.raises(FormulaError) as caught:
        parse("bust_girth /")
    assert caught.value.problems[0].got == "the end of the formula"


def test_text_that_is_no_text() -> None:
    with pytest.raises(FormulaError, match="text in quotes"):
        parse(12)  # type: ignore[arg-type]


def test_bounds_are_where_they_are_said_to_be() -> None:
    assert parse("1" + " " * 499).evaluate({}) == 1.0
    with pytest.raises(FormulaError, match="too long"):
        parse("1" + " " * 500)
    for opening, closing in [("(", ")"), ("sqrt(", ")"), ("-", "")]:
        formula = parse(opening * 40 + "1" + closing * 40)
        assert formula.evaluate({}) == 1.0
        assert formula.pretty()
        with pytest.raises(FormulaError, match="nested too deep"):
            parse(opening * 41 + "1" + closing * 41)
    assert parse("123456789.123456789").evaluate({}) == 123456789.123456789


def test_brackets_side_by_side_are_not_deep() -> None:
    assert parse("+".join(["(1)"] * 100)).evaluate({}) == 100.0
    assert parse("+".join(["1"] * 250)).evaluate({}) == 250.0
    assert parse("+".join(["-1"] * 100)).evaluate({}) == -100.0
    assert parse("+".join(["abs(1)"] * 70)).evaluate({}) == 70.0


@pytest.mark.parametrize(
    "text",
    [
        "sqrt(fit - 1)",
        "1 / (fit - fit)",
        "(fit - fit) / (fit - fit)",
        "asin(1 + fit)",
        "acos(-1 - fit)",
        "atan(1 / (fit - fit))",
        "atan2(fit - fit, 0)",
        "min(1, sqrt(-fit))",
        "min(sqrt(-fit), 1)",
        "max(sqrt(-fit), 1)",
        "max(1, sqrt(-fit))",
        "choose_below(sqrt(-fit), 1, 2, 3)",
        "choose_below(1, sqrt(-fit), 2, 3)",
        "sin(sqrt(-fit))",
    ],
)
def test_no_answer_is_nan_for_one_and_for_many(text: str) -> None:
    formula = parse(text)
    assert math.isnan(formula.evaluate({"fit": 0.25}))
    many = formula.evaluate({"fit": np.array([0.25, 0.5])})
    assert np.isnan(many).all()


def test_directions_along_the_axes() -> None:
    formula = parse("degrees(atan2(y, x))")
    y = np.array([0.0, 0.0, 2.0, -2.0])
    x = np.array([2.0, -2.0, 0.0, 0.0])
    expected = [0.0, 180.0, 90.0, -90.0]
    np.testing.assert_allclose(formula.evaluate({"x": x, "y": y}), expected, rtol=1e-14)
    for index in range(4):
        one = formula.evaluate({"x": float(x[index]), "y": float(y[index])})
        assert one == pytest.approx(expected[index], rel=1e-14)


def test_too_large_is_infinite_and_silent() -> None:
    formula = parse("((((fit + 999999999)^4)^4)^4)^4")
    assert formula.evaluate({"fit": 1.0}) == math.inf
    assert (formula.evaluate({"fit": np.array([1.0, 2.0])}) == math.inf).all()  # type: ignore[union-attr]
    endless = parse("sin(((((999999999)^4)^4)^4)^4 * fit)")
    assert math.isnan(endless.evaluate({"fit": 1.0}))
    assert np.isnan(endless.evaluate({"fit": np.ones(2)})).all()


def test_what_is_not_chosen_does_not_matter() -> None:
    formula = parse("choose_below(fit, 0, 0, sqrt(fit))")
    assert formula.evaluate({"fit": -4.0}) == 0.0
    np.testing.assert_array_equal(formula.evaluate({"fit": np.array([-4.0, 4.0])}), [0.0, 2.0])


def test_arrays_are_broadcast() -> None:
    formula = parse("bust_girth / 4 + fit * cm")
    bust = np.array([[80.0], [92.0]])
    fit = np.array([1.0, 2.0, 3.0])
    found = formula.evaluate({"bust_girth": bust, "fit": fit})
    np.testing.assert_array_equal(found, bust / 4 + fit)
    mixed = formula.evaluate({"bust_girth": bust, "fit": 1.0})
    np.testing.assert_array_equal(mixed, bust / 4 + 1)
    constant = parse("fit^0").evaluate({"fit": fit})
    np.testing.assert_array_equal(constant, np.ones(3))
    assert parse("bust_girth^2").evaluate({"bust_girth": np.zeros(0)}).shape == (0,)  # type: ignore[union-attr]


def test_one_body_may_come_as_any_number() -> None:
    formula = parse("bust_girth / 4")
    for value in (92, np.float64(92), np.float32(92), np.int64(92), np.array(92.0)):
        found = formula.evaluate({"bust_girth": value})  # type: ignore[dict-item]
        assert found == 23.0
        assert type(found) is float


@pytest.mark.parametrize("value", ["92", None, True, 1j, [["a"]], 10**400, [[1], [1, 2]]])
def test_a_value_that_is_no_number(value: object) -> None:
    with pytest.raises(FormulaError, match="bust_girth: this is no number"):
        parse("bust_girth / 4").evaluate({"bust_girth": value})  # type: ignore[dict-item]


def test_a_missing_value_and_arrays_that_do_not_fit() -> None:
    formula = parse("bust_girth / 4 + fit", place="house.toml:7")
    with pytest.raises(FormulaError, match=r"house\.toml:7: fit: no value is given"):
        formula.evaluate({"bust_girth": 92.0})
    with pytest.raises(FormulaError, match="fit: no value"):
        formula.with_numbers({"bust_girth": 92.0})
    with pytest.raises(FormulaError, match=r"not equally long.*\(3,\)"):
        formula.evaluate({"bust_girth": np.ones(2), "fit": np.ones(3)})


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("bust_girth/24+3.4", "bust girth ÷ 24 + 3.4"),
        ("bust_girth * (1 + fit)", "bust girth × (1 + fit)"),
        ("((bust_girth * fit)) / 2", "bust girth × fit ÷ 2"),
        ("bust_girth / (fit * 2)", "bust girth ÷ (fit × 2)"),
        ("bust_girth - (waist_girth - 3)", "bust girth - (waist girth - 3)"),
        ("bust_girth - waist_girth * 3", "bust girth - waist girth × 3"),
        (".5 * bust_girth", "0.5 × bust girth"),
        ("-fit^2", "-fit²"),
        ("(-fit)^2", "(-fit)²"),
        ("2 - -fit", "2 - (-fit)"),
        ("2 * -fit", "2 × (-fit)"),
        ("-fit * 2", "-fit × 2"),
        ("2 + -fit * 2", "2 + (-fit × 2)"),
        ("-(fit + 2)", "-(fit + 2)"),
        ("-(fit * 2)", "-(fit × 2)"),
        ("(fit^2)^3", "(fit²)³"),
        ("bust_girth^2", "(bust girth)²"),
        ("sqrt(fit)", "√fit"),
        ("sqrt(fit)^2", "(√fit)²"),
        ("sqrt(2 * fit)", "√(2 × fit)"),
        ("hypot(bust_girth, fit + 1)", "√((bust girth)² + (fit + 1)²)"),
        ("deg(22)", "22°"),
        ("deg(22.5) / 2", "22.5° ÷ 2"),
        ("deg(bust_girth / cm / 4 - 2.5)", "(bust girth ÷ 1 cm ÷ 4 - 2.5)°"),
        ("sin(deg(22))", "sin(22°)"),
        ("abs(fit - 2)", "|fit - 2|"),
        ("3 * cm", "3 cm"),
        ("4 * cm^2", "4 cm²"),
        ("fit * 3 * cm", "fit × 3 cm"),
        ("fit / 3 * cm", "fit ÷ 3 × 1 cm"),
        ("fit / (3 * cm)", "fit ÷ (3 cm)"),
        ("2 * pi * fit", "2 × π × fit"),
        ("min(fit, 2, 3)", "min(fit, 2, 3)"),
        ("choose_below(fit, 2, 3, fit + 4)", "(3 if fit < 2, otherwise fit + 4)"),
    ],
)
def test_written_for_makers(text: str, written: str) -> None:
    assert parse(text).pretty() == written


def test_written_with_numbers() -> None:
    values = {"bust_girth": 92.0, "fit": -0.25}
    assert parse("bust_girth / 24 + 3.4").with_numbers(values) == "92.00 ÷ 24 + 3.4"
    assert parse("bust_girth / 24 + 3.4").with_numbers(values, places=0) == "92 ÷ 24 + 3.4"
    assert parse("2 - fit").with_numbers(values) == "2 - (-0.25)"
    assert parse("fit * 2").with_numbers(values) == "-0.25 × 2"
    assert parse("1 + fit * 2").with_numbers(values) == "1 + (-0.25 × 2)"
    assert parse("2 * fit").with_numbers(values) == "2 × (-0.25)"
    assert parse("fit^2").with_numbers(values) == "(-0.25)²"
    assert parse("bust_girth^2").with_numbers(values) == "92.00²"
    assert parse("deg(fit)").with_numbers(values) == "(-0.25)°"


def test_every_word_of_the_language_has_a_value_above() -> None:
    used: set[str] = set()
    for text, _ in VALUES:
        used.update(re.findall("[a-z][a-z0-9_]*", text))
    assert used >= RESERVED
