"""Reading a formula: tokens to a tree, by recursive descent.

Nothing in a formula runs while it is read; what is not arithmetic is refused with its column.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Never

from drafting.errors import FormulaError, Problem
from drafting.formulas.tree import (
    CONSTANTS,
    FUNCTIONS,
    Call,
    Chain,
    Constant,
    Name,
    Negative,
    Number,
    Power,
    Tree,
)

# ---- The words of a formula: numbers, names and signs, and the bounds that keep them harmless

#: A formula is one line of a book, not a page: longest text, longest numbers.
MAX_TEXT = 500
MAX_DIGITS = 9
MAX_EXPONENT = 4

_TOKEN = re.compile(
    r"(?P<space>[ \t\r\n]+)"
    r"|(?P<number>[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
    r"|(?P<name>[A-Za-z][A-Za-z0-9_]*)"
    r"|(?P<sign>[-+*/^(),])"
)
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*")
_ADVICE = {
    "×": "Write * for times.",
    "÷": "Write / for divided by.",
    "−": "Write the plain - for minus.",
    "–": "Write the plain - for minus.",
    "²": "Write ^2 for squared.",
    "³": "Write ^3 for cubed.",
    "√": "Write sqrt(...) for a square root.",
    "°": "Write deg(22) for 22 degrees.",
    "π": "Write pi.",
    "[": "Write round brackets.",
    "]": "Write round brackets.",
    "{": "Write round brackets.",
    "}": "Write round brackets.",
    ".": "A decimal point stands before a digit, such as 3.5.",
    "_": "A name starts with a letter.",
    "=": "Write only what stands right of the = sign.",
    "<": "Write choose_below(a, b, then, otherwise).",
    ">": "Write choose_below(b, a, then, otherwise).",
}


@dataclass(frozen=True, slots=True)
class Token:
    """A word of a formula: ``kind`` is ``number``, ``name``, ``sign`` or, last of all, ``end``.

    ``at`` is its column, from 1.
    """

    kind: str
    text: str
    at: int


def wrong(
    said: str, at: int, place: str, *, got: str = "", accepted: str = "", advice: str = ""
) -> FormulaError:
    """The error for a mistake at column ``at``."""
    return FormulaError(Problem(f"column {at}: {said}", place, "", got, accepted, advice))


def is_name(text: str) -> bool:
    """Whether ``text`` can be a name: a letter, then letters, digits and ``_``; not too long."""
    return len(text) <= MAX_TEXT and _NAME.fullmatch(text) is not None


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Advice that names up to three words of ``known`` close to ``word``; empty if none is."""
    close = difflib.get_close_matches(word, sorted(known), n=3, cutoff=0.7)
    return f"Did you mean {' or '.join(close)}?" if close else ""


def split(text: str, place: str = "") -> list[Token]:
    """The tokens of a formula, ``end`` the last.

    Raises :class:`FormulaError` where the text or a number is too long, or a sign is none.
    """
    if len(text) > MAX_TEXT:
        raise FormulaError(
            Problem(
                "this formula is too long",
                place=place,
                got=f"{len(text)} characters",
                accepted=f"at most {MAX_TEXT}",
                advice="Give a part of it a name of its own.",
            )
        )
    tokens: list[Token] = []
    position = 0
    while position < len(text):
        match = _TOKEN.match(text, position)
        if match is None or match.lastgroup is None:
            sign = text[position]
            raise wrong(
                "this sign has no meaning in a formula",
                position + 1,
                place,
                got=f"'{sign}'" if sign.isprintable() else ascii(sign),
                accepted="numbers, names and + - * / ^ ( ) ,",
                advice=_ADVICE.get(sign, ""),
            )
        if match.lastgroup == "number":
            _check_number(match[0], position + 1, place)
        if match.lastgroup != "space":
            tokens.append(Token(match.lastgroup, match[0], position + 1))
        position = match.end()
    tokens.append(Token("end", "", len(text) + 1))
    return tokens


def _check_number(text: str, at: int, place: str) -> None:
    if max(len(part) for part in text.split(".")) > MAX_DIGITS:
        raise wrong(
            "this number has too many digits",
            at,
            place,
            got=text[:20],
            accepted=f"at most {MAX_DIGITS} before and {MAX_DIGITS} after the point",
        )


#: Brackets and signs inside each other: no formula of the trade comes near.
MAX_DEPTH = 40

_START = "a number, a name, - or ("


def read(text: str, place: str = "") -> Tree:
    """The tree of a formula.

    Raises :class:`FormulaError` with ``place``, the column, what was found and what may stand
    there, for anything that is not a formula.
    """
    if not isinstance(text, str):
        raise FormulaError(
            Problem("a formula is text in quotes", place=place, got=type(text).__name__)
        )
    return _Reader(split(text, place), place).formula()


class _Reader:
    """Sum, product, signed, power, atom; one token ahead."""

    def __init__(self, tokens: list[Token], place: str) -> None:
        self.place = place
        self.tokens = tokens
        self.index = 0
        self.depth = 0

    def fail(
        self, said: str, at: int, *, got: str = "", accepted: str = "", advice: str = ""
    ) -> Never:
        raise wrong(said, at, self.place, got=got, accepted=accepted, advice=advice)

    @property
    def token(self) -> Token:
        return self.tokens[self.index]

    def take(self) -> Token:
        token = self.token
        self.index += 1
        return token

    def at_sign(self, signs: str) -> bool:
        return self.token.kind == "sign" and self.token.text in signs

    def unexpected(self, accepted: str, advice: str = "") -> Never:
        token = self.token
        got = f"'{token.text[:40]}'" if token.text else "the end of the formula"
        said = "this does not fit here" if token.text else "something is missing"
        self.fail(said, token.at, got=got, accepted=accepted, advice=advice)

    def formula(self) -> Tree:
        if self.token.kind == "end":
            self.fail("this formula is empty", 1, accepted=_START)
        tree = self.sum()
        if self.token.kind != "end":
            advice = ""
            if self.at_sign(","):
                advice = "Decimals are written with a point, such as 3.5."
            elif self.token.kind != "sign" or self.token.text == "(":
                advice = "Write * for times."
            self.unexpected("+ - * / ^ or the end of the formula", advice)
        return tree

    def sum(self) -> Tree:
        return self.chain("+-", self.product)

    def product(self) -> Tree:
        return self.chain("*/", self.signed)

    def chain(self, signs: str, part: Callable[[], Tree]) -> Tree:
        first = part()
        rest: list[tuple[str, Tree]] = []
        while self.at_sign(signs):
            sign = self.take()
            if sign.text == "*" and self.at_sign("*"):
                self.unexpected(_START, "Write ^ for a power.")
            rest.append((sign.text, part()))
        return Chain(first, tuple(rest), first.at) if rest else first

    def deeper(self, at: int) -> None:
        self.depth += 1
        if self.depth > MAX_DEPTH:
            self.fail(
                "brackets or signs are nested too deep",
                at,
                accepted=f"at most {MAX_DEPTH}",
                advice="Give a part of it a name of its own.",
            )

    def signed(self) -> Tree:
        if not self.at_sign("-"):
            return self.power()
        minus = self.take()
        self.deeper(minus.at)
        inner = self.signed()
        self.depth -= 1
        return Negative(inner, minus.at)

    def power(self) -> Tree:
        base = self.atom()
        if not self.at_sign("^"):
            return base
        self.take()
        allowed = f"a whole number from 0 to {MAX_EXPONENT}"
        written = self.token
        if written.kind != "number" or "." in written.text or int(written.text) > MAX_EXPONENT:
            self.unexpected(allowed, "Other powers have no use in a draft; roots are sqrt(...).")
        self.take()
        if self.at_sign("^"):
            self.unexpected("+ - * / or the end", "Put the inner power in brackets.")
        return Power(base, int(written.text), base.at)

    def atom(self) -> Tree:
        token = self.token
        if token.kind == "number":
            self.take()
            return Number(token.text, token.at)
        if token.kind == "name":
            self.take()
            return self.call(token) if self.at_sign("(") else self.word(token)
        if not self.at_sign("("):
            self.unexpected(_START)
        self.take()
        self.deeper(token.at)
        inner = self.sum()
        self.close("+ - * / ^ or )")
        return inner

    def close(self, accepted: str) -> None:
        if not self.at_sign(")"):
            self.unexpected(accepted)
        self.take()
        self.depth -= 1

    def word(self, token: Token) -> Tree:
        if token.text in CONSTANTS:
            return Constant(token.text, token.at)
        if token.text in FUNCTIONS:
            self.fail(
                f"{token.text} is a function and needs brackets",
                token.at,
                got=token.text,
                accepted=_usage(token.text),
            )
        return Name(token.text, token.at)

    def call(self, token: Token) -> Tree:
        wanted = FUNCTIONS.get(token.text)
        if wanted is None:
            self.fail(
                "there is no such function",
                token.at,
                got=token.text[:40],
                accepted=", ".join(FUNCTIONS),
                advice=did_you_mean(token.text, FUNCTIONS) or "Write * for times.",
            )
        self.take()
        self.deeper(token.at)
        arguments = [] if self.at_sign(")") else [self.sum()]
        while self.at_sign(","):
            self.take()
            arguments.append(self.sum())
        self.close("+ - * / ^ , or )")
        open_ended = wanted[-1] == "..."
        least = len(wanted) - open_ended
        if len(arguments) < least or (len(arguments) > least and not open_ended):
            self.fail(
                f"{token.text} has {len(arguments)} in its brackets",
                token.at,
                accepted=_usage(token.text),
                advice="Decimals are written with a point, such as 3.5."
                if len(arguments) > least
                else "",
            )
        return Call(token.text, tuple(arguments), token.at)


def _usage(function: str) -> str:
    return f"{function}({', '.join(FUNCTIONS[function])})"
