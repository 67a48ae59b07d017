"""The cloths a lay is worked out for, read from ``data/cloth.toml``. Lengths in centimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from drafting.errors import DataError, Problem
from drafting.library import TomlText, read_data
from drafting.pieces.piece import CutPlan
from drafting.units import LengthUnit, to_cm


class Material(StrEnum):
    """What pieces are cut from."""

    CLOTH = "cloth"
    LINING = "lining"
    INTERFACING = "interfacing"

    def wanted(self, plan: CutPlan) -> int:
        """How many a plan wants from this."""
        return {
            Material.CLOTH: plan.cloth,
            Material.LINING: plan.lining,
            Material.INTERFACING: plan.interfacing,
        }[self]


#: Where a file of cloths has the widths for orders in a unit.
_WIDTHS = {LengthUnit.CM: "widths", LengthUnit.INCH: "widths_in"}


@dataclass(frozen=True, slots=True)
class Cloth:
    """One material: the ``widths`` (cm) it is sold in, by the unit of an order, what stays free at
    either ``selvedge``, by what share it may shrink, and what straightening both ``ends`` takes."""

    title: str
    widths: Mapping[LengthUnit, tuple[float, ...]]
    selvedge: float
    shrinkage: float
    ends: float


@dataclass(frozen=True, slots=True)
class Laying:
    """How pieces are laid: the ``gap`` between two, the ``step`` cloth is bought in, and how far
    inside the sew line interfacing is cut."""

    gap: float
    step: float
    interfacing_inside: float


@dataclass(frozen=True, slots=True)
class ClothBook:
    """The whole file."""

    cloths: dict[Material, Cloth]
    laying: Laying


@cache
def cloth_book() -> ClothBook:
    """The cloths that come with Neckarc. Raises :class:`DataError`."""
    return read_cloths(read_data("cloth"))


def read_cloths(text: TomlText) -> ClothBook:
    """A file of cloths from its text. Raises :class:`DataError` with every mistake in it."""
    problems: list[Problem] = []

    def value(table: str, key: str, high: float) -> float:
        row = _row(text, table, key, problems)
        found = row.get("value")
        if type(found) is float and 0.0 <= found <= high:
            return found
        _wrong(text, table, key, f"a number from 0 to {high:g}", problems)
        return 0.0

    def widths(table: str, key: str, unit: LengthUnit) -> tuple[float, ...]:
        found = _row(text, table, key, problems).get("value")
        rows: list[Any] = found if isinstance(found, list) and found else [None]
        low, high = (20.0, 400.0) if unit is LengthUnit.CM else (8.0, 160.0)
        if all(type(w) is float and low <= w <= high for w in rows):
            return tuple(to_cm(w, unit) for w in rows)
        _wrong(text, table, key, f"a list of numbers from {low:g} to {high:g}", problems)
        return ()

    cloths = {}
    for material in Material:
        title = text.values.get(material.value, {}).get("title")
        cloths[material] = Cloth(
            title=title if isinstance(title, str) else material.value,
            widths={unit: widths(material.value, key, unit) for unit, key in _WIDTHS.items()},
            selvedge=value(material.value, "selvedge", 5.0),
            shrinkage=value(material.value, "shrinkage", 0.3),
            ends=value(material.value, "ends", 20.0),
        )
    laying = Laying(
        gap=value("laying", "gap", 5.0),
        step=value("laying", "step", 100.0),
        interfacing_inside=value("laying", "interfacing_inside", 0.5),
    )
    if laying.step == 0.0 and not problems:
        _wrong(text, "laying", "step", "a number above 0", problems)
    if problems:
        raise DataError(problems)
    return ClothBook(cloths, laying)


def _row(text: TomlText, table: str, key: str, problems: list[Problem]) -> dict[str, Any]:
    row = text.values.get(table, {}).get(key)
    if not isinstance(row, dict):
        return {}
    if not isinstance(row.get("source"), str) or not row["source"]:
        problems.append(Problem("say where this is from", text.place(table, key), f"{key}.source"))
    return row


def _wrong(text: TomlText, table: str, key: str, accepted: str, problems: list[Problem]) -> None:
    problems.append(
        Problem("this cannot be used", text.place(table, key), f"{table}.{key}", accepted=accepted)
    )
