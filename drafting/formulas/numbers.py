"""Formulas as numbers: a tree becomes closures once, for one body or for an array of bodies.

Both tables of operations agree: what has no answer (a root of a negative number, division by
nought, the direction of no distance) is nan; what is too large is infinite; nothing is raised
and numpy is not heard.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable, Mapping
from functools import reduce
from typing import Any, TypeVar

import numpy as np

from drafting.formulas.tree import (
    CONSTANTS,
    Call,
    Chain,
    Constant,
    Name,
    Negative,
    Number,
    Power,
    Tree,
)

V = TypeVar("V")
#: A compiled formula: the values of its names in, its own value out.
Run = Callable[[Mapping[str, V]], V]

_NAN = math.nan
_DEGREE = math.pi / 180


def build(
    tree: Tree, table: Mapping[str, Callable[..., V]], number: Callable[[float], V]
) -> Run[V]:
    """Closures that carry out ``tree`` with the operations of ``table``.

    ``number`` makes a value of a written number. Parts without names are worked out here, once.
    """
    return _build(tree, table, number)[0]


def _build(
    tree: Tree, table: Mapping[str, Callable[..., V]], number: Callable[[float], V]
) -> tuple[Run[V], bool]:
    def parts(trees: Iterable[Tree]) -> tuple[list[Run[V]], bool]:
        built = [_build(part, table, number) for part in trees]
        return [run for run, _ in built], all(fixed for _, fixed in built)

    match tree:
        case Number():
            return _always(number(tree.value)), True
        case Constant(name=name):
            return _always(number(CONSTANTS[name])), True
        case Name(name=name):
            return operator.itemgetter(name), False
        case Negative(inner=inner):
            runs, fixed = parts([inner])
            run = _apply(table["negative"], runs)
        case Power(base=base, exponent=exponent):
            runs, fixed = parts([base])
            run = _apply(table[f"^{exponent}"], runs)
        case Call(function=function, arguments=arguments):
            runs, fixed = parts(arguments)
            run = _apply(table[function], runs)
        case Chain(first=first, rest=rest):
            runs, fixed = parts([first, *(part for _, part in rest)])
            run = _fold(runs, [table[sign] for sign, _ in rest])
    return (_always(run({})), True) if fixed else (run, False)


def _always(value: V) -> Run[V]:
    return lambda values: value


def _apply(operation: Callable[..., V], runs: list[Run[V]]) -> Run[V]:
    if len(runs) == 1:
        only = runs[0]
        return lambda values: operation(only(values))
    if len(runs) == 2:
        left, right = runs
        return lambda values: operation(left(values), right(values))
    return lambda values: operation(*[run(values) for run in runs])


def _fold(runs: list[Run[V]], operations: list[Callable[..., V]]) -> Run[V]:
    first = runs[0]
    steps = list(zip(operations, runs[1:], strict=True))
    if len(steps) == 1:
        return _apply(operations[0], runs)

    def run(values: Mapping[str, V]) -> V:
        total = first(values)
        for operation, part in steps:
            total = operation(total, part(values))
        return total

    return run


# --- one body -----------------------------------------------------------------------------------


def _guarded(function: Callable[[float], float]) -> Callable[[float], float]:
    def call(x: float) -> float:
        try:
            return function(x)
        except ValueError:
            return _NAN

    return call


def divide(a: float, b: float) -> float:
    """``a / b``, nan where ``b`` is nought."""
    return a / b if b else _NAN


def _least(*values: float) -> float:
    return reduce(lambda a, b: a if a <= b or a != a else b, values)


def _greatest(*values: float) -> float:
    return reduce(lambda a, b: a if a >= b or a != a else b, values)


def _choose_below(a: float, b: float, then: float, otherwise: float) -> float:
    if a < b:
        return then
    return otherwise if a >= b else _NAN


def _angle_of(y: float, x: float) -> float:
    return math.atan2(y, x) if y or x else _NAN


def _cube(x: float) -> float:
    return x * x * x


def _fourth(x: float) -> float:
    return x * x * x * x


FLOATS: Mapping[str, Callable[..., float]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": divide,
    "negative": operator.neg,
    "^0": lambda x: 1.0,
    "^1": lambda x: x,
    "^2": lambda x: x * x,
    "^3": _cube,
    "^4": _fourth,
    "sqrt": _guarded(math.sqrt),
    "sin": _guarded(math.sin),
    "cos": _guarded(math.cos),
    "tan": _guarded(math.tan),
    "asin": _guarded(math.asin),
    "acos": _guarded(math.acos),
    "atan": math.atan,
    "atan2": _angle_of,
    "hypot": math.hypot,
    "abs": abs,
    "min": _least,
    "max": _greatest,
    "deg": lambda x: x * _DEGREE,
    "degrees": lambda x: x / _DEGREE,
    "choose_below": _choose_below,
}

# --- arrays of bodies ---------------------------------------------------------------------------


def _divide_all(a: Any, b: Any) -> Any:
    return _without(np.divide(a, b), np.equal(b, 0.0))


def _angles_of(y: Any, x: Any) -> Any:
    return _without(np.arctan2(y, x), np.equal(y, 0.0) & np.equal(x, 0.0))


def _without(result: Any, unanswered: Any) -> Any:
    return np.where(unanswered, _NAN, result) if np.any(unanswered) else result


def _choose_all(a: Any, b: Any, then: Any, otherwise: Any) -> Any:
    return np.where(np.less(a, b), then, np.where(np.greater_equal(a, b), otherwise, _NAN))


ARRAYS: Mapping[str, Callable[..., Any]] = {
    "+": np.add,
    "-": np.subtract,
    "*": np.multiply,
    "/": _divide_all,
    "negative": np.negative,
    "^0": lambda x: 1.0,
    "^1": lambda x: x,
    "^2": lambda x: x * x,
    "^3": _cube,
    "^4": _fourth,
    "sqrt": np.sqrt,
    "sin": np.sin,
    "cos": np.cos,
    "tan": np.tan,
    "asin": np.arcsin,
    "acos": np.arccos,
    "atan": np.arctan,
    "atan2": _angles_of,
    "hypot": np.hypot,
    "abs": np.abs,
    "min": lambda *values: reduce(np.minimum, values),
    "max": lambda *values: reduce(np.maximum, values),
    "deg": lambda x: x * _DEGREE,
    "degrees": lambda x: x / _DEGREE,
    "choose_below": _choose_all,
}


def for_one(tree: Tree) -> Run[float]:
    """``tree`` compiled for one body."""
    return build(tree, FLOATS, float)


def for_many(tree: Tree) -> Run[Any]:
    """``tree`` compiled for arrays; run it under ``numpy.errstate(all="ignore")``."""
    with np.errstate(all="ignore"):
        return build(tree, ARRAYS, float)
