"""Writing a formula for a maker to read: one line, with × ÷ ° √ and as few brackets as it takes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from drafting.formulas.tree import Call, Chain, Constant, Name, Negative, Number, Power, Tree

# How tightly a written part holds together; a looser one gets brackets inside a tighter one.
_SUM, _PRODUCT, _POWER, _ATOM = 1, 2, 3, 4
_SIGNS: Mapping[str, str] = {"+": "+", "-": "-", "*": "×", "/": "÷"}
_RAISED = "⁰¹²³⁴"

_SCYE = re.compile(r"(?<![a-z])(?:arm)?scye(?![a-z])")
#: How the last word of a name is said.
_ENDS: Mapping[str, str] = {
    "_x": "{} across",
    "_y": "{} up",
    "_more": "extra {}",
    "_lower": "{} lowered by",
}

#: Gives the words, or the number, that stand for a name.
Show = Callable[[str], str]


def pretty(tree: Tree) -> str:
    """``tree`` on one line, names as words: ``bust girth ÷ 24 + 3.4``."""
    return write(tree, words)


def words(name: str) -> str:
    """A name as words: ``front neck width``, ``bust point across``, ``extra bust ease``."""
    plain = _SCYE.sub("armhole", name)
    for end, said in _ENDS.items():
        plain = said.format(plain.removesuffix(end)) if plain.endswith(end) else plain
    if plain.startswith("own_"):
        plain = f"{plain.removeprefix('own_')} before extra"
    return plain.replace("_", " ")


def write(tree: Tree, show: Show) -> str:
    """``tree`` on one line; ``show`` gives what stands for each name (it may start with ``-``)."""
    return _write(tree, show)[0]


def _write(tree: Tree, show: Show) -> tuple[str, int]:
    match tree:
        case Number(text=text):
            return (f"0{text}" if text.startswith(".") else text), _ATOM
        case Constant(name=name):
            return ("π" if name == "pi" else "1 cm"), _ATOM
        case Name(name=name):
            text = show(name)
            return text, _SUM if text.startswith("-") else _ATOM
        case Negative(inner=inner):
            return f"-{_at_least(_POWER, inner, show)}", _SUM
        case Power(base=base, exponent=exponent):
            text = _at_least(_ATOM, base, show)
            if " " in text and isinstance(base, Name):
                text = f"({text})"
            return f"{text}{_RAISED[exponent]}", _POWER
        case Chain():
            return (_sum if tree.is_sum else _product)(tree, show)
        case Call(function=function, arguments=arguments):
            return _call(function, arguments, show)


def _at_least(level: int, tree: Tree, show: Show) -> str:
    text, own = _write(tree, show)
    return text if own >= level else f"({text})"


def _sum(tree: Chain, show: Show) -> tuple[str, int]:
    text = _write(tree.first, show)[0]
    for sign, part in tree.rest:
        text += f" {_SIGNS[sign]} {_at_least(_PRODUCT, part, show)}"
    return text, _SUM


def _product(tree: Chain, show: Show) -> tuple[str, int]:
    leading = isinstance(tree.first, Negative | Name)
    text = _write(tree.first, show)[0] if leading else _at_least(_PRODUCT, tree.first, show)
    times = True
    before = tree.first
    for sign, part in tree.rest:
        unit = _centimetres(part)
        if sign == "*" and unit and times and isinstance(before, Number):
            text += f" {unit}"
        else:
            text += f" {_SIGNS[sign]} {_at_least(_POWER, part, show)}"
        times = sign == "*"
        before = part
    return text, _SUM if text.startswith("-") else _PRODUCT


def _centimetres(tree: Tree) -> str:
    match tree:
        case Constant(name="cm"):
            return "cm"
        case Power(base=Constant(name="cm"), exponent=exponent):
            return f"cm{_RAISED[exponent]}"
        case _:
            return ""


def _call(function: str, arguments: tuple[Tree, ...], show: Show) -> tuple[str, int]:
    texts = [write(argument, show) for argument in arguments]
    match function:
        case "sqrt":
            return f"√{_tight(texts[0])}", _POWER
        case "hypot":
            a, b = (write(Power(argument, 2), show) for argument in arguments)
            return f"√({a} + {b})", _POWER
        case "deg":
            return f"{_tight(texts[0])}°", _POWER
        case "abs":
            return f"|{texts[0]}|", _ATOM
        case "choose_below":
            a, b, then, otherwise = texts
            return f"({then} if {a} < {b}, otherwise {otherwise})", _ATOM
        case _:
            return f"{function}({', '.join(texts)})", _ATOM


def _tight(text: str) -> str:
    plain = text.replace(".", "").replace("_", "")
    return text if plain.isalnum() else f"({text})"
