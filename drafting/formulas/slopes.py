"""Exact derivatives by carrying slopes along: each value goes with how it changes per input.

Where a formula has a corner (abs at nought, equals in min and max, both sides of choose_below)
the slope is that of the side the value was taken from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

from drafting.formulas.numbers import FLOATS, Run, build, divide
from drafting.formulas.tree import Tree


class Slope(NamedTuple):
    """A value and its derivative by every input that moves it."""

    value: float
    by: dict[str, float]


#: The derivative of an operation by each of its arguments; ``None`` where one plays no part.
Partials = tuple[float | None, ...]

_DEGREE = math.pi / 180
_root = FLOATS["sqrt"]


def _one_of(table_name: str) -> Callable[..., Partials]:
    def partials(*values: float) -> Partials:
        taken = values.index(FLOATS[table_name](*values))
        return tuple(1.0 if index == taken else None for index in range(len(values)))

    return partials


def _choose_below(a: float, b: float, then: float, otherwise: float) -> Partials:
    return (None, None, 1.0, None) if a < b else (None, None, None, 1.0)


def _angle_of(y: float, x: float) -> Partials:
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
    "atan2": _angle_of,
    "hypot": _hypot,
    "abs": lambda x: (math.copysign(1.0, x) if x else 1.0,),
    "min": _one_of("min"),
    "max": _one_of("max"),
    "deg": lambda x: (_DEGREE,),
    "degrees": lambda x: (1 / _DEGREE,),
    "choose_below": _choose_below,
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
