"""Good input of every kind, for ``fuzz_inputs.py`` to spoil: cards with all that may be asked for,
taped necklines, tables of orders, methods."""

from __future__ import annotations

import csv
import io
import json
import random
from collections.abc import Mapping
from functools import cache

from blocks.bodice.methods import method_names
from blocks.body.measures import measurements
from blocks.body.populations import survey
from collars.registry import COLLARS
from drafting.library import data_folder
from drafting.parameters import ParameterRule
from drafting.units import CM_PER_INCH
from garment.options import card_fields, options
from garment.toile import fitting_words

#: Words for names: markup, paths, signs that cannot be seen, formulas, keys.
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
        found["neckline.style.shape"] = chance.choice(
            card_fields()["neckline.style"]["shape"].rule.choices
        )
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
