"""Units: what every part of a formula is, worked out from its names before any number is known.

A length may be added to a length only, and so on. A number written bare may stand for so many
centimetres (``bust_girth / 24 + 3.4``) but never for an angle: that is written ``deg(22)``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Never

from drafting.errors import FormulaError, Problem
from drafting.formulas.tree import Call, Chain, Constant, Name, Negative, Number, Power, Tree
from drafting.formulas.writing import pretty


class Kind(StrEnum):
    """What a quantity or a measurement is declared to be.

    Inside, ``CM`` is in centimetres, ``DEG`` in radians, ``NUMBER`` is bare.
    """

    CM = "cm"
    DEG = "deg"
    NUMBER = "number"


@dataclass(frozen=True, slots=True)
class Measure:
    """What an expression is: a length to a power (0: a number), or an angle.

    ``bare`` marks a number that consists of written numbers only.
    """

    length: int = 0
    angle: bool = False
    bare: bool = False

    def __str__(self) -> str:
        if self.angle:
            return "an angle"
        if self.bare:
            return "a bare number"
        known = {0: "a number", 1: "a length", 2: "an area"}
        return known.get(self.length, f"a length to the power {self.length}")


_NUMBER = Measure()
_BARE = Measure(bare=True)
_LENGTH = Measure(1)
_ANGLE = Measure(angle=True)
_DECLARED = {Kind.CM: _LENGTH, Kind.DEG: _ANGLE, Kind.NUMBER: _NUMBER}
_TO_ANGLE = "Write deg(22) for 22 degrees."
_TO_LENGTH = "Multiply a number by cm to make it a length, or divide a length by cm."


def measure_of(tree: Tree, kinds: Mapping[str, Kind], *, place: str = "", key: str = "") -> Measure:
    """What ``tree`` is when its names are of ``kinds``.

    Raises :class:`FormulaError` with the column where units do not fit or a name has no kind.
    """
    return _Checker(kinds, place, key).measure(tree)


def check_kind(
    tree: Tree, kinds: Mapping[str, Kind], declared: Kind, *, place: str = "", key: str = ""
) -> None:
    """Check that ``tree`` is what its quantity is ``declared`` to be.

    Raises :class:`FormulaError` where it is not, or where units inside it do not fit.
    """
    found = measure_of(tree, kinds, place=place, key=key)
    wanted = _DECLARED[declared]
    advice = _advice(found, wanted)
    if found.angle and declared is Kind.NUMBER:
        advice = "degrees(...) of an angle is its number of degrees."
    if _together(found, wanted) is None:
        raise FormulaError(
            Problem(
                f"the unit is {declared}, but the formula gives {found}",
                place,
                key,
                accepted=str(wanted),
                advice=advice,
            )
        )


def _together(one: Measure, other: Measure) -> Measure | None:
    """What two measures are when added or compared; ``None`` if they cannot be."""
    if one == other:
        return one
    if one.bare and other in (_NUMBER, _LENGTH):
        return other
    if other.bare and one in (_NUMBER, _LENGTH):
        return one
    return None


def _advice(one: Measure, other: Measure) -> str:
    numbers = [measure for measure in (one, other) if measure in (_NUMBER, _BARE)]
    if numbers and _ANGLE in (one, other):
        return _TO_ANGLE
    if numbers and Measure(2) in (one, other):
        return "Write 4 * cm^2 for an area of 4 square centimetres."
    return _TO_LENGTH if numbers else ""


class _Checker:
    def __init__(self, kinds: Mapping[str, Kind], place: str, key: str) -> None:
        self.kinds = kinds
        self.place = place
        self.key = key

    def fail(self, said: str, tree: Tree, accepted: str = "", advice: str = "") -> Never:
        text = pretty(tree)
        got = text if len(text) <= 60 else f"{text[:57]}..."
        said = f"column {tree.at}: {said}"
        raise FormulaError(Problem(said, self.place, self.key, got, accepted, advice))

    def measure(self, tree: Tree) -> Measure:
        match tree:
            case Number():
                return _BARE
            case Constant(name=name):
                return _LENGTH if name == "cm" else _NUMBER
            case Name(name=name):
                if name not in self.kinds:
                    self.fail("nothing has this name", tree)
                return _DECLARED[self.kinds[name]]
            case Negative(inner=inner):
                return self.measure(inner)
            case Power(base=base, exponent=exponent):
                return self.power(base, exponent)
            case Chain():
                return self.sum(tree) if tree.is_sum else self.product(tree)
            case Call(function=function, arguments=arguments):
                return _RULES[function](self, *arguments)

    def power(self, base: Tree, exponent: int) -> Measure:
        found = self.measure(base)
        if found.angle:
            if exponent == 1:
                return found
            self.fail("an angle has no powers", base, advice="degrees(...) makes it a number.")
        return Measure(found.length * exponent, bare=found.bare)

    def sum(self, tree: Chain) -> Measure:
        return self.same(tree.first, *(part for _, part in tree.rest), verb="added")

    def same(self, first: Tree, *rest: Tree, verb: str) -> Measure:
        total = self.measure(first)
        for part in rest:
            found = self.measure(part)
            both = _together(total, found)
            if both is None:
                self.fail(
                    f"{found} cannot be {verb} {'with' if verb == 'compared' else 'to'} {total}",
                    part,
                    str(_NUMBER if total.bare else total),
                    _advice(total, found),
                )
            total = both
        return total

    def product(self, tree: Chain) -> Measure:
        total = self.measure(tree.first)
        for sign, part in tree.rest:
            found = self.measure(part)
            if total.angle or found.angle:
                total = self.with_angle(sign, total, found, part)
            else:
                power = total.length + (found.length if sign == "*" else -found.length)
                total = Measure(power, bare=total.bare and found.bare)
        return total

    def with_angle(self, sign: str, total: Measure, found: Measure, part: Tree) -> Measure:
        if sign == "/" and total.angle and found.angle:
            return _NUMBER
        other = found if total.angle else total
        if (sign == "/" and found.angle) or other not in (_NUMBER, _BARE):
            self.fail(
                f"{total} cannot be {'multiplied' if sign == '*' else 'divided'} by {found}",
                part,
                advice="Take sin, cos or tan of the angle, or degrees(...) of it.",
            )
        return _ANGLE

    def need(self, tree: Tree, wanted: Measure, advice: str) -> None:
        found = self.measure(tree)
        if found != wanted and not (found.bare and wanted == _NUMBER):
            self.fail(f"this is {found}", tree, str(wanted), advice)


def _root(check: _Checker, x: Tree) -> Measure:
    found = check.measure(x)
    if found.angle or found.length % 2:
        check.fail(f"there is no square root of {found}", x, "a number or an area")
    return Measure(found.length // 2, bare=found.bare)


def _of_angle(check: _Checker, angle: Tree) -> Measure:
    check.need(angle, _ANGLE, _TO_ANGLE)
    return _NUMBER


def _to_angle(check: _Checker, x: Tree) -> Measure:
    check.need(x, _NUMBER, "Divide a length by cm, or by another length, first.")
    return _ANGLE


def _angle_of(check: _Checker, y: Tree, x: Tree) -> Measure:
    _distance(check, y, x)
    return _ANGLE


def _distance(check: _Checker, a: Tree, b: Tree) -> Measure:
    found = check.same(a, b, verb="compared")
    if found.angle:
        check.fail("this is an angle", a, "a length or a number")
    return found


def _choose_below(check: _Checker, a: Tree, b: Tree, then: Tree, otherwise: Tree) -> Measure:
    check.same(a, b, verb="compared")
    return check.same(then, otherwise, verb="compared")


def _compared(check: _Checker, *values: Tree) -> Measure:
    return check.same(*values, verb="compared")


_RULES: Mapping[str, Callable[..., Measure]] = {
    "sqrt": _root,
    "sin": _of_angle,
    "cos": _of_angle,
    "tan": _of_angle,
    "degrees": _of_angle,
    "asin": _to_angle,
    "acos": _to_angle,
    "atan": _to_angle,
    "deg": _to_angle,
    "atan2": _angle_of,
    "hypot": _distance,
    "abs": _Checker.measure,
    "min": _compared,
    "max": _compared,
    "choose_below": _choose_below,
}
