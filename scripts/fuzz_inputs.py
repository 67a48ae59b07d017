"""Bad input, made from good: cards, tables of orders, methods and accounts, spoilt at random.

``spoilt(seed, number)`` is the same bytes whenever it is called with the same two, so that an input
which found a fault is known by its number.
"""

from __future__ import annotations

import codecs
import csv
import io
import json
import random
from collections.abc import Callable, Mapping
from functools import cache

from blocks.measures import measurements
from blocks.methods import method_names
from blocks.survey import survey
from collars.registry import COLLARS
from drafting.library import data_folder
from drafting.parameters import ParameterRule
from drafting.units import CM_PER_INCH
from workroom.batch.columns import known_columns
from workroom.card_shape import NECK_SHAPES
from workroom.fitting_words import fitting_words
from workroom.options import options

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
WORDS = (
    *("<b>x</b>", "<script>alert(1)</script>", "</svg><svg onload=x>", "]]>", "<!--", "&amp;&#0;"),
    *("../../x", "/etc/passwd", "..", ".", "a/b\\c", "C:\\x", "CON", "NUL.txt", "~", "$HOME", "/"),
    *("/dev/zero", "/dev/stdin", ".making-x", ".was-x", "x" * 300, "W" * 120, "%s%n{0}{client}"),
    *("\0", "\x1b[31m", "\u202e", "\u2028", "\u200d", "\ufeff", "a\u0301\u0327" * 20, "\ud800"),
    *("Zoë Ødegård", "Анна", "مريم", "日本", "👩‍👩‍👧", "I\u0307ıß", "\r", "a\nb", "\t", " "),
    *(
        "=cmd|' /C calc'!A0",
        "@SUM(1)",
        "-1+1",
        "\\P{\\H3x;y}",
        "%%d",
        "^J",
        "{\\fArial;x}",
        "<font",
    ),
    *(
        "none",
        "two-piece shirt",
        "sailor",
        "direct-measure",
        "cm",
        "in",
        "both",
        "round",
        "2026-03-14",
    ),
    *(
        "client",
        "bust_girth",
        "neckline.fit",
        "card",
        "good.toml",
        "missing.toml",
        "toile",
        "__class__",
    ),
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


# What is spoilt: good input of every kind.


@cache
def _clients() -> tuple[str, ...]:
    folder = data_folder() / "clients"
    return tuple(path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml")))


@cache
def _methods() -> tuple[str, ...]:
    folder = data_folder() / "methods"
    return tuple((folder / f"{name}.toml").read_text(encoding="utf-8") for name in method_names())


def good_card(chance: random.Random) -> str:
    """One of the invented clients'."""
    return chance.choice(_clients())


def good_method(chance: random.Random) -> str:
    """One of the methods."""
    return chance.choice(_methods())


def good_account() -> str:
    """What tells a finished order."""
    account = {
        **{"client": "Anna", "order": "", "date": "2026-03-14", "passed": 3, "noted": 1},
        **{"failed": ["neck"], "unusual": []},
    }
    told = {"form": 1, "written_by": "Neckarc", "mark": "m", "files": ["a.txt"], "account": account}
    return json.dumps(told, indent=1)


def body(chance: random.Random) -> dict[str, float]:
    """Measurements as women have them, some more at their limits (cm, degrees)."""
    known = survey()
    found = {
        key: float(known.mean[at] + known.sd[at] * chance.gauss(0, 0.7))
        for at, key in enumerate(known.keys)
    }
    for key, one in measurements().items():
        if chance.random() < 0.06:
            found[key] = chance.choice((*one.hard, *one.usual, chance.uniform(*one.hard)))
    return found


def asked(rule: ParameterRule, chance: random.Random, corners: float) -> float | str:
    """A value that a rule accepts, a limit with the chance ``corners``."""
    if rule.choices:
        return chance.choice(rule.choices)
    if chance.random() < corners:
        return chance.choice((rule.low, rule.high))
    return chance.uniform(rule.low, rule.high)


def wishes(chance: random.Random, often: float, corners: float) -> dict[str, float | str]:
    """What a card asks for, by dotted key: any collar and option in its range."""
    kind = chance.choice(("none", *COLLARS))
    found: dict[str, float | str] = {"garment.method": chance.choice(method_names())}
    found["collar.kind"] = kind
    rules = {
        f"collar.{k}": rule
        for k, rule in (COLLARS[kind].parameters if kind != "none" else {}).items()
    }
    for table, rows in options().items():
        rules |= {f"garment.{table}.{key}": option.rule for key, option in rows.items()}
    for key, rule in rules.items():
        if chance.random() < often:
            found[key] = asked(rule, chance, corners)
    lengths = {
        **{"garment.button_stand": (0, 8), "garment.seam_allowance": (0, 5)},
        **{"neckline.ease": (-2, 8), "neckline.style.front_lower": (0, 30)},
        **{"neckline.style.side_widen": (0, 12), "neckline.style.back_lower": (0, 25)},
        **{
            f"garment.allowances.{edge}": (0, 5) for edge in ("neckline", "scye", "collar", "waist")
        },
    }
    for key, (low, high) in lengths.items():
        if chance.random() < often / 2:
            ends = chance.choice((low, high))
            found[key] = ends if chance.random() < corners else chance.uniform(low, high)
    if chance.random() < often:
        found["neckline.fit"] = chance.choice(("none", "front", "side", "both"))
    if chance.random() < often:
        found["neckline.style.shape"] = chance.choice(NECK_SHAPES)
    return found


def card_text(told: Mapping[str, float | str], unit: str, seen: str = "") -> str:
    """A card of these values (cm, degrees) by dotted key, lengths in its unit."""
    tables: dict[str, list[str]] = {"": []}
    for key, value in told.items():
        table, _, name = key.rpartition(".")
        if unit == "in" and not isinstance(value, str) and key not in _no_lengths():
            value /= CM_PER_INCH
        said = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)
        tables.setdefault(table, []).append(f"{name} = {said}")
    parts = [f"[{name}]" * bool(name) + "\n" + "\n".join(lines) for name, lines in tables.items()]
    return "\n".join(parts) + seen + "\n"


@cache
def _no_lengths() -> frozenset[str]:
    """The keys whose numbers are angles, or numbers of something."""
    rules = {
        f"collar.{key}": rule for one in COLLARS.values() for key, rule in one.parameters.items()
    }
    for name, table in options().items():
        rules |= {f"garment.{name}.{key}": option.rule for key, option in table.items()}
    angles = {f"measurements.{key}" for key, one in measurements().items() if one.unit != "cm"}
    return frozenset(key for key, rule in rules.items() if rule.unit != "cm") | angles


def _head(chance: random.Random, unit: str) -> dict[str, float | str]:
    name = chance.choice(WORDS) if chance.random() < 0.5 else "Anna Berg"
    order = chance.choice(WORDS) if chance.random() < 0.3 else "Blouse 1"
    return {"client": name, "date": "2026-03-14", "unit": unit, "order": order}


def extreme_card(chance: random.Random) -> str:
    """A card that is right, with wishes at the limits of what is accepted."""
    unit, often = chance.choice(("cm", "in")), chance.choice((0.1, 0.3, 0.6, 1.0))
    told: dict[str, float | str] = {"client": "Anna Berg", "date": "2026-03-14", "unit": unit}
    told |= {f"measurements.{key}": value for key, value in body(chance).items()}
    return card_text(told | wishes(chance, often, 0.7), unit, _seen(chance))


def built_card(chance: random.Random) -> str:
    """A card with some of everything."""
    unit = chance.choice(("cm", "in"))
    told = _head(chance, unit)
    told |= {f"measurements.{key}": value for key, value in body(chance).items()}
    return card_text(told | wishes(chance, 0.2, 0.2), unit, _seen(chance))


def taped_card(chance: random.Random) -> str:
    """A card of a taped neckline: no body."""
    unit = chance.choice(("cm", "in"))
    told = _head(chance, unit) | wishes(chance, 0.3, 0.3)
    told |= {
        "neckline.back_arc": chance.uniform(4, 25),
        "neckline.front_arc": chance.uniform(5, 45),
    }
    return card_text(told, unit, _seen(chance))


def _seen(chance: random.Random) -> str:
    if chance.random() < 0.7:
        return ""
    words, text = fitting_words().seen, ""
    for key in chance.sample(sorted(words), chance.randint(1, 4)):
        text += f'\n[[toile]]\ndate = 2026-03-20\nseen = "{key}"\n'
        if chance.random() < 0.5:
            text += f"amount = {chance.uniform(0.05, words[key].most):.3f}\n"
    return text


def good_table(chance: random.Random) -> str:
    """A table of a few orders, each with wishes of its own; some name a card's file."""
    out = io.StringIO()
    rows = []
    for number in range(chance.choice((1, 1, 1, 2, 3))):
        told = _head(chance, "cm") | wishes(chance, 0.1, 0.2) | body(chance)
        told["client"] = f"{told['client']} {number}" if chance.random() < 0.7 else told["client"]
        told["method"], told["collar"] = told.pop("garment.method"), told.pop("collar.kind")
        row = {key: v if isinstance(v, str) else f"{v:.1f}" for key, v in told.items()}
        if chance.random() < 0.05:
            row = {"card": chance.choice(("good.toml", *WORDS)).replace("\ud800", "")}
        rows.append(row)
    head = list(dict.fromkeys(key for row in rows for key in row))
    writer = csv.DictWriter(out, head, delimiter=chance.choice(",;\t"), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
