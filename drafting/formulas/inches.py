"""A formula of centimetres as one who works in inches writes it: its lengths are turned, its shares
and ratios stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from drafting.formulas.kinds import Kind, Measure, measure_of
from drafting.formulas.tree import Call, Chain, Constant, Name, Negative, Number, Power, Tree
from drafting.units import LengthUnit, from_cm

#: Of their arguments all are compared, or added in squares.
_ALIKE = frozenset({"min", "max", "hypot", "atan2"})
_PLACES = 3


def in_inches(tree: Tree, kinds: Mapping[str, Kind], declared: Kind) -> Tree:
    """``tree`` for lengths in inches, its names of ``kinds``, its own kind ``declared``: in
    ``bust_girth / 24 + 3.4`` the 3.4 becomes 1.339. To a thousandth of an inch."""
    turned = _turned(tree, kinds)
    return _length(turned) if declared is Kind.CM and _bare(tree, kinds) else turned


def _turned(tree: Tree, kinds: Mapping[str, Kind]) -> Tree:
    match tree:
        case Number() | Name():
            return tree
        case Constant(name=name, at=at):
            return _number(1.0, at) if name == "cm" else tree
        case Negative(inner=inner):
            return replace(tree, inner=_turned(inner, kinds))
        case Power(base=base):
            return replace(tree, base=_turned(base, kinds))
        case Chain(first=first, rest=rest) if tree.is_sum:
            parts = _alike((first, *(part for _, part in rest)), kinds)
            signs = [sign for sign, _ in rest]
            return replace(tree, first=parts[0], rest=tuple(zip(signs, parts[1:], strict=True)))
        case Chain(first=first, rest=rest):
            if isinstance(first, Number) and rest[0] == ("*", Constant("cm")):
                first, rest = _number(first.value, first.at), rest[1:]
                if not rest:
                    return first
            else:
                first = _turned(first, kinds)
            return replace(
                tree, first=first, rest=tuple((sign, _turned(part, kinds)) for sign, part in rest)
            )
        case Call(function=function, arguments=arguments):
            if function == "choose_below":
                parts = [*_alike(arguments[:2], kinds), *_alike(arguments[2:], kinds)]
            elif function in _ALIKE:
                parts = _alike(arguments, kinds)
            else:
                parts = [_turned(argument, kinds) for argument in arguments]
            return replace(tree, arguments=tuple(parts))


def _alike(parts: tuple[Tree, ...], kinds: Mapping[str, Kind]) -> list[Tree]:
    """Parts that are added or compared: beside a length a bare number is one as well."""
    lengths = any(measure_of(part, kinds) == Measure(1) for part in parts)
    return [
        _length(part) if lengths and _bare(part, kinds) else _turned(part, kinds) for part in parts
    ]


def _bare(tree: Tree, kinds: Mapping[str, Kind]) -> bool:
    return measure_of(tree, kinds).bare


def _length(tree: Tree) -> Tree:
    """A number, or what is reckoned from numbers only, as a length."""
    match tree:
        case Number(at=at):
            return _number(tree.value, at)
        case Negative(inner=inner):
            return replace(tree, inner=_length(inner))
        case Chain(first=first, rest=rest) if tree.is_sum:
            return replace(
                tree, first=_length(first), rest=tuple((s, _length(part)) for s, part in rest)
            )
        case Chain(first=first):
            return replace(tree, first=_length(first))
        case _:
            return Chain(tree, (("*", _number(1.0, tree.at)),), tree.at)


def _number(cm: float, at: int) -> Number:
    text = f"{from_cm(cm, LengthUnit.INCH):.{_PLACES}f}".rstrip("0").rstrip(".")
    return Number(text, at)
