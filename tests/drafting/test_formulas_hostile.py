"""Whatever is written, a formula is read or refused: quickly, and with one kind of error."""

from __future__ import annotations

import contextlib
import math
import time

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drafting.errors import FormulaError
from drafting.formulas import Entry, Formula, Kind, Sheet, measure_of, parse
from drafting.formulas.tree import CONSTANTS, FUNCTIONS

NAMES = ("a", "b", "c")
KINDS = {"a": Kind.CM, "b": Kind.DEG, "c": Kind.NUMBER}
VALUES = {"a": 92.0, "b": 0.4, "c": -0.5}
TOKENS = [*FUNCTIONS, *CONSTANTS, *NAMES, "2", "3.5", ".5", "0", "999999999"]
SIGNS = ["+", "-", "*", "/", "^", "(", ")", ",", "(", ")", " ", "^2", "^4", "**", ".", "_", "\n"]


def use(text: str) -> None:
    """Read a text; if it is a formula, do everything with it that can be done quickly."""
    start = time.perf_counter()
    with contextlib.suppress(FormulaError):
        formula = parse(text)
        assert isinstance(formula, Formula)
        assert "\n" not in formula.pretty()
        one = dict.fromkeys(formula.names, -0.5) | VALUES
        value = formula.evaluate(one)
        assert type(value) is float
        many = formula.evaluate({name: np.array([x, x]) for name, x in one.items()})
        assert np.shape(many) == ((2,) if formula.names else ())
        formula.with_numbers(one)
        with contextlib.suppress(FormulaError):
            measure_of(formula.tree, KINDS)
        with contextlib.suppress(FormulaError):
            Sheet([Entry("q", text, Kind.CM)], KINDS).gradient(VALUES)
    assert time.perf_counter() - start < 1.0


@settings(deadline=None)
@given(st.text(max_size=600))
@example("__import__('os').system('true')")
@example("a.b")
@example("a.__class__")
@example("2^9999")
@example("2**9**9**9")
@example("(lambda: 1)()")
@example("[x for x in ()]")
@example("\x00")
@example("1\x002")
@example("a; b")
@example("٣٤")
@example("²")
@example("1_000")
@example("0x10")
@example("1e999")
@example("9" * 500)
@example("9" * 100_000)
@example("(" * 500)
@example("-" * 500)
@example("sin(" * 125)
@example("(" * 100_000)
@example("min(" + "1," * 200 + "1)")
@example("a" * 500)
@example("1" + "^4" * 200)
@example("*".join(["999999999"] * 50))
@example("\ud800")
@example("ﬁ + ª")
def test_any_text(text: str) -> None:
    use(text)


@settings(deadline=None)
@given(st.lists(st.sampled_from(TOKENS + SIGNS), max_size=60))
def test_any_heap_of_words(words: list[str]) -> None:
    use("".join(words))
    use(" ".join(words))


def grow(inner: st.SearchStrategy[str], functions: list[str]) -> st.SearchStrategy[str]:
    def call(function: str) -> st.SearchStrategy[str]:
        wanted = FUNCTIONS[function]
        least = len(wanted) - (wanted[-1] == "...")
        most = least + 2 * (wanted[-1] == "...")
        arguments = st.lists(inner, min_size=least, max_size=most)
        return arguments.map(lambda texts: f"{function}({', '.join(texts)})")

    return st.one_of(
        st.tuples(inner, st.sampled_from("+-*/"), inner).map(" ".join),
        inner.map(lambda text: f"-{text}"),
        inner.map(lambda text: f"({text})"),
        st.tuples(inner, st.integers(0, 4)).map(lambda pair: f"({pair[0]})^{pair[1]}"),
        st.sampled_from(functions).flatmap(call),
    )


def formulas(functions: list[str]) -> st.SearchStrategy[str]:
    leaves = st.one_of(
        st.sampled_from([*NAMES, *CONSTANTS]),
        st.decimals(0, 999, places=2).map(str),
        st.integers(0, 999_999_999).map(str),
    )
    grown = st.recursive(leaves, lambda inner: grow(inner, functions), max_leaves=20)
    return grown.filter(lambda text: len(text) <= 500)


FORMULAS = formulas(sorted(FUNCTIONS))
#: Operations that every processor rounds the same way.
EXACT = formulas(["sqrt", "abs", "min", "max", "choose_below", "deg", "degrees"])


@settings(deadline=None)
@given(FORMULAS)
def test_any_formula_can_be_used(text: str) -> None:
    if max(text.count("("), text.count("-")) < 20:
        assert isinstance(parse(text), Formula)
    use(text)


@settings(deadline=None)
@given(EXACT, st.lists(st.floats(-200, 200), min_size=3, max_size=3))
def test_one_body_and_many_agree_to_the_last_bit(text: str, numbers: list[float]) -> None:
    formula = parse(text)
    one = dict(zip(NAMES, numbers, strict=True))
    alone = formula.evaluate(one)
    among = formula.evaluate({name: np.full(3, value) for name, value in one.items()})
    np.testing.assert_array_equal(among, np.full(3 if formula.names else (), alone))


@settings(deadline=None)
@given(FORMULAS)
def test_spaces_and_extra_brackets_change_nothing(text: str) -> None:
    with contextlib.suppress(FormulaError):
        value = parse(text).evaluate(VALUES)
        spaced = parse(f" ( {text} )\t".replace("+", " + ")) if len(text) < 400 else parse(text)
        again = spaced.evaluate(VALUES)
        assert again == value or (math.isnan(again) and math.isnan(value))


def test_nothing_outside_arithmetic_is_ever_called(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a formula must not reach Python")

    with monkeypatch.context() as without:
        for name in ("eval", "exec", "__import__"):
            without.setattr(f"builtins.{name}", refuse)
        formula = parse("hypot(a, 3) * sin(b) / choose_below(c, 1, 2, 3)")
        value = formula.evaluate(VALUES)
    assert value == pytest.approx(math.hypot(92, 3) * math.sin(0.4) / 2)
