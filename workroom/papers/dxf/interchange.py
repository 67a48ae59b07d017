"""The interchange file in the manner of ASTM D6673-10 (withdrawn 2019): for pattern systems.

Of that standard only the opening part (scope and terms) was read; layer numbers and the system
texts kept here are from memory. So the file is called D6673-style and claims no conformance. What
could not be confirmed is left out: notch depth and angle, category and material texts, validation
curves, tables of grade points. A range is written as that standard is remembered to allow beside
them: every piece of every size is a block of its own that names its size, and the style names the
sample size (both from memory).

A piece is a BLOCK with one INSERT; layers are bare numbers; only POLYLINE, LINE, POINT and TEXT;
7-bit ASCII; millimetres. A square of 100 mm to measure is one more block, of which none is cut.
Written by ezdxf's exporter for that standard: an empty HEADER, no TABLES, no blocks but these.
"""

from __future__ import annotations

import importlib
import io
import pkgutil
from collections.abc import Mapping, Sequence
from functools import cache
from math import pi
from typing import Any

import ezdxf
import numpy as np
import shapely
from ezdxf import addons

from drafting.drawing.labelling import Labels, lettered, room_beside
from drafting.drawing.lettering import (
    LINE_STEP,
    Block,
    Written,
    long_way,
    one_line,
    readable,
    settled,
)
from drafting.drawing.signs import Ink
from drafting.errors import DraftError
from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray, Point
from drafting.pieces.cutting import CutLine, cut_line, drill_holes, notch_marks, smooth_parts
from drafting.pieces.piece import Piece
from drafting.units import mm
from workroom.papers.dxf.drawing import (
    CLOSE,
    ascii_words,
    at_mm,
    block_name,
    fixed_metadata,
    rows_mm,
)
from workroom.papers.sheet.content import SQUARE, SheetContent
from workroom.papers.sheet.layers import layers

#: Turn points and curve points of outlines (from memory, like the numbers in the table of layers).
_TURNS, _CURVES = "2", "3"
_LETTERS, _SMALL = 0.5, 0.35
#: The words of the style and the square to measure by begin so far below the pieces.
_STYLE_BELOW, _SQUARE_BELOW = 4.0, 9.0
_SQUARE_WORDS = (
    "Test square, not a piece",
    "each side 10 cm = 100 mm",
    "measure it before cutting",
)


def interchange_bytes(sheet: SheetContent) -> bytes:
    """The order as a D6673-style DXF file.

    Raises :class:`DraftError` when a piece that is not stamped has a sew line that crosses itself.
    """
    return _file({"": sheet}, _style_lines(sheet))


def graded_bytes(sheets: Mapping[str, SheetContent], sample: str) -> bytes:
    """A range as a D6673-style DXF file: ``sheets`` by size, ``sample`` the size the style names.

    Raises :class:`DraftError` as :func:`interchange_bytes` does.
    """
    return _file(sheets, (*_style_lines(sheets[sample]), f"Sample Size: {sample}"))


def _file(sheets: Mapping[str, SheetContent], style: Sequence[str]) -> bytes:
    with fixed_metadata():
        doc = ezdxf.new("R12", units=0)
        msp = doc.modelspace()
        taken: set[str] = set()
        for size, sheet in sheets.items():
            for placed in sheet.placed():
                code = placed.piece.code
                name = block_name(f"{code}_{size}" if size else code, taken)
                _fill(doc.blocks.new(name), name, placed.piece, sheet, size)
                msp.add_blockref(name, (0.0, 0.0), dxfattribs={"layer": _layer(Ink.CUT)})
        name = block_name("TEST_SQUARE", taken)
        _fill_square(doc.blocks.new(name), name)
        msp.add_blockref(name, (0.0, 0.0), dxfattribs={"layer": _layer(Ink.CUT)})
        _write(msp, Ink.CUT, _rows(style, Point(0.0, -_STYLE_BELOW), _LETTERS))
        stream = io.StringIO()
        _exporter().export_stream(doc, stream)
        return stream.getvalue().encode("ascii")


@cache
def _exporter() -> Any:
    """ezdxf's exporter for the standard, found by the standard's number in its name."""
    found = [m.name for m in pkgutil.iter_modules(addons.__path__) if m.name.endswith("_D6673")]
    return importlib.import_module(f"{addons.__name__}.{found[0]}")


def _style_lines(sheet: SheetContent) -> tuple[str, ...]:
    labels = sheet.labels
    stamp = (sheet.stamp or "").partition(":")[0]
    words = dict.fromkeys(map(one_line, (stamp, labels.order, sheet.title)))
    name = " ".join(word for word in words if word)
    lines = [f"Style Name: {name}"]
    if labels.date:
        lines.append(f"Creation Date: {labels.date}")
    return (*lines, "Author: Neckarc", "Units: METRIC")


def _fill(block: Any, name: str, piece: Piece, sheet: SheetContent, size: str = "") -> None:
    cut = _cut(piece, sheet)
    sewn, turns = _sewn(piece)
    if cut is None:
        _outline(block, Ink.CUT, sewn, turns)
    else:
        _outline(block, Ink.CUT, cut.points, cut.corners)
    _outline(block, Ink.SEW, sewn, turns)
    for edge in piece.edges:
        if edge.on_fold:
            _stroke(block, Ink.FOLD, edge.curve)
    block.add_line(*map(at_mm, piece.grain), dxfattribs=_on(Ink.GRAIN))
    for dart in piece.darts:
        for ends in ((dart.first, dart.tip), (dart.tip, dart.second)):
            block.add_line(*map(at_mm, ends), dxfattribs=_on(Ink.DART))
    for mark in piece.marks:
        _stroke(block, Ink.MARK, mark.curve)
    for notch in notch_marks(piece, cut):
        for snip in notch.strokes:
            block.add_point(at_mm(snip.start), dxfattribs=_on(Ink.NOTCH))
    for hole in drill_holes(piece, cut):
        block.add_point(at_mm(hole), dxfattribs=_on(Ink.DRILL))
    low = (sewn if cut is None else cut.points).min(axis=0)
    _piece_text(block, name, piece, sheet, size, Point(float(low[0]), float(low[1])))


def _cut(piece: Piece, sheet: SheetContent) -> CutLine | None:
    try:
        return cut_line(piece)
    except DraftError:
        if sheet.stamp is None:
            raise
        return None


def _fill_square(block: Any, name: str) -> None:
    """A square of 10 cm below the drawing."""
    x, y = 0.0, -_SQUARE_BELOW - SQUARE
    corners = np.array([(x, y), (x + SQUARE, y), (x + SQUARE, y + SQUARE), (x, y + SQUARE)])
    _outline(block, Ink.CUT, corners, range(4))
    inside = Point(x + 2 * _LETTERS, y + SQUARE - 3 * _LETTERS)
    lines = [f"Piece Name: {name}", "Quantity: 0"]
    _write(block, Ink.CUT, _rows(lines, inside, _SMALL))
    _write(block, Ink.TEXT, _rows(_SQUARE_WORDS, inside - Point(0.0, SQUARE / 2), _SMALL))


def _piece_text(
    block: Any, name: str, piece: Piece, sheet: SheetContent, size: str, low: Point
) -> None:
    """System text on layer 1, clear of the lines and of the piece's label, which is plain
    annotation."""
    lines = [f"Piece Name: {name}", f"Quantity: {piece.cut.cloth}"]
    if size:
        lines[:1] = [f"Piece Name: {block_name(piece.code, set())}", f"Size: {size}"]
    _write(block, Ink.CUT, _system_text(lines, piece, sheet.labels, low))
    for ink, words in lettered(piece, sheet.labels):
        _write(block, ink, [words])


def _system_text(
    lines: Sequence[str], piece: Piece, labels: Labels, low: Point
) -> Sequence[Written]:
    """Within the piece where there is room, else below its lower left corner ``low``."""
    way = long_way(shapely.Polygon(piece.outline()))
    angles = (0.0, way, readable(way + pi / 2))
    rows = Block(tuple((ascii_words(words), 1.0) for words in lines))
    below = low - Point(0.0, LINE_STEP * _LETTERS)
    return settled(room_beside(piece, labels), [rows], angles, _LETTERS) or _rows(
        lines, below, _LETTERS
    )


def _rows(lines: Sequence[str], at: Point, height: float) -> list[Written]:
    """Lines of text one below the other, the first at a point."""
    return [
        Written(at - Point(0.0, k * LINE_STEP * height), words, height)
        for k, words in enumerate(lines)
    ]


def _write(space: Any, ink: Ink, lines: Sequence[Written]) -> None:
    for line in lines:
        look = {
            **_on(ink),
            "insert": at_mm(line.at),
            "rotation": float(np.degrees(line.angle)),
        }
        if text := ascii_words(line.words):
            space.add_text(text, height=mm(line.height), dxfattribs=look)


def _sewn(piece: Piece) -> tuple[FloatArray, tuple[int, ...]]:
    """The sew line as a closed polyline and the places of its turn points: ends of edges, and
    corners within them."""
    points: list[FloatArray] = []
    turns: list[int] = []
    count = 0
    for edge in piece.edges:
        for part in smooth_parts(edge.curve):
            turns.append(count)
            points.append(part.flatten(CLOSE)[:-1])
            count += len(points[-1])
    return np.vstack(points), tuple(turns)


def _outline(block: Any, ink: Ink, points: FloatArray, turns: Sequence[int]) -> None:
    """A closed polyline, its corners repeated as turn points and the rest as curve points."""
    rows = rows_mm(points)
    block.add_polyline2d(rows, close=True, dxfattribs=_on(ink))
    corners = set(turns)
    for k, row in enumerate(rows):
        block.add_point(row, dxfattribs={"layer": _TURNS if k in corners else _CURVES})


def _stroke(block: Any, ink: Ink, curve: Curve) -> None:
    """A straight line as LINE, any other as an open POLYLINE."""
    rows = rows_mm(curve.flatten(CLOSE))
    if len(rows) == 2:
        block.add_line(*rows, dxfattribs=_on(ink))
    else:
        block.add_polyline2d(rows, dxfattribs=_on(ink))


def _layer(ink: Ink) -> str:
    number = layers()[ink].d6673
    return "8" if number is None else str(number)  # whatever has no layer of its own is internal


def _on(ink: Ink) -> dict[str, Any]:
    return {"layer": _layer(ink)}
