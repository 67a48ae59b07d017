"""A nest as a DXF drawing and as a PDF, each size in its own layer."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from drafting.pens import Pen
from drafting.signs import Ink
from workroom.grade.look import nest_look
from workroom.grade.nest import Nest, draw_nest
from workroom.sheets.dxf_drawing import DrawingPen, drawn_bytes
from workroom.sheets.layers import Layer, layers
from workroom.sheets.pdf_file import Group, PdfFile
from workroom.sheets.pdf_pen import PdfPen

#: What stands in layers of its own and belongs to no size.
_SHARED = (Ink.GRAIN, Ink.TEXT, Ink.STAMP)


def size_layers(sizes: tuple[str, ...]) -> dict[str, Layer]:
    """The layer of each size, by its name."""
    found: dict[str, Layer] = {}
    taken: set[str] = set()
    for number, name in enumerate(sizes):
        plain = re.sub(r"[^A-Z0-9]+", "_", name.upper()).strip("_") or str(number + 1)
        called = f"SIZE_{plain}" if f"SIZE_{plain}" not in taken else f"SIZE_{plain}_{number + 1}"
        taken.add(called)
        look = nest_look().layer(number)(Ink.CUT)
        found[name] = replace(look, name=called, purpose=f"size {name}")
    return found


def nest_dxf_bytes(nest: Nest) -> bytes:
    """The nest as a DXF drawing in millimetres: a layer a size, and those of labels and grain."""
    table = size_layers(nest.sizes)

    def draw(space: Any) -> tuple[float, float]:
        pens: dict[str, Pen] = {
            name: DrawingPen(space, on=_on(table[name], nest_look().layer(number)))
            for number, name in enumerate(nest.sizes)
        }
        return draw_nest(nest, pens, DrawingPen(space))

    shared = (layers()[ink] for ink in _SHARED)
    return drawn_bytes((*table.values(), *shared), draw)


def _on(layer: Layer, look: Callable[[str], Layer]) -> Callable[[str], dict[str, Any]]:
    def on(ink: str) -> dict[str, Any]:
        return {"layer": layer.name, "lineweight": round(look(ink).width_mm * 100)}

    return on


def nest_pdf_bytes(nest: Nest) -> bytes:
    """The nest as a PDF at true size, on one page as long as needed: a layer a size."""
    keys = {name: f"size-{number}" for number, name in enumerate(nest.sizes)}
    groups = (
        *(Group(key, f"Size {name}", "Sizes") for name, key in keys.items()),
        Group("words", "Labels and grain", "Sheet"),
    )
    file = PdfFile(nest.title, groups)
    with file.page(nest.width, nest.height):
        pens: dict[str, Pen] = {
            name: PdfPen(file, dict.fromkeys(Ink, keys[name]), look=nest_look().layer(number))
            for number, name in enumerate(nest.sizes)
        }
        # the stamp is in no layer, so that it cannot be switched off
        words: dict[Ink, str] = {ink: "words" for ink in Ink if ink is not Ink.STAMP}
        draw_nest(nest, pens, PdfPen(file, words))
    return file.finished()
