"""Published size tables in ``data/sizes``, under the measurements' own keys, centimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from drafting.errors import DataError, Problem
from drafting.library import data_names, read_data


@dataclass(frozen=True, slots=True)
class SizeTable:
    """A published table: its ``sizes`` from small to large, each with its measurements (cm)."""

    key: str
    title: str
    source: str
    sizes: Mapping[str, Mapping[str, float]]


def size_tables() -> tuple[str, ...]:
    """The tables there are."""
    return data_names("sizes")


@cache
def size_table(key: str) -> SizeTable:
    """A table by its name. Raises :class:`DataError` that names the tables there are."""
    if key not in size_tables():
        raise DataError(
            Problem("there is no such size table", got=key, accepted=", ".join(size_tables()))
        )
    values = read_data(f"sizes/{key}").values
    sizes = {
        name: MappingProxyType({k: float(v) for k, v in row.items()})
        for name, row in values["sizes"].items()
    }
    head = values["table"]
    return SizeTable(key, head["title"], head["source"], MappingProxyType(sizes))


def size_names(table: str) -> tuple[str, ...]:
    """The sizes of a table, small to large. Raises :class:`DataError` for an unknown table."""
    return tuple(size_table(table).sizes)


def size(table: str, name: str) -> dict[str, float]:
    """One size's measurements. Raises :class:`DataError` for a size there is not."""
    rows = size_table(table).sizes
    if name not in rows:
        raise DataError(
            Problem("there is no such size", key=table, got=name, accepted=", ".join(rows))
        )
    return dict(rows[name])
