"""A formula as one works it out on paper: only what holds for this body, no function left.

A choice is taken where it falls. What a set square lays off (a slope, a diagonal, an angle) becomes
its length or its angle, and an aside says how it is laid off. The value is the formula's own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from drafting.formulas.inches import with_lengths
from drafting.formulas.kinds import Kind, Measure, measure_of
from drafting.formulas.numbers import for_one
from drafting.formulas.tree import (
    Call,
    Chain,
    Name,
    Negative,
    Number,
    Power,
    Tree,
    walk,
)
from drafting.formulas.writing import words, write
from drafting.units import CM_PER_INCH, LengthUnit, format_length

CM = LengthUnit.CM
#: An angle is laid off so far along (cm), in inches 10 in.
ALONG: Mapping[LengthUnit, float] = {CM: 20.0, LengthUnit.INCH: 10.0 * CM_PER_INCH}
_NOUGHT = Number("0")
_TURNS = ("sin", "cos", "tan")
_ENDS = {"cos": "reaches {} out", "sin": "ends {} higher or lower"}


@dataclass(frozen=True, slots=True)
class ByHand:
    """A formula in ``words`` (empty without a name in it) and in ``numbers`` (empty where it is a
    single one); ``asides`` say why a choice fell as it did, and how a number that stands for a
    function is laid off; ``uses`` are the names it still depends on."""

    words: str
    numbers: str
    asides: tuple[str, ...]
    uses: frozenset[str]


def by_hand(
    tree: Tree,
    kinds: Mapping[str, Kind],
    declared: Kind,
    values: Mapping[str, float],
    unit: LengthUnit = CM,
    named: Callable[[str], str] = words,
) -> ByHand:
    """``tree`` worked out for ``values`` (cm, radians), written in ``unit``."""
    hand = _Hand(dict(kinds), dict(values), unit, named)
    left = plain(hand.taken(tree), values)
    laid = hand.laid(left)
    marked = hand.whole_cm(with_lengths(laid, hand.kinds, declared, hand.length))
    speaks = any(isinstance(node, Name) and node.name in kinds for node in walk(marked))
    spelt = write(marked, hand.word) if speaks else ""
    uses = frozenset(node.name for node in walk(left) if isinstance(node, Name))
    numbers = "" if isinstance(marked, Name | Number) else write(hand.signed(marked), hand.number)
    return ByHand(spelt, numbers, tuple(dict.fromkeys(hand.asides)), uses)


def held(tree: Tree, values: Mapping[str, float]) -> Tree:
    """``tree`` with every choice taken as it falls for ``values`` (cm, radians)."""
    return _Hand({}, dict(values), CM, words, telling=False).taken(tree)


def amount(kind: Kind, value: float, unit: LengthUnit = CM) -> str:
    """A value inside a formula, as many digits as it needs: ``7.25``, ``2 7/8``, ``18.5°``."""
    if kind is Kind.DEG:
        return f"{_short(math.degrees(value), 2)}°"
    if kind is Kind.NUMBER:
        return _short(value, 3)
    if unit is CM:
        return _short(value, 2)
    return format_length(value, unit).removesuffix(f" {unit.value}")


def with_unit(kind: Kind, value: float, unit: LengthUnit = CM) -> str:
    """The same on its own: ``7.25 cm``."""
    return amount(kind, value, unit) + (f" {unit.value}" if kind is Kind.CM else "")


def set_square(angle: float, unit: LengthUnit) -> str:
    """How an angle (radians) is laid off: so far along, so far square to it; empty where the set
    square itself has it, and for none."""
    size = abs(angle)
    if not 1e-4 < size < math.pi / 2 - 1e-4:
        return ""
    along = up = ALONG[unit]
    if size <= math.pi / 4:
        up = along * math.tan(size)
    else:
        along = up / math.tan(size)
    return (
        f"{amount(Kind.DEG, size)} is {with_unit(Kind.CM, along, unit)} along "
        f"and {with_unit(Kind.CM, up, unit)} square to it"
    )


def plain(tree: Tree, values: Mapping[str, float]) -> Tree:
    """``tree`` without what adds nothing: parts that are 0 beside a name, factors that are 1, and
    numbers of one sum added up."""
    match tree:
        case Negative(inner=inner):
            inner = plain(inner, values)
            return _NOUGHT if inner == _NOUGHT else replace(tree, inner=inner)
        case Power(base=base):
            return replace(tree, base=plain(base, values))
        case Call(function=function, arguments=arguments):
            arguments = tuple(plain(one, values) for one in arguments)
            if function in ("asin", "atan") and for_one(arguments[0])(values) == 0.0:
                return Call("deg", (_NOUGHT,), tree.at)
            return replace(tree, arguments=arguments)
        case Chain():
            parts = [("+" if tree.is_sum else "*", tree.first), *tree.rest]
            parts = [(sign, plain(part, values)) for sign, part in parts]
            return _plain_sum(parts, values) if tree.is_sum else _plain_product(parts, values)
        case _:
            return tree


def _plain_sum(parts: list[tuple[str, Tree]], values: Mapping[str, float]) -> Tree:
    telling = [
        (sign, part)
        for sign, part in parts
        if part != _NOUGHT and not (isinstance(part, Name) and values.get(part.name) == 0.0)
    ]
    numbers = [(sign, part) for sign, part in telling if isinstance(part, Number)]
    if len(numbers) > 1:
        total = sum(part.value if sign == "+" else -part.value for sign, part in numbers)
        telling = [one for one in telling if not isinstance(one[1], Number)]
        if abs(total) > 1e-9:
            telling.append(("+" if total > 0 else "-", Number(_short(abs(total), 9))))
    if not telling:
        return _NOUGHT
    (sign, first), *rest = telling
    if sign == "-":
        ahead = next((k for k, one in enumerate(telling) if one[0] == "+"), None)
        if ahead is None:
            first = Negative(first)
        else:
            first = telling[ahead][1]
            rest = [*telling[:ahead], *telling[ahead + 1 :]]
    return Chain(first, tuple(rest)) if rest else first


def _plain_product(parts: list[tuple[str, Tree]], values: Mapping[str, float]) -> Tree:
    """Shares and switches (bare numbers by name) that are 0 or 1 count like written ones."""
    one = Number("1")
    if any(sign == "*" and part == _NOUGHT for sign, part in parts):
        return _NOUGHT
    (_, first), *rest = parts
    rest = [(sign, part) for sign, part in rest if part != one]
    if first == one and rest and rest[0][0] == "*":
        first, rest = rest[0][1], rest[1:]
    return Chain(first, tuple(rest)) if rest else first


def _short(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


@dataclass(slots=True)
class _Hand:
    """One formula under way; ``kinds`` and ``values`` gain what is laid off on the way."""

    kinds: dict[str, Kind]
    values: dict[str, float]
    unit: LengthUnit
    named: Callable[[str], str]
    telling: bool = True
    asides: list[str] = field(default_factory=list)

    def value(self, tree: Tree) -> float:
        return for_one(tree)(self.values)

    # ---- choices ----------------------------------------------------------------------------

    def taken(self, tree: Tree) -> Tree:
        """The branch that holds, with its reason as an aside."""
        match tree:
            case Name(name=name) if self.kinds.get(name) is Kind.NUMBER:
                switch = self.values[name]
                return Number(f"{switch:.0f}") if switch in (0.0, 1.0) else tree
            case Call(function="choose_below", arguments=(a, b, then, otherwise)):
                below = self.value(a) < self.value(b)
                chosen = then if below else otherwise
                if self.telling and (below or b != _NOUGHT):
                    less = "less than" if below else "not less than"
                    other = self.length(b.value, b.at) if isinstance(b, Number) else b
                    self.told(
                        f"because {self.called(a, below=True)} is {less} "
                        f"{self.called(other, below=True)}"
                    )
                return self.taken(chosen)
            case Call(function="min" | "max" as which, arguments=arguments):
                values = [self.value(one) for one in arguments]
                best = (min if which == "min" else max)(values)
                k = values.index(best)
                if self.telling and k:
                    than = "more" if which == "min" else "less"
                    self.told(f"because {self.called(arguments[0], below=True)} is {than}")
                return self.taken(arguments[k])
            case Call(function="abs", arguments=(inner,)):
                inner_taken = self.taken(inner)
                return Negative(inner_taken) if self.value(inner) < 0 else inner_taken
            case Call(arguments=arguments):
                return replace(tree, arguments=tuple(map(self.taken, arguments)))
            case Chain(first=first, rest=rest):
                rest = tuple((sign, self.taken(part)) for sign, part in rest)
                return replace(tree, first=self.taken(first), rest=rest)
            case Negative(inner=inner):
                return replace(tree, inner=self.taken(inner))
            case Power(base=base):
                return replace(tree, base=self.taken(base))
            case _:
                return tree

    # ---- what a set square lays off ----------------------------------------------------------

    def laid(self, tree: Tree) -> Tree:
        """No function but ``deg`` left."""
        match tree:
            case Call(function="deg", arguments=arguments):
                return replace(tree, arguments=(self.laid(arguments[0]),))
            case Call():
                return self.called_off(tree)
            case Chain(first=first, rest=rest) if tree.is_sum:
                rest = tuple((sign, self.laid(part)) for sign, part in rest)
                return replace(tree, first=self.laid(first), rest=rest)
            case Chain():
                return self.product(tree)
            case Negative(inner=inner):
                return replace(tree, inner=self.laid(inner))
            case Power(base=base):
                return replace(tree, base=self.laid(base))
            case _:
                return tree

    def product(self, tree: Chain) -> Tree:
        match tree:
            case Chain(
                first=Number(text="2"), rest=(("*", Call(function="asin", arguments=(part,))),)
            ) if (ratio := self.ratio(part)) is not None:
                over, by = ratio
                opening = 2.0 * self.value(over)
                self.told(
                    f"{self.of(Kind.DEG, self.value(tree))} is the opening of two legs of "
                    f"{self.called(self.laid(by))} whose ends are {self.cm(opening)} apart"
                )
                return self.fresh(Kind.DEG, self.value(tree))
        parts = [("*", tree.first), *tree.rest]
        for k, (sign, part) in enumerate(parts):
            rest = parts[:k] + parts[k + 1 :]
            if isinstance(part, Call) and rest and rest[0][0] == "*":
                left = Chain(rest[0][1], tuple(rest[1:])) if len(rest) > 1 else rest[0][1]
                if self.is_length(left) and (found := self.slanted(tree, sign, part, left)):
                    return found
        return replace(
            tree,
            first=self.laid(tree.first),
            rest=tuple((sign, self.laid(part)) for sign, part in tree.rest),
        )

    def slanted(self, whole: Tree, sign: str, by: Call, length: Tree) -> Tree | None:
        """A length times or over a function of an angle, or over the root of 2."""
        value = self.value(whole)
        if abs(value) < 1e-9:
            return None
        shown = self.cm(abs(value))
        if by == Call("sqrt", (Number("2"),)) and sign == "/":
            self.told(f"{self.called(self.laid(length))} at 45° is {shown} across and as much up")
            return self.fresh(Kind.CM, value)
        if by.function not in _TURNS:
            return None
        angle = self.called(self.laid(by.arguments[0]))
        given = self.called(self.laid(length))
        match sign, by.function:
            case "*", "tan":
                self.told(f"{given} along a line at {angle}, it is {shown} off")
            case "/", "tan":
                self.told(f"a line at {angle} is {given} off after {shown} along")
            case "*", function:
                self.told(f"{given} laid at {angle} {_ENDS[function].format(shown)}")
            case _, function:
                self.told(f"{shown} laid at {angle} {_ENDS[function].format(given)}")
        return self.fresh(Kind.CM, value)

    def called_off(self, tree: Call) -> Tree:
        """A function on its own as the number it gives."""
        value, found = self.value(tree), measure_of(tree, self.kinds)
        kind = Kind.DEG if found.angle else Kind.CM if found.length == 1 else Kind.NUMBER
        shown = self.of(kind, value)
        match tree:
            case Call(function="atan2", arguments=(up, out)) if self.is_length(out):
                self.told(f"{shown} is {self.out_and_up(out, up)}")
            case Call(function="hypot", arguments=(a, b)) if kind is Kind.CM:
                self.told(f"{shown} is {self.across(a, b)}")
            case Call(
                function="sqrt",
                arguments=(
                    Chain(
                        first=Power(base=a, exponent=2),
                        rest=((("+" | "-") as sign, Power(base=b, exponent=2)),),
                    ),
                ),
            ) if kind is Kind.CM:
                if sign == "+":
                    self.told(f"{shown} is {self.across(a, b)}")
                else:
                    long, other = self.called(self.laid(a)), self.called(self.laid(b))
                    self.told(
                        f"{shown} is a side of a right angle: long side {long}, other side {other}"
                    )
            case Call(function="asin" | "acos" as function, arguments=(part,)) if (
                ratio := self.ratio(part)
            ) is not None:
                over, by = ratio
                ends = _ENDS["sin" if function == "asin" else "cos"]
                self.told(
                    f"{shown} is the slope of a line of {self.called(self.laid(by))} that "
                    f"{ends.format(self.cm(abs(self.value(over))))}"
                )
            case Call(function="atan", arguments=(part,)) if (
                ratio := self.ratio(part)
            ) is not None:
                over, by = ratio
                self.told(f"{shown} is {self.out_and_up(by, over)}")
        return self.fresh(kind, value)

    def out_and_up(self, out: Tree, up: Tree) -> str:
        far = "out" if self.value(out) >= 0 else "back"
        high = "up" if self.value(up) >= 0 else "down"
        return f"{self.called(self.laid(out))} {far} and {self.called(self.laid(up))} {high}"

    def across(self, a: Tree, b: Tree) -> str:
        sides = f"{self.called(self.laid(a))} and {self.called(self.laid(b))}"
        return f"straight across a right angle with sides {sides}"

    def ratio(self, tree: Tree) -> tuple[Tree, Tree] | None:
        """A length over a length, as the two."""
        if isinstance(tree, Chain) and not tree.is_sum and tree.rest[-1][0] == "/":
            by = tree.rest[-1][1]
            over = Chain(tree.first, tree.rest[:-1]) if len(tree.rest) > 1 else tree.first
            if self.is_length(by) and self.is_length(over):
                return over, by
        return None

    def is_length(self, tree: Tree) -> bool:
        return measure_of(tree, self.kinds) == Measure(1)

    # ---- how it is written ------------------------------------------------------------------

    def fresh(self, kind: Kind, value: float) -> Name:
        name = f"={len(self.values)}"
        self.kinds[name], self.values[name] = kind, value
        return Name(name)

    def length(self, cm: float, _at: int) -> Name:
        return self.fresh(Kind.CM, cm)

    def whole_cm(self, tree: Tree) -> Tree:
        """Without "1 cm" as a factor, which in inches is a bare number."""
        if isinstance(tree, Chain) and not tree.is_sum:
            parts = [("*", tree.first), *tree.rest]
            ones = [sign for sign, part in parts if self.is_one_cm(part)]
            if ones:
                return self.without_ones(parts, ones)
        match tree:
            case Chain(first=first, rest=rest):
                rest = tuple((sign, self.whole_cm(part)) for sign, part in rest)
                return replace(tree, first=self.whole_cm(first), rest=rest)
            case Negative(inner=inner):
                return replace(tree, inner=self.whole_cm(inner))
            case Power(base=base):
                return replace(tree, base=self.whole_cm(base))
            case Call(arguments=arguments):
                return replace(tree, arguments=tuple(map(self.whole_cm, arguments)))
            case _:
                return tree

    def is_one_cm(self, tree: Tree) -> bool:
        return (
            isinstance(tree, Name) and tree.name.startswith("=") and self.values[tree.name] == 1.0
        )

    def without_ones(self, parts: list[tuple[str, Tree]], ones: list[str]) -> Tree:
        left = [(sign, self.whole_cm(part)) for sign, part in parts if not self.is_one_cm(part)]
        if self.unit is not CM:
            factor = math.prod(CM_PER_INCH if sign == "/" else 1 / CM_PER_INCH for sign in ones)
            for sign, part in left:
                if isinstance(part, Number):
                    factor = factor * part.value if sign == "*" else factor / part.value
            left = [one for one in left if not isinstance(one[1], Number)]
            left.insert(0, ("*", Number(f"{factor:.5f}".rstrip("0"))))
        if not left or left[0][0] == "/":
            left.insert(0, ("*", Number("1")))
        return Chain(left[0][1], tuple(left[1:])) if len(left) > 1 else left[0][1]

    def told(self, aside: str) -> None:
        if self.telling:
            self.asides.append(aside)

    def of(self, kind: Kind, value: float) -> str:
        return with_unit(kind, value, self.unit)

    def cm(self, value: float) -> str:
        return self.of(Kind.CM, value)

    def called(self, tree: Tree, *, below: bool = False) -> str:
        """The size of a part, and what it is in words: ``52 cm (half width)``; with its sign where
        it may be ``below`` nought."""
        found = measure_of(tree, self.kinds)
        kind = Kind.DEG if found.angle else Kind.CM if found.length == 1 else Kind.NUMBER
        value = self.value(tree)
        shown = self.of(kind, value if below else abs(value))
        nodes = list(walk(tree))
        named = any(isinstance(node, Name) and not node.name.startswith("=") for node in nodes)
        if not named or any(isinstance(node, Call) and node.function != "deg" for node in nodes):
            return shown
        marked = self.whole_cm(with_lengths(tree, self.kinds, kind, self.length))
        return f"{shown} ({write(marked, self.word)})"

    def signed(self, tree: Tree) -> Tree:
        """Without ``+ (-3)``: what is below nought is taken away instead."""
        match tree:
            case Chain(first=first, rest=rest):
                turned = [self.turned(sign, self.signed(part)) for sign, part in rest]
                return replace(
                    tree,
                    first=self.signed(first),
                    rest=tuple(turned) if tree.is_sum else rest,
                )
            case Negative(inner=inner):
                return replace(tree, inner=self.signed(inner))
            case Call(arguments=arguments):
                return replace(tree, arguments=tuple(map(self.signed, arguments)))
            case _:
                return tree

    def turned(self, sign: str, part: Tree) -> tuple[str, Tree]:
        if isinstance(part, Name) and self.values[part.name] < 0:
            kind = self.kinds[part.name]
            return "-" if sign == "+" else "+", self.fresh(kind, -self.values[part.name])
        return sign, part

    def word(self, name: str) -> str:
        return self.number(name) if name.startswith("=") else self.named(name)

    def number(self, name: str) -> str:
        return amount(self.kinds[name], self.values[name], self.unit)
