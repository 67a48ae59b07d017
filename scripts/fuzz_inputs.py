"""Bad input, made from good: cards, tables of orders, methods and accounts, spoilt at random.

``spoilt(seed, number)`` is the same bytes whenever it is called with the same two, so that an input
which found a fault is known by its number.
"""

from __future__ import annotations

import codecs
import random
from collections.abc import Callable, Mapping

from fuzz_good import (
    WORDS,
    built_card,
    extreme_card,
    good_account,
    good_card,
    good_method,
    good_table,
    taped_card,
)

from workroom.batch.table import known_columns

#: The kinds of inputs, and how often each comes.
SHARES: Mapping[str, int] = {
    "card": 34,
    "built": 10,
    "taped": 12,
    "extreme": 4,
    "table": 22,
    "method": 14,
    "account": 4,
}
NUMBERS = (
    *("", "0", "-0.0", "-1", "1", "nan", "-nan", "inf", "-inf", "1e400", "1e308", "5e-324", "1e-9"),
    *("9" * 400, "9" * 5000, "0x1F", "1_000", "+92", ".5", "5.", "92,5", "92.5.1", "9 2", "1/0"),
    *("14 3/8", "14 3/8 in", "36 in", '36"', "92 cm", "920 mm", "0.92 m", "92 km", "92cm in"),
    *("1000000", "true", "false", "null", "None", "𝟗𝟐", "٩٢", "½", "1½", "92°", "1e5 in", "--1"),
)
VALUES = (
    *(
        "[]",
        "{}",
        "[[]]",
        "[1, 2]",
        "{ a = 1 }",
        '"""',
        "'''",
        "2026-03-14",
        "2026-13-40",
        "0001-01-01",
    ),
    *("2026-03-14T07:32:00Z", "07:32:00", '"\\u0000"', '"\\uD800"', '"\\', "[" * 2000, "{a=" * 400),
    *("[" * 90 + "]" * 90, '"' + "x" * 20_000 + '"', "[" + "1," * 3000 + "]", "a.b.c = 1", "= ="),
)
FORMULAS = (
    *(
        "/ 0",
        "^ 99",
        "^ 9 ^ 9 ^ 9",
        "^ -0.5",
        "sqrt(0 - 1)",
        "(" * 300,
        "(" * 3000,
        ")",
        "°",
        "1e308",
    ),
    *(
        "bust_girth",
        "waist_depth",
        "* 1e308 * 1e308",
        "atan2(0, 0)",
        "if",
        "min()",
        "asin(2)",
        "cm",
    ),
    *(
        "__import__('os')",
        "lambda: 0",
        "9" * 5000,
        "- -" * 200,
        "max(1, 2",
        "bust_girth bust_girth",
    ),
)
ENCODINGS = (
    "utf-8",
    "utf-8-sig",
    "utf-16",
    "utf-16-le",
    "utf-16-be",
    "utf-32",
    "latin-1",
    "cp1252",
)


def spoilt(seed: int, number: int, kinds: tuple[str, ...] = tuple(SHARES)) -> tuple[str, bytes]:
    """The kind and the bytes of an input."""
    chance = random.Random(f"{seed}/{number}")
    kind = chance.choices(kinds, [SHARES[one] for one in kinds])[0]
    if kind == "extreme":
        return kind, extreme_card(chance).encode()
    if kind in ("card", "built", "taped"):
        makers: Mapping[str, Callable[[random.Random], str]] = {
            "card": good_card,
            "built": built_card,
            "taped": taped_card,
        }
        text = makers[kind](chance)
        snippets = (*NUMBERS, *WORDS, *VALUES)
    elif kind == "table":
        text, snippets = good_table(chance), (*NUMBERS, *WORDS, '"', '""', ";", ",,", "\t", "sep=|")
    elif kind == "method":
        text, snippets = good_method(chance), (*FORMULAS, *NUMBERS, *VALUES, "[quantities]")
    else:
        text, snippets = good_account(), (*NUMBERS, *WORDS, *VALUES)
    for _ in range(chance.choice((0, 1, 1, 1, 2, 2, 3, 5))):
        text = chance.choice(MUTATIONS)(text, chance, snippets)
    return kind, spoilt_bytes(text, chance)


def spoilt_bytes(text: str, chance: random.Random) -> bytes:
    """Text in some encoding, now and then cut off or with bytes changed."""
    encoding = "utf-8" if chance.random() < 0.8 else chance.choice(ENCODINGS)
    strict = encoding in ("latin-1", "cp1252")
    data = bytearray(text.encode(encoding, "replace" if strict else "surrogatepass"))
    if chance.random() < 0.04:
        data[:0] = chance.choice((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, b"\0"))
    if chance.random() < 0.06:
        for _ in range(chance.randint(1, 6)):
            at = chance.randint(0, len(data))
            data[at : at + chance.randint(0, 2)] = chance.randbytes(chance.randint(0, 3))
    if chance.random() < 0.03:
        del data[chance.randint(0, len(data)) :]
    return bytes(data)


# Ways of spoiling a text.

Mutation = Callable[[str, random.Random, tuple[str, ...]], str]


def _overwrite(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    start = chance.randint(0, len(text))
    return text[:start] + chance.choice(snippets) + text[start + chance.randint(0, 20) :]


def _double(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    start = chance.randint(0, len(text))
    end = min(len(text), start + chance.randint(0, 60))
    return text[:end] + text[start:end] * chance.choice((1, 1, 2, 50)) + text[end:]


def _line_moved(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    lines = text.split("\n")
    line = lines.pop(chance.randrange(len(lines)))
    if chance.random() < 0.7:
        lines.insert(chance.randint(0, len(lines)), line)
    return "\n".join(lines)


def _value(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """What stands after an = (in a table: in a cell) changed for something else."""
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    sign = "=" if "=" in lines[at] else next((s for s in ";,\t" if s in lines[at]), "")
    new = chance.choice(snippets)
    if not sign:
        return text
    cells = lines[at].split(sign)
    place = 1 if sign == "=" else chance.randrange(len(cells))
    cells[place] = f' "{new}"' if sign == "=" and chance.random() < 0.5 else f" {new}"
    lines[at] = sign.join(cells)
    return "\n".join(lines)


def _number(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """A digit, a point or a sign changed: slips of the hand."""
    places = [at for at, sign in enumerate(text) if sign in "0123456789.,"]
    if not places:
        return text
    at = chance.choice(places)
    return text[:at] + chance.choice(("", "-", ".", ",", "e", "00", *"0123456789")) + text[at + 1 :]


def _unit(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    old, new = chance.choice((('"cm"', '"in"'), ('"in"', '"cm"'), (" = ", "="), ("\n", "\r\n")))
    return text.replace(old, new) if chance.random() < 0.6 else text.replace("\n", "\r")


def _key(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """A line of some key with some value."""
    lines = text.split("\n")
    key = chance.choice(_KEYS).rpartition(".")[2]
    lines.insert(chance.randint(0, len(lines)), f"{key} = {chance.choice(snippets)}")
    return "\n".join(lines)


def _deep(text: str, chance: random.Random, snippets: tuple[str, ...]) -> str:
    """Something nested deeper than anybody nests."""
    much = chance.choice((20, 200, 2000, 20_000))
    deep = chance.choice(("[" * much, "a." * much + "a = 1", "[" + "a." * much + "a]", "(" * much))
    at = text.find("\n", chance.randint(0, len(text))) + 1
    return text[:at] + deep + "\n" + text[at:]


_KEYS = tuple(sorted(known_columns()))
MUTATIONS: tuple[Mutation, ...] = (
    *(_overwrite, _overwrite, _double, _line_moved, _value, _value, _value, _number, _number),
    *(_unit, _key, _deep),
)
