"""The first page of a tiled pattern: what to do, what to measure, and how the pages lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely import affinity

from drafting.drawing.lettering import Block, settled
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.geometry.curves import line, polyline
from drafting.geometry.points import Point
from drafting.units import LengthUnit, format_length, to_cm
from workroom.papers.pages.plan import TilePlan
from workroom.papers.pdf.pen import fitted, width_of, wrapped

# ---- The square and the bar to measure before cutting

#: Sides of the square, and inches of the bar.
SIDE, INCHES = 10.0, 4
#: What square, bar and their words take.
SQUARE_WIDTH, SQUARE_HEIGHT = 10.8, 12.4
_LETTERS = 0.26


def draw_square(pen: Pen, corner: Point) -> None:
    """A square of 10 cm and below it a bar of 4 inches; ``corner`` is the lower left one of the
    paper they take."""
    low = corner + Point(0.2, SQUARE_HEIGHT - SIDE - 0.2)
    corners = [low + Point(x, y) for x, y in ((0, 0), (SIDE, 0), (SIDE, SIDE), (0, SIDE))]
    sides = tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    pen.outline(Ink.DRILL, sides)
    for k in range(1, int(SIDE)):
        tick = 0.4 if k == SIDE / 2 else 0.25
        pen.curve(Ink.TEXT, line(low + Point(k, 0.0), low + Point(k, tick)))
        pen.curve(Ink.TEXT, line(low + Point(0.0, k), low + Point(tick, k)))
    rows = ("Test square", "each side 10 cm = 100 mm", "Measure it before cutting.")
    for k, words in enumerate(rows):
        height = 0.36 if k == 0 else _LETTERS
        at = Point((SIDE - width_of(words, height)) / 2, SIDE * 0.6 - 0.75 * k)
        pen.text(Ink.TEXT, low + at, words, height)
    _bar(pen, corner + Point(0.2, 1.2))


def _bar(pen: Pen, start: Point) -> None:
    inch = to_cm(1.0, LengthUnit.INCH)
    pen.curve(Ink.DRILL, line(start, start + Point(INCHES * inch, 0.0)))
    for quarter in range(INCHES * 4 + 1):
        at = start + Point(quarter * inch / 4, 0.0)
        tick = (0.45, 0.2, 0.3, 0.2)[quarter % 4]
        pen.curve(Ink.TEXT, line(at, at + Point(0.0, tick)))
        if quarter % 4 == 0:
            words = str(quarter // 4)
            across = Point(-width_of(words, _LETTERS) / 2, -_LETTERS - 0.15)
            pen.text(Ink.TEXT, at + across, words, _LETTERS)
    words = "inches: this bar is 4 in long"
    pen.text(Ink.TEXT, start + Point(0.0, -_LETTERS - 0.7), words, _LETTERS)


_OVERVIEW_PAGE_LETTERS, _STEP = 0.23, 0.42
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
    for row in wrapped(words, _OVERVIEW_PAGE_LETTERS, width):
        at = at - Point(0.0, _STEP)
        pen.text(Ink.TEXT, at, row, _OVERVIEW_PAGE_LETTERS)
    return at - Point(0.0, 0.16)


def _key(pen: Pen, at: Point, width: float) -> Point:
    for ink, words in _KEY:
        rows = wrapped(words, _OVERVIEW_PAGE_LETTERS, width - 2.0)
        middle = at + Point(0.0, _OVERVIEW_PAGE_LETTERS / 2)
        pen.curve(ink, line(middle, middle + Point(1.7, 0.0)))
        for row in rows:
            pen.text(Ink.TEXT, at + Point(2.0, 0.0), row, _OVERVIEW_PAGE_LETTERS)
            at = at - Point(0.0, _STEP)
        at = at - Point(0.0, 0.08)
    return at - Point(0.0, 0.3)


def _pieces(pen: Pen, plan: TilePlan, at: Point, width: float) -> None:
    """The pieces by their numbers on the small picture, and the pages each is on."""
    for number, (piece, area) in enumerate(zip(plan.pieces, plan.areas, strict=True), start=1):
        tiles = [tile.name for tile in plan.tiles if plan.grid.own(tile).intersects(area)]
        rows = wrapped(
            f"{number}  {piece.title}: {', '.join(tiles)}", _OVERVIEW_PAGE_LETTERS, width
        )
        if at.y < _STEP * len(rows):
            pen.text(Ink.TEXT, at, "and so on", _OVERVIEW_PAGE_LETTERS)
            return
        for row in rows:
            pen.text(
                Ink.TEXT, at, fitted(row, _OVERVIEW_PAGE_LETTERS, width), _OVERVIEW_PAGE_LETTERS
            )
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
