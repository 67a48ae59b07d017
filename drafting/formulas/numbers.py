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
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from drafting.errors import FormulaError, Problem
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

# ---- Values from outside: checked before any formula sees them

#: Any shape of floats.
FloatArray = NDArray[np.float64]


def settle(
    values: Mapping[str, float | FloatArray], names: Iterable[str], place: str = ""
) -> tuple[dict[str, Any], tuple[int, ...]]:
    """The values of ``names``, checked, and the shape they share; ``()`` for one body.

    Raises :class:`FormulaError` where one is missing, is no number, or the shapes do not fit.
    """
    settled: dict[str, Any] = {}
    shapes: dict[str, tuple[int, ...]] = {}
    problems: list[Problem] = []
    for name in sorted(names):
        if name not in values:
            problems.append(Problem("no value is given", place, name))
            continue
        value = values[name]
        if type(value) is float:
            settled[name] = value
            continue
        try:
            array = np.asarray(value)
            if array.dtype.kind not in "iuf":
                raise TypeError
        except (TypeError, ValueError):
            got = type(value).__name__
            problems.append(Problem("this is no number", place, name, got, "numbers"))
            continue
        if array.ndim:
            settled[name] = array.astype(np.float64, copy=False)
            shapes[name] = array.shape
        else:
            settled[name] = float(array)
    if problems:
        raise FormulaError(problems)
    try:
        return settled, np.broadcast_shapes(*shapes.values())
    except ValueError as error:
        got = ", ".join(f"{name} {shape}" for name, shape in shapes.items())
        raise FormulaError(
            Problem("these arrays are not equally long", place=place, got=got)
        ) from error


def spread(result: Any, shape: tuple[int, ...]) -> FloatArray:
    """``result`` as a float array of ``shape``; it may be a read-only view."""
    array: FloatArray = np.broadcast_to(np.asarray(result, dtype=np.float64), shape)
    return array


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


# ---- Exact derivatives by carrying slopes along: each value goes with how it changes per input


class Slope(NamedTuple):
    """A value and its derivative by every input that moves it."""

    value: float
    by: dict[str, float]


#: The derivative of an operation by each of its arguments; ``None`` where one plays no part.
Partials = tuple[float | None, ...]

_SLOPES_DEGREE = math.pi / 180
_root = FLOATS["sqrt"]


def _one_of(table_name: str) -> Callable[..., Partials]:
    def partials(*values: float) -> Partials:
        taken = values.index(FLOATS[table_name](*values))
        return tuple(1.0 if index == taken else None for index in range(len(values)))

    return partials


def _slopes_choose_below(a: float, b: float, then: float, otherwise: float) -> Partials:
    return (None, None, 1.0, None) if a < b else (None, None, None, 1.0)


def _slopes_angle_of(y: float, x: float) -> Partials:
    square = x * x + y * y
    return (divide(x, square), divide(-y, square))


def _hypot(a: float, b: float) -> Partials:
    length = math.hypot(a, b)
    return (divide(a, length), divide(b, length))


PARTIALS: Mapping[str, Callable[..., Partials]] = {
    "+": lambda a, b: (1.0, 1.0),
    "-": lambda a, b: (1.0, -1.0),
    "*": lambda a, b: (b, a),
    "/": lambda a, b: (divide(1.0, b), -divide(divide(a, b), b)),
    "negative": lambda x: (-1.0,),
    "^0": lambda x: (None,),
    "^1": lambda x: (1.0,),
    "^2": lambda x: (2 * x,),
    "^3": lambda x: (3 * x * x,),
    "^4": lambda x: (4 * x * x * x,),
    "sqrt": lambda x: (divide(0.5, _root(x)),),
    "sin": lambda x: (FLOATS["cos"](x),),
    "cos": lambda x: (-FLOATS["sin"](x),),
    "tan": lambda x: (1 + FLOATS["tan"](x) ** 2,),
    "asin": lambda x: (divide(1.0, _root(1 - x * x)),),
    "acos": lambda x: (-divide(1.0, _root(1 - x * x)),),
    "atan": lambda x: (1 / (1 + x * x),),
    "atan2": _slopes_angle_of,
    "hypot": _hypot,
    "abs": lambda x: (math.copysign(1.0, x) if x else 1.0,),
    "min": _one_of("min"),
    "max": _one_of("max"),
    "deg": lambda x: (_SLOPES_DEGREE,),
    "degrees": lambda x: (1 / _SLOPES_DEGREE,),
    "choose_below": _slopes_choose_below,
}


def _carried(name: str) -> Callable[..., Slope]:
    operation = FLOATS[name]
    partials = PARTIALS[name]

    def run(*arguments: Slope) -> Slope:
        values = [argument.value for argument in arguments]
        value = operation(*values)
        by: dict[str, float] = {}
        if math.isfinite(value) and any(argument.by for argument in arguments):
            for argument, partial in zip(arguments, partials(*values), strict=True):
                if partial is not None:
                    for key, slope in argument.by.items():
                        by[key] = by.get(key, 0.0) + partial * slope
        return Slope(value, by)

    return run


SLOPES: Mapping[str, Callable[..., Slope]] = {name: _carried(name) for name in FLOATS}


def for_slopes(tree: Tree) -> Run[Slope]:
    """``tree`` compiled to carry slopes, for one body."""
    return build(tree, SLOPES, lambda value: Slope(value, {}))
