"""The figures of ``data/in_space.toml``, in centimetres, radians and shares."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from math import radians
from types import MappingProxyType

from drafting.library import read_data


@cache
def space_figures() -> Mapping[str, float]:
    """Every figure by its name."""
    found: dict[str, float] = {}
    for table in read_data("in_space").values.values():
        for key, row in table.items():
            value = float(row["value"])
            found[key] = radians(value) if row["unit"] == "deg" else value
    return MappingProxyType(found)
