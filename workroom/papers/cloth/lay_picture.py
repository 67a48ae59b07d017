"""The picture of a lay: the cloth from above, one fifth of its size, as the cutter sees it.

Folded cloth is drawn as the upper layer alone, its fold to the left; cloth opened out in its whole
width. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

import shapely

from drafting.drawing.labelling import Labels
from drafting.drawing.lettering import (
    SMALLEST,
    Block,
    long_way,
    middle_of,
    settled,
    shortened,
    text_width,
)
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink, arrow
from drafting.geometry.curves import Curve, line, polyline
from drafting.geometry.points import Point
from drafting.units import LengthUnit, format_length
from workroom.papers.cloth.cloth import Material
from workroom.papers.cloth.lay import LaidPiece, Lay
from workroom.papers.pictures.picture import png_of, svg_of

#: The picture is this much smaller than the cloth.
SCALE = 5
_HEAD, _FACTS, _NAMES = 0.7, 0.4, 0.36
#: Names keep this far from lines; less on small pieces.
_CLEAR = (0.15, 0.08, 0.04)
_LONGEST = 90


def lay_svg(lay: Lay, labels: Labels, unit: LengthUnit = LengthUnit.CM) -> bytes:
    """The picture of a lay as SVG, one fifth of true size."""
    return svg_of(_title(lay, unit), lambda pen: draw_lay(pen, lay, labels, unit))


def lay_png(
    lay: Lay, labels: Labels, unit: LengthUnit = LengthUnit.CM, pixels: int = 2000
) -> bytes:
    """The picture of a lay as PNG, ``pixels`` wide."""
    return png_of(lambda pen: draw_lay(pen, lay, labels, unit), pixels, page=32.0)


def draw_lay(
    pen: Pen, lay: Lay, labels: Labels, unit: LengthUnit = LengthUnit.CM
) -> tuple[float, float]:
    """Draw a lay; width and height of the picture come back, its lower left corner the origin."""
    left = 1.4
    opened = any(not section.folded for section in lay.sections)
    middle = left + (lay.width / 2 / SCALE if opened else 0.0)
    foot = 1.6
    at = _Paper(middle, foot)
    for number in range(len(lay.sections)):
        _draw_cloth(pen, lay, at, number)
        _draw_width(pen, lay, at, number, unit)
    for one in lay.pieces:
        _draw_piece(pen, one, at)
    right = middle + lay.width / 2 / SCALE
    top = foot + lay.length / SCALE
    _draw_length(pen, lay, at, right + 1.1, unit)
    width, base = right + 2.0, top + 1.7
    heading = _heading(lay, labels, unit)
    shrunk = min(1.0, *(width / text_width(words, height) for words, height in heading))
    for words, height in reversed(heading):
        letters = max(height * shrunk, SMALLEST)
        pen.text(Ink.TEXT, Point(0.0, base), words, letters)
        width = max(width, text_width(words, letters))
        base += 1.8 * letters
    return width, base


class _Paper:
    """From the cloth to the picture."""

    def __init__(self, middle: float, foot: float) -> None:
        self._middle, self._foot = middle, foot

    def __call__(self, p: Point) -> Point:
        return Point(self._middle + p.x / SCALE, self._foot + p.y / SCALE)

    def line(self, a: Point, b: Point) -> Curve:
        return line(self(a), self(b))


# ---- words --------------------------------------------------------------------------------------


def lay_name(lay: Lay, unit: LengthUnit) -> str:
    """What a lay is for: ``cloth 140 cm wide``."""
    return f"{lay.material} {format_length(lay.width, unit, places=0)} wide"


def lay_way(lay: Lay) -> str:
    """How the cloth lies."""
    ways = [section.folded for section in lay.sections]
    sides = lay.material is not Material.INTERFACING
    if ways == [False]:
        return "a single layer, right side up" if sides else "a single layer"
    together = "folded lengthwise, right sides together" if sides else "folded lengthwise"
    return together if ways == [True] else f"first {together}, then opened out"


def _title(lay: Lay, unit: LengthUnit) -> str:
    return f"Lay on {lay_name(lay, unit)}"


def _heading(lay: Lay, labels: Labels, unit: LengthUnit) -> tuple[tuple[str, float], ...]:
    facts = (labels.client, labels.order, labels.date)
    rows = (
        (_title(lay, unit), _HEAD),
        (shortened(" · ".join(filter(None, facts)), _LONGEST), _FACTS),
        (
            f"buy {lay.buy(unit)} · the lay is "
            f"{format_length(lay.length, unit)} long · {100 * lay.utilisation:.0f} % used",
            _FACTS,
        ),
        (f"{lay_way(lay)} · drawn one to {SCALE}", _FACTS),
        ("one-way: all pieces the same way up" if lay.one_way else "", _FACTS),
    )
    return tuple(row for row in rows if row[0])


# ---- cloth --------------------------------------------------------------------------------------


def _draw_cloth(pen: Pen, lay: Lay, at: _Paper, number: int) -> None:
    section = lay.sections[number]
    # sections are drawn to the middle of the gap between them, where the cloth is cut across
    low = section.start if number == 0 else (section.start + lay.sections[number - 1].end) / 2
    last = number == len(lay.sections) - 1
    high = section.end if last else (section.end + lay.sections[number + 1].start) / 2
    half, inner = lay.width / 2, lay.width / 2 - lay.cloth.selvedge
    first = 0.0 if section.folded else -half
    for y in (low, high):
        pen.curve(Ink.CONSTRUCTION, at.line(Point(first, y), Point(half, y)))
    for side in (1.0,) if section.folded else (1.0, -1.0):
        pen.curve(Ink.TEXT, at.line(Point(side * half, low), Point(side * half, high)))
        pen.curve(Ink.CONSTRUCTION, at.line(Point(side * inner, low), Point(side * inner, high)))
        words = "selvedges together" if section.folded else "selvedge"
        _upright(pen, at, side * half, (low, high), words, side)
    if section.folded:
        pen.curve(Ink.FOLD, at.line(Point(0.0, low), Point(0.0, high)))
        _upright(pen, at, 0.0, (low, high), "fold of the cloth", -1.0)


def _upright(
    pen: Pen, at: _Paper, x: float, ys: tuple[float, float], words: str, side: float
) -> None:
    """Words running up beside a line: to its right (1) or left (-1)."""
    room = (ys[1] - ys[0]) / SCALE
    if text_width(words, SMALLEST) > room:
        return
    letters = min(_NAMES, SMALLEST * room / text_width(words, SMALLEST))
    middle = at(Point(x, sum(ys) / 2))
    out = 0.15 + letters if side > 0 else -0.15
    start = Point(middle.x + out, middle.y - text_width(words, letters) / 2)
    pen.text(Ink.TEXT, start, words, letters, pi / 2)


def _draw_width(pen: Pen, lay: Lay, at: _Paper, number: int, unit: LengthUnit) -> None:
    """The width below the first section, and above the last when there are two."""
    section = lay.sections[number]
    half = lay.width / 2
    first = 0.0 if section.folded else -half
    y = section.start if number == 0 else section.end
    off = -0.6 if number == 0 else 0.5
    a, b = at(Point(first, y)) + Point(0.0, off), at(Point(half, y)) + Point(0.0, off)
    for stroke in arrow(a, b):
        pen.curve(Ink.TEXT, stroke)
    words = format_length(half - first, unit, places=0)
    words += " folded" if section.folded else " wide"
    start = a.towards(b, 0.5) - Point(text_width(words, _NAMES) / 2, 0.0)
    pen.text(Ink.TEXT, start + Point(0.0, -0.6 if number == 0 else 0.2), words, _NAMES)


def _draw_length(pen: Pen, lay: Lay, at: _Paper, x: float, unit: LengthUnit) -> None:
    low, high = at(Point(0.0, 0.0)).y, at(Point(0.0, lay.length)).y
    a, b = Point(x, low), Point(x, high)
    for stroke in arrow(a, b):
        pen.curve(Ink.TEXT, stroke)
    words = f"{format_length(lay.length, unit)} long"
    letters = min(_NAMES, max(_NAMES * (high - low) / text_width(words, _NAMES), SMALLEST))
    start = Point(x + 0.15 + letters, (low + high - text_width(words, letters)) / 2)
    pen.text(Ink.TEXT, start, words, letters, pi / 2)


# ---- pieces -------------------------------------------------------------------------------------


def _draw_piece(pen: Pen, one: LaidPiece, at: _Paper) -> None:
    points = [at(Point(float(x), float(y))) for x, y in one.outline]
    pen.begin_piece(one.piece.code, one.piece.title)
    pen.outline(Ink.CUT, (polyline([*points, points[0]]),))
    grain = tuple(at(one.move(p)) for p in one.piece.grain)
    for stroke in arrow(grain[0], grain[1]):
        pen.curve(Ink.GRAIN, stroke)
    area = shapely.Polygon([tuple(p) for p in points])
    arrows = shapely.LineString([tuple(p) for p in grain])
    way = long_way(area)
    for clear in _CLEAR:
        room = area.buffer(-clear).difference(arrows.buffer(clear + 0.1))
        written = settled(room, _blocks(one), (0.0, way, pi / 2), _NAMES)
        if written:
            break
    else:
        written = Block(((one.piece.code, 1.0),)).written(middle_of(area), SMALLEST, way)
    for words in written:
        pen.text(Ink.TEXT, words.at, words.words, words.height, words.angle)
    pen.end_piece()


def _blocks(one: LaidPiece) -> tuple[Block, ...]:
    title, how = shortened(one.piece.title, 40), tuple(how_laid(one))
    rows = (
        ((title, 1.2), *((word, 1.0) for word in how)),
        ((title, 1.0), (", ".join(how), 1.0)),
        ((", ".join((title, *how)), 1.0),),
        ((title, 1.0),),
    )
    return tuple(Block(row) for row in rows)


def how_laid(one: LaidPiece) -> Iterator[str]:
    """How a piece lies, in a few words each."""
    if one.doubled:
        yield "through both layers"
    if one.on_fold:
        yield "on the fold"
    if one.opened:
        yield "opened out"
    if one.turned_over:
        yield "face down"
    if one.head_down:
        yield "upside down"
