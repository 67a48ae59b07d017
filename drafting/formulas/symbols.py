"""Formulas as sympy expressions: exact fractions, each name a real symbol.

sympy takes long to load, so it is loaded when first asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from drafting.errors import FormulaError, Problem
from drafting.formulas.tree import (
    Call,
    Chain,
    Constant,
    Name,
    Negative,
    Number,
    Power,
    Tree,
    children,
    walk,
)

if TYPE_CHECKING:
    import sympy

#: A formula written out in full may have so many parts, and multiply so many things together.
MAX_PARTS = 20_000
MAX_DEGREE = 10_000


def symbol_of(steps: Iterable[tuple[str, Tree]], *, place: str = "") -> sympy.Expr:
    """The last of ``steps`` (name and tree, each before it is used) written out in full.

    Names that are no step become real symbols of that name. Raises :class:`FormulaError` where
    the whole would be too large, or has no answer whatever its names are.
    """
    import sympy

    known: dict[str, sympy.Expr] = {}
    parts: dict[str, int] = {}
    degrees: dict[str, int] = {}
    result: sympy.Expr = sympy.Integer(0)
    for name, tree in steps:
        parts[name] = sum(
            parts.get(node.name, 1) if isinstance(node, Name) else 1 for node in walk(tree)
        )
        degrees[name] = _degree(tree, degrees)
        if parts[name] > MAX_PARTS or degrees[name] > MAX_DEGREE:
            raise FormulaError(Problem("written out in full this is too large", place, name))
        try:
            result = known[name] = _symbol(tree, known)
        except (ArithmeticError, TypeError, ValueError, RecursionError) as error:
            raise FormulaError(Problem("this cannot be written out", place, name)) from error
    return result


def shares(
    steps: Iterable[tuple[str, Tree]], values: Mapping[str, float]
) -> tuple[dict[str, float], float] | None:
    """The last of ``steps`` as so much of each measurement and a constant (cm, radians).

    Choices must have been taken, and what is 0 in ``values`` is left out. ``None`` where it does
    not grow evenly with every measurement.
    """
    import sympy

    whole = symbol_of(steps)
    unset = {name: 0 for name in whole.free_symbols if values[name.name] == 0.0}
    rest = sympy.expand(whole.subs(unset))
    found: dict[str, float] = {}
    for name in sorted(rest.free_symbols, key=str):
        by = rest.coeff(name, 1)
        rest = sympy.expand(rest - by * name)
        if by.free_symbols or rest.has(name):
            return None
        found[name.name] = float(by)
    return found, float(rest)


def _degree(tree: Tree, known: Mapping[str, int]) -> int:
    """At most how many things are multiplied together: it bounds the length of exact numbers."""
    if isinstance(tree, Name):
        return known.get(tree.name, 1)
    below = [_degree(child, known) for child in children(tree)]
    if isinstance(tree, Power):
        return max(below[0] * tree.exponent, 1)
    if isinstance(tree, Chain) and not tree.is_sum:
        return sum(below)
    if isinstance(tree, Call) and tree.function == "hypot":
        return 2 * max(below)
    return max(below, default=1)


def _symbol(tree: Tree, known: Mapping[str, Any]) -> Any:
    import sympy

    match tree:
        case Number(text=text):
            return sympy.Rational(text)
        case Constant(name=name):
            return sympy.pi if name == "pi" else sympy.Integer(1)
        case Name(name=name):
            return known[name] if name in known else sympy.Symbol(name, real=True)
        case Negative(inner=inner):
            return -_symbol(inner, known)
        case Power(base=base, exponent=exponent):
            return _symbol(base, known) ** exponent
        case Chain(first=first, rest=rest):
            total = _symbol(first, known)
            for sign, part in rest:
                value = _symbol(part, known)
                match sign:
                    case "+":
                        total += value
                    case "-":
                        total -= value
                    case "*":
                        total *= value
                    case _:
                        total /= value
            return total
        case Call(function=function, arguments=arguments):
            return _call(function, [_symbol(argument, known) for argument in arguments])


def _call(function: str, arguments: list[Any]) -> Any:
    import sympy

    match function:
        case "abs":
            return sympy.Abs(*arguments)
        case "min":
            return sympy.Min(*arguments)
        case "max":
            return sympy.Max(*arguments)
        case "hypot":
            a, b = arguments
            return sympy.sqrt(a**2 + b**2)
        case "deg":
            return arguments[0] * sympy.pi / 180
        case "degrees":
            return arguments[0] * 180 / sympy.pi
        case "choose_below":
            a, b, then, otherwise = arguments
            return sympy.Piecewise((then, a < b), (otherwise, True))
        case _:
            return getattr(sympy, function)(*arguments)
