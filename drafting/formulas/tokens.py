"""The words of a formula: numbers, names and signs, and the bounds that keep them harmless."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass

from drafting.errors import FormulaError, Problem

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
