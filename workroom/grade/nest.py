"""A range as a nest: the sizes of each piece laid on each other at one point, and drawn on pens.

A pen a size, and one for what is said once: labels, grain, heading and key. Centimetres, y up.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import shapely

from blocks.edges import EdgeName
from drafting.drawing.drawing import Labels
from drafting.drawing.labelling import lettered
from drafting.drawing.lettering import text_width
from drafting.drawing.pens import Pen
from drafting.drawing.signs import DRILL, Ink, arrow, bracket, bracket_depth
from drafting.errors import DataError, DraftError, Problem
from drafting.geometry.curves import line
from drafting.geometry.points import Move, Point
from drafting.library import TomlText, read_data
from drafting.pieces.cutting import CutLine, cut_line, drill_holes, notch_marks
from drafting.pieces.piece import Piece
from drafting.sentences import Sentence
from workroom.grade.sizes import SizeRange
from workroom.papers.dxf.drawing import DrawingPen, drawn_bytes
from workroom.papers.pages.laid_pieces import Item, nest, paper_area
from workroom.papers.pdf.file import Group, PdfFile
from workroom.papers.pdf.pen import PdfPen
from workroom.papers.sheet.layers import DXF_WIDTHS, LINETYPES, READABLE, Layer, layers

# ---- How sizes look in a nest and where they lie on each other, read from ``data/nest.toml``


@dataclass(frozen=True, slots=True)
class Look:
    """Colour and dash of a size, and what the dash is called in a DXF file."""

    colour: int
    rgb: str
    dash_mm: tuple[float, ...]
    linetype: str


@dataclass(frozen=True, slots=True)
class Align:
    """The corner of two edges by which sizes are laid together, and what it is called."""

    edges: frozenset[EdgeName]
    said: str


@dataclass(frozen=True, slots=True)
class NestLook:
    """The whole file."""

    looks: tuple[Look, ...]
    widths: dict[Ink, float]
    aligns: tuple[Align, ...]

    def of(self, number: int) -> Look:
        """The look of a size by its place in the range, from 0."""
        return self.looks[number]

    def layer(self, number: int) -> Callable[[str], Layer]:
        """The lines of a size: each ink of its own width, all in the size's colour and dash."""
        look = self.of(number)

        def of(ink: str) -> Layer:
            plain = layers()[Ink(ink)]
            width = self.widths.get(plain.key, plain.width_mm)
            return replace(
                plain,
                width_mm=width,
                colour=look.colour,
                rgb=look.rgb,
                dash_mm=look.dash_mm,
                linetype=look.linetype,
            )

        return of


@cache
def nest_look() -> NestLook:
    """Looks, widths and corners. Raises :class:`DataError`."""
    return read_nest(read_data("nest"))


def read_nest(text: TomlText) -> NestLook:
    """The same from its text. Raises :class:`DataError` with what is wrong with it."""
    try:
        looks = tuple(_look(row) for row in text.values["look"])
        widths = {Ink(key): float(width) for key, width in text.values["width"].items()}
        aligns = tuple(
            Align(frozenset(map(EdgeName, row["edges"])), Sentence(row["said"]))
            for row in text.values["align"]
        )
    except (KeyError, TypeError, ValueError) as error:
        raise DataError(Problem(f"this cannot be read: {error}", text.name)) from error
    problems = [
        *(
            f"no width that DXF allows: {w}"
            for w in widths.values()
            if round(w * 100) not in DXF_WIDTHS
        ),
        *(f"a colour that cannot be read: {x.colour}" for x in looks if x.colour not in READABLE),
    ]
    problems += [
        f"a dash without a name that programs know: {x.dash_mm}"
        for x in looks
        if x.linetype not in (LINETYPES if x.dash_mm else {""})
    ]
    if len({look.linetype for look in looks}) < len(looks):
        problems.append("two sizes have the same linetype")
    if len({look.dash_mm for look in looks}) < len(looks):
        problems.append("two sizes have the same dash")
    if problems:
        raise DataError([Problem(said, text.name) for said in problems])
    return NestLook(looks, widths, aligns)


def refuse_too_many(count: int) -> None:
    """Raises :class:`DraftError` when there are more sizes than looks."""
    most = len(nest_look().looks)
    if count > most:
        raise DraftError(
            Problem(
                "there are more sizes than can be told apart in one nest",
                key="--only",
                got=str(count),
                accepted=f"up to {most}",
                advice="Choose some of them with --only.",
            )
        )


def corner_of(piece: Piece) -> tuple[Point, str]:
    """The point of a piece by which its sizes are laid together, and what it is called."""
    edges = piece.edges
    for align in nest_look().aligns:
        for edge, after in zip(edges, (*edges[1:], edges[0]), strict=True):
            if frozenset((edge.name, after.name)) == align.edges:
                return edge.curve.end, align.said
    return piece.grain[0], "at the end of the grain line"


def _look(row: dict[str, Any]) -> Look:
    dash = tuple(float(d) for d in row["dash_mm"])
    return Look(int(row["colour"]), str(row["rgb"]), dash, str(row["linetype"]))


#: As wide as the largest sheet of the A series (cm), unless a piece is wider.
_WIDTH = 82.0
_GAP = 2.0
_KEY, _SAMPLE, _TAG = 0.5, 4.0, 0.3
_BAR = 10.0


@dataclass(frozen=True, slots=True)
class Nested:
    """One piece in its sizes, laid together where ``point`` says; every one is moved there."""

    code: str
    title: str
    point: str
    sizes: Mapping[str, Piece]

    @property
    def smallest(self) -> Piece:
        """The smallest of them."""
        return next(iter(self.sizes.values()))

    @property
    def area(self) -> Any:
        """The paper that all of them take, a shapely area."""
        return shapely.union_all([paper_area(piece) for piece in self.sizes.values()])

    def moved(self, move: Move) -> Nested:
        """All of them moved."""
        sizes = {name: piece.moved(move) for name, piece in self.sizes.items()}
        return Nested(self.code, self.title, self.point, sizes)


@dataclass(frozen=True, slots=True)
class Nest:
    """All pieces of a range where they lie on one sheet, its lower left corner at the origin."""

    title: str
    pieces: tuple[Nested, ...]
    sizes: tuple[str, ...]
    labels: Labels
    width: float
    height: float

    def piece(self, code: str) -> Nested:
        """A piece by its code. Raises ``KeyError``."""
        for nested in self.pieces:
            if nested.code == code:
                return nested
        raise KeyError(code)


def nest_of(drafted: SizeRange) -> Nest:
    """The nest of a range. Raises :class:`DraftError` when there are more sizes than looks."""
    refuse_too_many(len(drafted.sizes))
    together = [_together(drafted, code) for code in drafted.codes]
    widest = max(one.area.bounds[2] - one.area.bounds[0] for one in together)
    width = max(_WIDTH, widest + 2 * _GAP)
    lay = nest([Item(one.area, turns=False) for one in together], width, None, _GAP)
    assert lay is not None
    laid = tuple(n.moved(spot.move) for n, spot in zip(together, lay.spots, strict=True))
    rows = len(_key_rows(drafted.sizes, width))
    height = lay.lengths[0] + (rows + 1) * 2.2 * _KEY + 7.0
    card = drafted.commission
    span = f"sizes {drafted.sizes[0]} to {drafted.sizes[-1]}"
    smallest = drafted.smallest
    labels = Labels(
        date=card.date.isoformat(),
        order=card.order,
        method=smallest.bodice.quantities.method.title if smallest.bodice else "",
        lines={one.code: (span, f"laid together {one.point}") for one in laid},
        stamp=_stamp(drafted),
    )
    title = f"{card.order or 'Range'}: {span}, {drafted.table.title}"
    return Nest(title, laid, drafted.sizes, labels, width, height)


def draw_nest(nest: Nest, pens: Mapping[str, Pen], plain: Pen) -> tuple[float, float]:
    """Draw a nest, each size on its own pen. Returns width and height (cm) of what was drawn."""
    for nested in nest.pieces:
        for name, piece in nested.sizes.items():
            pens[name].begin_piece(nested.code, nested.title)
            _draw_size(pens[name], name, nested, piece)
            pens[name].end_piece()
        plain.begin_piece(nested.code, nested.title)
        for stroke in arrow(*nested.smallest.grain):
            plain.curve(Ink.GRAIN, stroke)
        for ink, words in lettered(_crowded(nested), nest.labels):
            plain.text(ink, words.at, words.words, words.height, words.angle)
        plain.end_piece()
    _heading(nest, pens, plain)
    return nest.width, nest.height


def _crowded(nested: Nested) -> Piece:
    """The smallest size with the darts of every size, which its label is to keep clear of."""
    darts = tuple(dart for piece in nested.sizes.values() for dart in piece.darts)
    return replace(nested.smallest, darts=darts)


def _together(drafted: SizeRange, code: str) -> Nested:
    graded = drafted.graded(code)
    sizes, said = {}, ""
    for name, piece in graded.items():
        corner, said = corner_of(piece)
        sizes[name] = piece.moved(Move(shift=Point(0.0, 0.0) - corner))
    return Nested(code, next(iter(graded.values())).title, said, sizes)


def _stamp(drafted: SizeRange) -> str | None:
    wrong = [name for name, order in drafted.orders.items() if order.failed]
    return f"NOT FOR CUTTING: size {', '.join(wrong)}" if wrong else None


def _draw_size(pen: Pen, name: str, nested: Nested, piece: Piece) -> None:
    cut = _cut(piece)
    if cut is not None:
        pen.outline(Ink.CUT, cut.curves())
    pen.outline(Ink.SEW, tuple(edge.curve for edge in piece.edges))
    for dart in piece.darts:
        pen.curve(Ink.DART, line(dart.first, dart.tip))
        pen.curve(Ink.DART, line(dart.tip, dart.second))
    for mark in piece.marks:
        pen.curve(Ink.MARK, mark.curve)
    for notch in notch_marks(piece, cut):
        for snip in notch.strokes:
            pen.curve(Ink.NOTCH, snip)
    for at in drill_holes(piece, cut):
        pen.dot(Ink.DRILL, at, DRILL)
    if piece is list(nested.sizes.values())[-1]:
        for edge in piece.edges:
            if edge.on_fold:
                for stroke in bracket(edge, bracket_depth(piece)):
                    pen.curve(Ink.FOLD, stroke)
    points = cut.points if cut is not None else piece.outline()
    corner, _ = corner_of(piece)
    far = int(np.argmax(np.hypot(points[:, 0] - corner.x, points[:, 1] - corner.y)))
    pen.text(Ink.TEXT, Point(float(points[far, 0]), float(points[far, 1])), name, _TAG)


def _cut(piece: Piece) -> CutLine | None:
    try:
        return cut_line(piece)
    except DraftError:  # a sew line that crosses itself: its size is stamped
        return None


def _heading(nest: Nest, pens: Mapping[str, Pen], plain: Pen) -> None:
    top = nest.height
    plain.text(Ink.TEXT, Point(_GAP, top - 1.6), nest.title, 0.8)
    facts = " · ".join(word for word in (nest.labels.date, nest.labels.method) if word)
    plain.text(Ink.TEXT, Point(_GAP, top - 2.8), facts, _KEY)
    if nest.labels.stamp:
        at = Point(_GAP + text_width(facts, _KEY) + 2.0, top - 2.8)
        plain.text(Ink.STAMP, at, nest.labels.stamp, 0.7)
    y = top - 4.4
    for row in _key_rows(nest.sizes, nest.width):
        x = _GAP
        for name in row:
            pens[name].curve(Ink.CUT, line(Point(x, y), Point(x + _SAMPLE, y)))
            pens[name].text(Ink.TEXT, Point(x + _SAMPLE + 0.4, y - _KEY / 2), name, _KEY)
            x += _slot(nest.sizes)
        y -= 2.2 * _KEY
    plain.curve(Ink.TEXT, line(Point(_GAP, y), Point(_GAP + _BAR, y)))
    for x, tick in ((0.0, 0.4), (_BAR / 2, 0.25), (_BAR, 0.4)):
        plain.curve(Ink.TEXT, line(Point(_GAP + x, y - tick), Point(_GAP + x, y + tick)))
    words = "10 cm = 100 mm: measure this bar before cutting"
    plain.text(Ink.TEXT, Point(_GAP + _BAR + 0.6, y - 0.2), words, 0.4)


def _slot(sizes: tuple[str, ...]) -> float:
    return _SAMPLE + 1.6 + max(text_width(name, _KEY) for name in sizes)


def _key_rows(sizes: tuple[str, ...], width: float) -> list[tuple[str, ...]]:
    many = max(1, int((width - 2 * _GAP) / _slot(sizes)))
    return [sizes[k : k + many] for k in range(0, len(sizes), many)]


# ---- A nest as a DXF drawing and as a PDF, each size in its own layer

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
