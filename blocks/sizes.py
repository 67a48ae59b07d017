"""Published size tables in ``data/sizes``, under the measurements' own keys, centimetres."""

from __future__ import annotations

from drafting.errors import DataError, Problem
from drafting.library import data_names, read_data


def size_tables() -> tuple[str, ...]:
    """The tables there are."""
    return data_names("sizes")


def size_names(table: str) -> tuple[str, ...]:
    """The sizes of a table, small to large. Raises :class:`DataError` for an unknown table."""
    return tuple(read_data(f"sizes/{table}").values["sizes"])


def size(table: str, name: str) -> dict[str, float]:
    """One size's measurements. Raises :class:`DataError` for a size there is not."""
    rows = read_data(f"sizes/{table}").values["sizes"]
    if name not in rows:
        raise DataError(
            Problem("there is no such size", key=table, got=name, accepted=", ".join(rows))
        )
    return {key: float(value) for key, value in rows[name].items()}
