"""The one table of layers, read from ``data/layers.toml``: how each ink looks in every output."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from drafting.drawing.signs import Ink
from drafting.errors import DataError, Problem
from drafting.library import TomlText, read_data

#: Line widths (hundredths of a millimetre) that the published DXF reference allows, group code 370.
DXF_WIDTHS = (
    *(0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106),
    *(120, 140, 158, 200, 211),
)
#: Colour numbers that stand out from a white and from a black ground.
READABLE = (1, 7, 94, 134, 150, 200)
#: Names of dashes that drawing programs know without being told the lengths.
LINETYPES = frozenset(
    name + size
    for name in ("BORDER", "CENTER", "DASHDOT", "DASHED", "DIVIDE", "DOT")
    for size in ("", "2", "X2")
)
_NAME = re.compile(r"[A-Z][A-Z0-9_]*")
_RGB = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True, slots=True)
class Layer:
    """One row: see the head of the table. ``dash_mm`` and ``linetype`` are empty for an unbroken
    line, ``d6673`` is ``None`` where the interchange file has no layer for it."""

    key: Ink
    name: str
    purpose: str
    colour: int
    width_mm: float
    dash_mm: tuple[float, ...]
    linetype: str
    rgb: str
    d6673: int | None


@cache
def layers() -> dict[Ink, Layer]:
    """All layers by ink, in the order of the table. Raises :class:`DataError`."""
    return read_layers(read_data("layers"))


def layer(ink: str) -> Layer:
    """The layer of an ink."""
    return layers()[Ink(ink)]


def read_layers(text: TomlText) -> dict[Ink, Layer]:
    """A table of layers from its text. Raises :class:`DataError` with every mistake in it."""
    problems: list[Problem] = []
    found: dict[Ink, Layer] = {}
    for number, row in enumerate(text.values.get("layer", [])):
        wrong = [*_mistakes(row), *_twice(row, found)]
        for key, said in wrong:
            place = text.place("layer", str(number), key)
            problems.append(Problem(said, place, key, repr(row.get(key, ""))))
        if not wrong:
            found[Ink(row["key"])] = _layer(row)
    for ink in Ink:
        if ink not in found and not problems:
            problems.append(Problem(f"there is no layer for {ink.value}", place=text.name))
    if problems:
        raise DataError(problems)
    return found


def _layer(row: dict[str, Any]) -> Layer:
    return Layer(
        key=Ink(row["key"]),
        name=row["name"],
        purpose=row["purpose"],
        colour=row["colour"],
        width_mm=float(row["width_mm"]),
        dash_mm=tuple(float(d) for d in row["dash_mm"]),
        linetype=row["linetype"],
        rgb=row["rgb"],
        d6673=row["d6673"] or None,
    )


def _mistakes(row: dict[str, Any]) -> list[tuple[str, str]]:
    def text(key: str) -> str:
        value = row.get(key)
        return value if isinstance(value, str) else ""

    width, dash = row.get("width_mm"), row.get("dash_mm")
    dashes = dash if isinstance(dash, list) else [None]
    rules = {
        "key": (text("key") in set(Ink), "no such ink"),
        "name": (_NAME.fullmatch(text("name")), "a layer name is capitals, digits and underscores"),
        "purpose": (text("purpose"), "say what is drawn on this layer"),
        "colour": (row.get("colour") in READABLE, f"a colour is one of {READABLE}"),
        "width_mm": (
            isinstance(width, float) and round(width * 100) in DXF_WIDTHS,
            "no line width that DXF allows",
        ),
        "dash_mm": (
            len(dashes) % 2 == 0 and all(isinstance(d, float) and d > 0 for d in dashes),
            "strokes and gaps in pairs, millimetres above 0",
        ),
        "linetype": (
            row.get("linetype") in (LINETYPES if dash else {""}),
            "a dash has one of the names that programs know, an unbroken line none",
        ),
        "rgb": (_RGB.fullmatch(text("rgb")), "a colour is written like #1c3f94"),
        "d6673": (
            type(row.get("d6673")) is int and 0 <= row["d6673"] < 100,
            "a layer number, or 0 for none",
        ),
    }
    return [(key, said) for key, (good, said) in rules.items() if not good]


def _twice(row: dict[str, Any], found: dict[Ink, Layer]) -> list[tuple[str, str]]:
    names = {layer.name for layer in found.values()}
    return [
        (key, "stands twice in the table")
        for key, seen in (("key", set(found)), ("name", names))
        if isinstance(row.get(key), str) and row[key] in seen
    ]
