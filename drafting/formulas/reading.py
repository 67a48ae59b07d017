"""Reading a formula: tokens to a tree, by recursive descent.

Nothing in a formula runs while it is read; what is not arithmetic is refused with its column.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Never

from drafting.errors import FormulaError, Problem
from drafting.formulas.tokens import MAX_EXPONENT, Token, did_you_mean, split, wrong
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
