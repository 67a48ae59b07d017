"""The first page of a tiled pattern: what to do, what to measure, and how the pages lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import affinity

from drafting.curves import line, polyline
from drafting.lettering import Block, settled
from drafting.pens import Pen
from drafting.points import Point
from drafting.signs import Ink
from drafting.units import format_length
from workroom.sheets.pdf_words import fitted, width_of, wrapped
from workroom.sheets.scale_square import SQUARE_HEIGHT, SQUARE_WIDTH, draw_square
from workroom.sheets.tile_plan import TilePlan

_LETTERS, _STEP = 0.23, 0.42
_RIGHT = 7.4
_GAP = 0.5
#: How each line is told to a maker, in the order of the key.
_KEY = (
    (Ink.CUT, "cut line, and notches"),
    (Ink.SEW, "sew line"),
    (Ink.FOLD, "fold of the cloth"),
    (Ink.GRAIN, "grain (with arrow heads)"),
    (Ink.DART, "dart"),
    (Ink.MARK, "line on the piece: centre, roll, stitching"),
    (Ink.CONSTRUCTION, "construction; where the next page's edge comes"),
    (Ink.TEXT, "edge of a page, to be trimmed"),
)


def draw_overview(pen: Pen, plan: TilePlan) -> None:
    """Draw the page; the origin is the lower left corner of what the printer can print."""
    width = plan.paper.width - 2 * plan.margin
    top = _head(pen, plan, width, plan.paper.height - 2 * plan.margin)
    low = SQUARE_HEIGHT + _GAP
    split = width - _RIGHT - _GAP
    _map(pen, plan, shapely.box(0.0, low, split, top))
    beside = Point(split + _GAP, top)
    for row in _steps(plan):
        beside = _paragraph(pen, row, beside, _RIGHT)
    draw_square(pen, Point(0.0, 0.0))
    left = SQUARE_WIDTH + _GAP
    at = Point(left, SQUARE_HEIGHT - 0.4)
    at = _key(pen, at, width - left)
    _pieces(pen, plan, at, width - left)


def _head(pen: Pen, plan: TilePlan, width: float, top: float) -> float:
    """Title, facts, stamp and the one thing that matters most; the height left comes back."""
    for ink, words, height in plan.content.heading():
        letters = {1.2: 0.6}.get(height, 0.3) if ink is Ink.TEXT else 0.4
        top -= letters + 0.15
        pen.text(ink, Point(0.0, top), fitted(words, letters, width), letters)
        top -= 0.2
    words = "Print at 100 % (actual size). Measure the square before cutting."
    letters = min(0.4, 0.4 * (width - 0.6) / width_of(words, 0.4))
    tall = letters + 0.5
    top -= tall
    _frame(pen, 0.0, top, width, tall)
    pen.text(Ink.TEXT, Point(0.3, top + 0.25), words, letters)
    return top - _GAP


def _frame(pen: Pen, x: float, y: float, width: float, height: float) -> None:
    corners = [Point(x, y), Point(x + width, y), Point(x + width, y + height), Point(x, y + height)]
    sides = zip(corners, corners[1:] + corners[:1], strict=True)
    pen.outline(Ink.DRILL, tuple(line(a, b) for a, b in sides))


def _steps(plan: TilePlan) -> Iterator[str]:
    lap = plan.grid.overlap
    yield "1  Print this page first, without any fitting to the page, and measure the square."
    yield (
        f"2  Print the other {len(plan.tiles)} pages. Rows have letters, columns have numbers; "
        "pages without a piece are left out."
    )
    if lap > 0.0:
        yield (
            "3  Trim each page along its thin lines on the left and at the top. Lay it over its "
            f"neighbour up to the dotted line: the pages lap by {format_length(lap, plan.unit)}."
        )
    else:
        yield (
            "3  Trim each page along its thin lines on the left and at the top. Lay it on its "
            "neighbour's margin, edge to the dotted line: the drawings meet and do not lap."
        )
    yield (
        "4  Each join has a sign, half on each page, with both pages' names (A1-A2). If the "
        "halves do not make one whole sign, a page is in the wrong place."
    )
    yield "5  Tape, then cut the pieces out along the thick cut line."


def _paragraph(pen: Pen, words: str, at: Point, width: float) -> Point:
    for row in wrapped(words, _LETTERS, width):
        at = at - Point(0.0, _STEP)
        pen.text(Ink.TEXT, at, row, _LETTERS)
    return at - Point(0.0, 0.16)


def _key(pen: Pen, at: Point, width: float) -> Point:
    for ink, words in _KEY:
        rows = wrapped(words, _LETTERS, width - 2.0)
        middle = at + Point(0.0, _LETTERS / 2)
        pen.curve(ink, line(middle, middle + Point(1.7, 0.0)))
        for row in rows:
            pen.text(Ink.TEXT, at + Point(2.0, 0.0), row, _LETTERS)
            at = at - Point(0.0, _STEP)
        at = at - Point(0.0, 0.08)
    return at - Point(0.0, 0.3)


def _pieces(pen: Pen, plan: TilePlan, at: Point, width: float) -> None:
    """The pieces by their numbers on the small picture, and the pages each is on."""
    for number, (piece, area) in enumerate(zip(plan.pieces, plan.areas, strict=True), start=1):
        tiles = [tile.name for tile in plan.tiles if plan.grid.own(tile).intersects(area)]
        rows = wrapped(f"{number}  {piece.title}: {', '.join(tiles)}", _LETTERS, width)
        if at.y < _STEP * len(rows):
            pen.text(Ink.TEXT, at, "and so on", _LETTERS)
            return
        for row in rows:
            pen.text(Ink.TEXT, at, fitted(row, _LETTERS, width), _LETTERS)
            at = at - Point(0.0, _STEP)


def _map(pen: Pen, plan: TilePlan, box: shapely.Polygon) -> None:
    """A small picture of all pages laid together."""
    x0, y0, x1, y1 = box.bounds
    width, height = plan.grid.size
    scale = min((x1 - x0) / width, (y1 - y0) / height)

    def small(shape: shapely.Geometry) -> shapely.Geometry:
        return affinity.affine_transform(shape, [scale, 0.0, 0.0, scale, x0, y1 - height * scale])

    pieces = [small(area) for area in plan.areas]
    edges = shapely.union_all([piece.boundary for piece in pieces])
    for piece in pieces:
        for part in shapely.get_parts(piece.simplify(0.005)):
            ring = np.asarray(part.exterior.coords)
            pen.curve(Ink.GRAIN, polyline([Point(float(x), float(y)) for x, y in ring]))
    taken = [edges.buffer(0.06)]
    for tile in plan.tiles:
        own = small(plan.grid.own(tile))
        a, b, c, d = own.bounds
        _sides(pen, (Point(a, b), Point(c, b), Point(c, d), Point(a, d)))
        taken.append(own.boundary.buffer(0.06))
        largest = min(0.32, 0.3 * (c - a))
        room = own.difference(shapely.union_all(taken))
        for words in settled(room, [Block(((tile.name, 1.0),))], (0.0,), largest, Point(a, d)):
            pen.text(Ink.TEXT, words.at, words.words, words.height)
            taken.append(words.box)
    lines = shapely.union_all(taken)
    for number, piece in enumerate(pieces, start=1):
        room = piece.difference(lines)
        for words in settled(room, [Block(((str(number), 1.0),))], (0.0,), 0.55):
            pen.text(Ink.TEXT, words.at, words.words, words.height)


def _sides(pen: Pen, corners: tuple[Point, ...]) -> None:
    for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
        pen.curve(Ink.CONSTRUCTION, line(a, b))
