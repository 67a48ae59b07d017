"""A formula of centimetres as one who works in inches writes it: its lengths are turned, its shares
and ratios stay as they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from drafting.formulas.kinds import Kind, Measure, measure_of
from drafting.formulas.tree import Call, Chain, Constant, Name, Negative, Number, Power, Tree
from drafting.units import LengthUnit, from_cm

#: Of their arguments all are compared, or added in squares.
_ALIKE = frozenset({"min", "max", "hypot", "atan2"})
_PLACES = 3


#: What is written for so many centimetres, at a column.
Write = Callable[[float, int], Tree]


def in_inches(tree: Tree, kinds: Mapping[str, Kind], declared: Kind) -> Tree:
    """``tree`` for lengths in inches, its names of ``kinds``, its own kind ``declared``: in
    ``bust_girth / 24 + 3.4`` the 3.4 becomes 1.339. To a thousandth of an inch."""
    return with_lengths(tree, kinds, declared, _number)


def with_lengths(tree: Tree, kinds: Mapping[str, Kind], declared: Kind, write: Write) -> Tree:
    """``tree`` with what ``write`` gives in the place of every written number that is a length."""
    turning = _Turning(kinds, write)
    turned = turning.turned(tree)
    return turning.length(turned) if declared is Kind.CM and turning.bare(tree) else turned


@dataclass(frozen=True, slots=True)
class _Turning:
    kinds: Mapping[str, Kind]
    write: Write

    def turned(self, tree: Tree) -> Tree:
        match tree:
            case Number() | Name():
                return tree
            case Constant(name=name, at=at):
                return self.write(1.0, at) if name == "cm" else tree
            case Negative(inner=inner):
                return replace(tree, inner=self.turned(inner))
            case Power(base=base):
                return replace(tree, base=self.turned(base))
            case Chain(first=first, rest=rest) if tree.is_sum:
                parts = self.alike((first, *(part for _, part in rest)))
                signs = [sign for sign, _ in rest]
                return replace(tree, first=parts[0], rest=tuple(zip(signs, parts[1:], strict=True)))
            case Chain(first=first, rest=rest):
                if isinstance(first, Number) and rest[0] == ("*", Constant("cm")):
                    first, rest = self.write(first.value, first.at), rest[1:]
                    if not rest:
                        return first
                else:
                    first = self.turned(first)
                return replace(
                    tree, first=first, rest=tuple((sign, self.turned(part)) for sign, part in rest)
                )
            case Call(function=function, arguments=arguments):
                if function == "choose_below":
                    parts = [*self.alike(arguments[:2]), *self.alike(arguments[2:])]
                elif function in _ALIKE:
                    parts = self.alike(arguments)
                else:
                    parts = [self.turned(argument) for argument in arguments]
                return replace(tree, arguments=tuple(parts))

    def alike(self, parts: tuple[Tree, ...]) -> list[Tree]:
        """Parts that are added or compared: beside a length a bare number is one as well."""
        lengths = any(measure_of(part, self.kinds) == Measure(1) for part in parts)
        return [
            self.length(part) if lengths and self.bare(part) else self.turned(part)
            for part in parts
        ]

    def bare(self, tree: Tree) -> bool:
        return measure_of(tree, self.kinds).bare

    def length(self, tree: Tree) -> Tree:
        """A number, or what is reckoned from numbers only, as a length."""
        match tree:
            case Number(at=at):
                return self.write(tree.value, at)
            case Negative(inner=inner):
                return replace(tree, inner=self.length(inner))
            case Chain(first=first, rest=rest) if tree.is_sum:
                return replace(
                    tree,
                    first=self.length(first),
                    rest=tuple((s, self.length(part)) for s, part in rest),
                )
            case Chain(first=first):
                return replace(tree, first=self.length(first))
            case _:
                return Chain(tree, (("*", self.write(1.0, tree.at)),), tree.at)


def _number(cm: float, at: int) -> Number:
    text = f"{from_cm(cm, LengthUnit.INCH):.{_PLACES}f}".rstrip("0").rstrip(".")
    return Number(text, at)
