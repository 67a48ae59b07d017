"""Sheets: order, mistakes found all at once, values, derivations."""

from __future__ import annotations

import math
import pickle
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from drafting.errors import FormulaError, Problem
from drafting.formulas import Entry, Kind, Sheet

CM, DEG, NUMBER = Kind.CM, Kind.DEG, Kind.NUMBER
INPUTS = {"bust_girth": CM, "waist_girth": CM, "shoulder_slope": DEG, "fit": NUMBER}
BODY = {"bust_girth": 92.0, "waist_girth": 72.0, "shoulder_slope": math.radians(22), "fit": 0.5}


def entry(name: str, text: str, kind: Kind = CM, line: int = 0) -> Entry:
    return Entry(name, text, kind, place=f"house.toml:{line}" if line else "")


def small() -> Sheet:
    return Sheet(
        [
            entry("dart", "neck_width / 2 + drop * fit"),
            entry("neck_width", "bust_girth / 24 + 3.4"),
            entry("drop", "neck_width * tan(slope)"),
            entry("slope", "shoulder_slope - deg(2)", DEG),
            entry("ease", "1.5"),
        ],
        INPUTS,
    )


def problems(entries: list[Entry], inputs: dict[str, Kind] | None = None) -> tuple[Problem, ...]:
    with pytest.raises(FormulaError) as caught:
        Sheet(entries, INPUTS if inputs is None else inputs)
    return caught.value.problems


def test_order_and_needs() -> None:
    sheet = small()
    assert list(sheet.entries) == ["dart", "neck_width", "drop", "slope", "ease"]
    assert sheet.order == ("neck_width", "slope", "drop", "dart", "ease")
    assert sheet.needs("dart") == {"bust_girth", "shoulder_slope", "fit"}
    assert sheet.needs("slope") == {"shoulder_slope"}
    assert sheet.needs("ease") == frozenset()
    assert sheet.steps("drop") == ("neck_width", "slope", "drop")
    assert sheet.formula("drop").text == "neck_width * tan(slope)"
    assert sheet.inputs == INPUTS


def test_order_stays_as_written_where_it_can() -> None:
    names = [f"q{index}" for index in range(50)]
    sheet = Sheet([entry(name, "bust_girth") for name in names], INPUTS)
    assert sheet.order == tuple(names)


def test_values() -> None:
    found = small().evaluate(BODY)
    neck = 92 / 24 + 3.4
    drop = neck * math.tan(math.radians(20))
    assert found == pytest.approx(
        {
            "neck_width": neck,
            "slope": math.radians(20),
            "drop": drop,
            "dart": neck / 2 + drop / 2,
            "ease": 1.5,
        },
        rel=1e-14,
    )
    assert all(type(value) is float for value in found.values())


def test_an_empty_sheet() -> None:
    sheet = Sheet([], INPUTS)
    assert sheet.order == ()
    assert sheet.evaluate({}) == {}
    assert sheet.gradient({}) == {}


def test_a_sheet_does_not_change() -> None:
    sheet = small()
    with pytest.raises(TypeError):
        sheet.entries["dart"] = entry("dart", "1")  # type: ignore[index]
    with pytest.raises(TypeError):
        sheet.inputs["hip_girth"] = CM  # type: ignore[index]
    with pytest.raises(AttributeError):
        sheet.order = ()  # type: ignore[misc]
    inputs = dict(INPUTS)
    other = Sheet([entry("width", "bust_girth")], inputs)
    inputs.clear()
    assert other.inputs == INPUTS
    copy = pickle.loads(pickle.dumps(sheet))
    assert copy.order == sheet.order
    assert copy.evaluate(BODY) == sheet.evaluate(BODY)


def test_arrays_of_bodies_agree_with_one_at_a_time() -> None:
    sheet = small()
    rng = np.random.default_rng(5)
    bodies = {
        "bust_girth": rng.uniform(76, 140, 200),
        "shoulder_slope": np.radians(rng.uniform(10, 30, 200)),
        "fit": rng.uniform(0, 1, 200),
    }
    many = sheet.evaluate(bodies)
    assert list(many) == list(sheet.order)
    for index in range(200):
        one = sheet.evaluate({key: float(values[index]) for key, values in bodies.items()})
        for name in sheet.order:
            assert many[name][index] == pytest.approx(one[name], rel=1e-12)  # type: ignore[index]


def test_arrays_and_floats_mix_and_all_results_have_one_shape() -> None:
    found = small().evaluate({**BODY, "bust_girth": np.array([[80.0], [92.0]])})
    assert {value.shape for value in found.values()} == {(2, 1)}  # type: ignore[union-attr]
    np.testing.assert_array_equal(found["ease"], [[1.5], [1.5]])


def test_a_body_without_an_answer_is_nan_among_others() -> None:
    sheet = Sheet([entry("side", "sqrt(bust_girth^2 - waist_girth^2)")], INPUTS)
    found = sheet.evaluate({"bust_girth": np.array([5.0, 3.0]), "waist_girth": 4.0})
    np.testing.assert_array_equal(found["side"], [3.0, math.nan])


def test_missing_measurements_are_named_with_what_needs_them() -> None:
    with pytest.raises(FormulaError) as caught:
        small().evaluate({"fit": 0.5})
    assert [(problem.key, problem.advice) for problem in caught.value.problems] == [
        ("bust_girth", "Needed by neck_width, drop, dart."),
        ("shoulder_slope", "Needed by slope, drop, dart."),
    ]
    with pytest.raises(FormulaError, match="shoulder_slope: this measurement is missing"):
        small().gradient({"fit": 0.5, "bust_girth": 92.0})


def test_only_what_a_derivation_needs_is_asked_for() -> None:
    sheet = small()
    assert sheet.explain("neck_width", {"bust_girth": 92.0})
    with pytest.raises(FormulaError) as caught:
        sheet.explain("slope", {})
    assert [problem.key for problem in caught.value.problems] == ["shoulder_slope"]
    assert caught.value.problems[0].advice == "Needed by slope."


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_measurement_that_is_not_finite(value: float) -> None:
    with pytest.raises(FormulaError, match="bust_girth: this measurement is not finite"):
        small().evaluate({**BODY, "bust_girth": value})


def test_a_quantity_without_an_answer_says_where_it_comes_from() -> None:
    sheet = Sheet(
        [
            entry("width", "bust_girth / 2"),
            entry("side", "sqrt(width^2 - waist_girth^2)", line=12),
            entry("later", "side + 3"),
            entry("tilt", "asin(waist_girth / cm)", DEG, line=14),
        ],
        INPUTS,
    )
    for ask in (sheet.evaluate, sheet.gradient):
        with pytest.raises(FormulaError) as caught:
            ask(BODY)
        first, second = caught.value.problems
        assert str(first) == (
            "house.toml:12: side: this has no answer: √(width² - (waist girth)²) = "
            "√(46.00² - 72.00²). It comes from bust girth = 92.00 cm, waist girth = 72.00 cm."
        )
        assert second.key == "tilt"
    with pytest.raises(FormulaError, match="side: this has no answer"):
        sheet.explain("later", BODY)


def test_derivation_for_a_maker() -> None:
    assert small().explain("dart", BODY) == [
        "bust girth = 92.00 cm",
        "shoulder slope = 22.00°",
        "fit = 0.50",
        "neck width = bust girth ÷ 24 + 3.4 = 92.00 ÷ 24 + 3.4 = 7.23 cm",
        "slope = shoulder slope - 2° = 22.00° - 2° = 20.00°",
        "drop = neck width × tan(slope) = 7.23 × tan(20.00°) = 2.63 cm",
        "dart = neck width ÷ 2 + drop × fit = 7.23 ÷ 2 + 2.63 × 0.50 = 4.93 cm",
    ]
    assert small().explain("ease", {}) == ["ease = 1.5 = 1.50 cm"]
    assert small().explain("slope", BODY, places=1)[-1].endswith("= 20.0°")


def test_numbers_in_one_formula() -> None:
    sheet = small()
    values = {**BODY, **sheet.evaluate(BODY)}
    assert sheet.with_numbers("drop", values) == "7.23 × tan(20.00°)"
    assert sheet.with_numbers("drop", values, places=1) == "7.2 × tan(20.0°)"
    with pytest.raises(FormulaError, match="neck_width: no value is given"):
        sheet.with_numbers("drop", BODY)
    with pytest.raises(FormulaError, match="one body"):
        sheet.with_numbers("neck_width", {"bust_girth": np.ones(2)})
    with pytest.raises(FormulaError, match="one body"):
        sheet.gradient({**BODY, "fit": np.ones(2)})  # type: ignore[dict-item]


def test_there_is_no_such_quantity() -> None:
    sheet = small()
    for ask in (sheet.formula, sheet.needs, sheet.symbol, sheet.steps):
        with pytest.raises(FormulaError, match=r"nekc_width: there is no such.*mean neck_width"):
            ask("nekc_width")
    with pytest.raises(FormulaError, match="no such quantity"):
        sheet.explain("bust_girth", BODY)


# --- mistakes -----------------------------------------------------------------------------------


def test_unknown_names_with_a_guess() -> None:
    found = problems(
        [
            entry("width", "bust_grith / 4 + bust_grith", line=3),
            entry("depth", "widht + zzzz", line=4),
        ]
    )
    assert [(p.place, p.key, p.got, p.advice) for p in found] == [
        ("house.toml:3", "width", "bust_grith", "Did you mean bust_girth?"),
        ("house.toml:4", "depth", "widht", "Did you mean width?"),
        ("house.toml:4", "depth", "zzzz", ""),
    ]
    assert found[0].said.startswith("column 1: ")
    assert found[1].accepted == "a measurement or another quantity of the method"


def test_a_ring_is_named_in_order() -> None:
    found = problems(
        [
            entry("width", "bust_girth / 4"),
            entry("a", "b + width", line=2),
            entry("b", "c * 2", line=3),
            entry("c", "a / 2", line=4),
            entry("d", "c + e", line=5),
            entry("e", "e + 1", line=6),
        ]
    )
    assert [(p.place, p.key, p.said) for p in found] == [
        ("house.toml:2", "a", "a ring of dependence: a needs b needs c needs a"),
        ("house.toml:6", "e", "a ring of dependence: e needs e"),
    ]


def test_two_rings_that_share_a_quantity_are_both_named() -> None:
    found = problems([entry("a", "b + 1"), entry("b", "a + c"), entry("c", "b")])
    assert [p.said for p in found] == [
        "a ring of dependence: a needs b needs a",
        "a ring of dependence: c needs b needs c",
    ]


def test_units_between_quantities() -> None:
    found = problems(
        [
            entry("ratio", "bust_girth / waist_girth", NUMBER),
            entry("tilt", "shoulder_slope + 2", DEG, 2),
            entry("width", "ratio + bust_girth", CM, 3),
            entry("length", "tilt", CM, 4),
            entry("area", "bust_girth * waist_girth", CM, 5),
        ]
    )
    assert [(p.key, p.place) for p in found] == [
        ("tilt", "house.toml:2"),
        ("width", "house.toml:3"),
        ("length", "house.toml:4"),
        ("area", "house.toml:5"),
    ]
    assert found[2].said == "the unit is cm, but the formula gives an angle"
    assert found[3].accepted == "a length"


def test_names_twice_and_names_taken() -> None:
    found = problems(
        [
            entry("width", "bust_girth / 4", line=1),
            entry("width", "bust_girth / 5", line=2),
            entry("waist_girth", "bust_girth", line=3),
            entry("sqrt", "bust_girth", line=4),
            entry("cm", "bust_girth", line=5),
            entry("2nd", "bust_girth", line=6),
        ]
    )
    assert [(p.place, p.said) for p in found] == [
        ("house.toml:2", "this quantity is defined twice, first at house.toml:1"),
        ("house.toml:3", "this is the name of a measurement"),
        ("house.toml:4", "a quantity cannot have this name"),
        ("house.toml:5", "a quantity cannot have this name"),
        ("house.toml:6", "a quantity cannot have this name"),
    ]
    (taken,) = problems([], {"sin": CM})
    assert (taken.key, taken.said) == ("sin", "a measurement cannot have this name")


def test_all_kinds_of_mistakes_at_once() -> None:
    found = problems(
        [
            entry("a", "bust_girth / ", line=1),
            entry("b", "a + hip", line=2),
            entry("c", "shoulder_slope", line=3),
            entry("d", "d", line=4),
            entry("c", "1", line=5),
        ]
    )
    assert [(p.place, p.key) for p in found] == [
        ("house.toml:1", "a"),
        ("house.toml:2", "b"),
        ("house.toml:3", "c"),
        ("house.toml:5", "c"),
        ("house.toml:4", "d"),
    ]


# --- size ---------------------------------------------------------------------------------------


def test_a_long_chain_of_quantities_is_no_trouble() -> None:
    count = 3000
    entries = [entry(f"q{index}", f"q{index + 1} + 1") for index in range(count)]
    entries.append(entry(f"q{count}", "bust_girth"))
    sheet = Sheet(entries, INPUTS)
    assert sheet.evaluate({"bust_girth": 92.0})["q0"] == 92.0 + count
    assert sheet.gradient({"bust_girth": 92.0})["q0"] == {"bust_girth": 1.0}
    entries[-1] = entry(f"q{count}", "q0")
    (ring,) = problems(entries)
    assert ring.said.count(" needs ") == count + 1


def test_it_is_fast_enough_for_a_slider_and_for_a_population() -> None:
    entries = [entry("q0", "bust_girth / 24 + 3.4")]
    for index in range(1, 70):
        before = f"q{index - 1}"
        text = f"{before} / 2 + bust_girth * sin(shoulder_slope) / 10 - max({before}, 3) / 8 + 1.2"
        entries.append(entry(f"q{index}", text))
    sheet = Sheet(entries, INPUTS)
    sheet.evaluate(BODY)
    assert fastest(lambda: sheet.evaluate(BODY)) < 0.001
    bodies: dict[str, Any] = {**BODY, "bust_girth": np.linspace(76, 140, 10_000)}
    assert fastest(lambda: sheet.evaluate(bodies)) < 0.2


def fastest(ask: Callable[[], object]) -> float:
    times = []
    for _ in range(30):
        start = time.perf_counter()
        ask()
        times.append(time.perf_counter() - start)
    return min(times)
