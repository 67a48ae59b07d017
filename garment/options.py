"""What a card may ask of the garment, by table: the rules in ``data/garment.toml`` and, for its
plain fields, in ``data/card.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, get_args

from drafting.errors import DataError, Problem
from drafting.library import TomlText, read_data
from drafting.parameters import ParameterRule, ParameterUnit
from drafting.units import LengthUnit


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that may be asked for. An ``open`` one has no default: left out, it is ``None``."""

    rule: ParameterRule
    source: str
    open: bool


@cache
def options() -> Mapping[str, Mapping[str, Option]]:
    """Every option by table and key. Raises :class:`DataError`."""
    return read_options(read_data("garment"))


@cache
def card_fields() -> Mapping[str, Mapping[str, Option]]:
    """Every field of a card that stands in a table of its own (``neckline.style``), by table and
    key: the rules in ``data/card.toml``. Raises :class:`DataError`."""
    return read_options(read_data("card"))


def read_options(toml: TomlText) -> Mapping[str, Mapping[str, Option]]:
    """Options from their text. Raises :class:`DataError` listing all that is wrong with it."""
    problems: list[Problem] = []
    tables: dict[str, Mapping[str, Option]] = {}
    for name, table in toml.values.items():
        found: dict[str, Option] = {}
        for key, row in table.items():
            try:
                found[key] = _option(key, row)
            except (KeyError, TypeError, ValueError) as error:
                said = f"{error} is missing" if isinstance(error, KeyError) else str(error)
                problems.append(Problem(said, toml.place(name, key), key))
        tables[name] = MappingProxyType(found)
    if problems:
        raise DataError(problems)
    return MappingProxyType(tables)


def resolve_options(table: str, wished: Mapping[str, Any]) -> Mapping[str, Any]:
    """The values of a table: what was wished (already in centimetres and radians, ``None`` for
    nothing), and the defaults of the rest."""
    return MappingProxyType(
        {
            key: wished[key]
            if wished.get(key) is not None
            else (None if option.open else option.rule.standing())
            for key, option in options()[table].items()
        }
    )


def _option(key: str, row: Any) -> Option:
    unit: ParameterUnit = row["unit"]
    if unit not in get_args(ParameterUnit):
        raise ValueError(f"no such unit: {unit}")
    choices = tuple(row["choices"]) if unit == "choice" else ()
    default = row.get("default")
    standing: float | str = "" if unit == "choice" else 0.0
    if default is not None:
        standing = default if isinstance(default, str) else float(default)
    rule = ParameterRule(
        key,
        unit,
        float(row.get("low", 0.0)),
        float(row.get("high", 0.0)),
        choices,
        standing,
        row["meaning"],
    )
    if default is not None:
        rule.read(default, LengthUnit.CM)
    return Option(rule, row["source"], default is None)
