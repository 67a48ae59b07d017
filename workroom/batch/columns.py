"""What the columns of a table of orders may be called, and which place of a card each stands for.

A column is called by its key in a client card, with the table in front where there is one:
``collar.stand_back``. Measurements go without, and so do ``method`` and ``collar``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from blocks.measures import measurements
from drafting.errors import Problem
from workroom.card import known_collars
from workroom.card_file import printable
from workroom.card_mistakes import did_you_mean
from workroom.card_needs import known_keys

#: The column that names a card's file instead of telling what would stand in it.
CARD = ("card",)
_SHORT = {"method": ("garment", "method"), "collar": ("collar", "kind")}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its ``key`` in a card, and where it stands (from 0)."""

    key: tuple[str, ...]
    at: int

    @property
    def letter(self) -> str:
        """What a spreadsheet calls it: A, B, ..., AA."""
        return letters(self.at)


def letters(at: int) -> str:
    """What a spreadsheet calls the column at a place (from 0)."""
    name, rest = "", at + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        name = chr(ord("A") + digit) + name
    return name


@cache
def known_columns() -> Mapping[str, tuple[str, ...]]:
    """Every column's name, and its key in a card."""
    found: dict[str, tuple[str, ...]] = {"card": CARD}
    tables = known_keys()
    for key in tables[""]:
        if key not in tables and key != "collar":
            found[key] = (key,)
    for name, keys in tables.items():
        if name:
            for key in keys:
                found[f"{name}.{key}"] = (*name.split("."), key)
    for rules in known_collars().values():
        for key in rules:
            found[f"collar.{key}"] = ("collar", key)
    for key in measurements():
        found[key] = ("measurements", key)
    for name in [n for n in found if n in tables or _is_table(found[n], tables)]:
        del found[name]  # a whole table has no cell
    return MappingProxyType(found | _SHORT)


def read_columns(
    header: Sequence[str], place: str
) -> tuple[tuple[Column, ...], tuple[Problem, ...]]:
    """The columns of a header and what is wrong with it; ``place`` is its file and line.

    Empty ones, and those whose name starts with #, mean nothing and are left out.
    """
    known = known_columns()
    found: dict[tuple[str, ...], Column] = {}
    problems = []
    for at, written in enumerate(header):
        name = plain(written)
        if not name or name.startswith("#"):
            continue
        key = known.get(name)
        where = f"{place}:{letters(at)}"
        if key is None:
            problems.append(
                Problem(
                    "this column means nothing",
                    where,
                    got=printable(written[:60]),
                    advice=" ".join(
                        part
                        for part in (
                            did_you_mean(name, known),
                            "Put # in front of its name to leave it out.",
                        )
                        if part
                    ),
                )
            )
        elif key in found:
            problems.append(
                Problem(
                    "this column stands twice",
                    where,
                    name,
                    advice=f"It is column {found[key].letter} too.",
                )
            )
        else:
            found[key] = Column(key, at)
    if not problems and CARD not in found:
        for word in ("client", "date"):
            if (word,) not in found:
                problems.append(Problem("this column is missing", place, word))
    return tuple(found.values()), tuple(problems)


def plain(written: str) -> str:
    """A column's name as it is known, however its blanks and capitals were written."""
    return re.sub(r"[\s_-]+", "_", written.strip().lower())


def _is_table(key: tuple[str, ...], tables: Mapping[str, object]) -> bool:
    return ".".join(key) in tables
