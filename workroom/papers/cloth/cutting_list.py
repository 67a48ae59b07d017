"""The cutting list: every piece, what it is cut from, how many, how it lies; and how much to buy.

As data, as plain lines, and as a table on any pen. Lengths in centimetres inside, in the card's
unit where a maker reads them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import degrees, pi

import numpy as np
import shapely

from blocks.edges import EdgeName
from drafting.drawing.drawing import Labels
from drafting.drawing.lettering import shortened, text_width
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve, line
from drafting.geometry.points import FloatArray, Point
from drafting.pieces.cloth_shapes import cloth_shape
from drafting.pieces.cutting import cut_line, notch_marks
from drafting.pieces.piece import CutPlan, Edge, MarkKind, Piece
from drafting.tolerances import SAME_POINT
from drafting.units import LengthUnit, format_cloth, format_inches, format_length, from_cm
from workroom.papers.cloth.cloth import Material, cloth_book
from workroom.papers.cloth.lay import Lay, Lays
from workroom.papers.cloth.lay_picture import lay_name, lay_way

#: A grain this near to a line or to 45 degrees from it is said to be so: half a degree.
_NEAR = pi / 360
_CENTRES = (
    EdgeName.CENTRE_BACK,
    EdgeName.CENTRE_FRONT,
    EdgeName.FRONT_EDGE,
    EdgeName.FACING_EDGE,
)
_LONGEST = 60
#: What a drill hole in place of a notch is for.
DRILLED = (
    "Drill hole: no snip can mark an inward corner. The hole is in the seam allowance, just short "
    "of the corner: staystitch round the corner, then clip to the hole."
)
#: A shape that fills so much of the oblong round it is one.
_OBLONG = 0.999


@dataclass(frozen=True, slots=True)
class ListedPiece:
    """One row: a piece and one material. ``across`` and ``along`` the grain (cm) is the size of
    the paper piece for it, half of it when ``on_fold``; a ``strip`` that slants to the grain is
    told by its own length and width instead. ``opened``: drafted on a fold that cannot lie on the
    cloth's, because it does not run along the grain. ``drilled`` are the notches that are marked
    with a drill hole."""

    code: str
    title: str
    material: Material
    count: int
    on_fold: bool
    opened: bool
    mirrored_pair: bool
    grain: str
    across: float
    along: float
    drilled: tuple[str, ...] = ()
    strip: tuple[float, float] | None = None

    @property
    def how(self) -> str:
        """How many, and how: ``cut 2 on the fold``."""
        words = f"cut {self.count}"
        if self.on_fold:
            words += " on the fold"
        if self.opened:
            words += ", opened out"
        if self.mirrored_pair and self.count > 1:
            words += ", a pair" if self.count == 2 else f", {self.count // 2} pairs"
            words += " and one more" if self.count % 2 else ""
        return words


def cutting_list(pieces: Iterable[Piece]) -> tuple[ListedPiece, ...]:
    """Every piece once for each material it is cut from, cloth first.

    Raises :class:`DraftError` when no cut line can be laid round a piece.
    """
    given = tuple(pieces)
    inside = cloth_book().laying.interfacing_inside
    rows = []
    for material in Material:
        for piece in given:
            count = material.wanted(piece.cut)
            if count:
                shape = cloth_shape(piece, inside if material is Material.INTERFACING else None)
                outline = shape.upright.apply(shape.whole if shape.half is None else shape.half)
                strip, grain = _strip(outline), grain_words(piece)
                across, along = (float(v) for v in outline.max(axis=0) - outline.min(axis=0))
                rows.append(
                    ListedPiece(
                        code=piece.code,
                        title=piece.title,
                        material=material,
                        count=count,
                        on_fold=shape.half is not None,
                        opened=shape.half is None and any(e.on_fold for e in piece.edges),
                        mirrored_pair=piece.cut.mirrored_pair,
                        grain=grain if strip is None else grain.partition(",")[0],
                        across=across,
                        along=along,
                        drilled=() if material is Material.INTERFACING else _drilled(piece),
                        strip=strip,
                    )
                )
    return tuple(rows)


def facing_strips(pieces: Iterable[Piece]) -> Iterator[Piece]:
    """For each piece whose facing is cut on, the strip of interfacing that stiffens it: from the
    fold to the facing's farthest edge, as an oblong along the fold. No cloth is cut from it."""
    for piece in pieces:
        folds = [mark.curve for mark in piece.marks if mark.kind is MarkKind.FOLD]
        facing = [piece.named(name) for name in (EdgeName.FACING_EDGE, EdgeName.NECK_SEAM)]
        if not folds or not facing[0] or piece.cut.interfacing:
            continue
        fold = folds[0].flatten()
        curves = [edge.curve.flatten() for edges in facing for edge in edges]
        way = (fold[-1] - fold[0]) / np.hypot(*(fold[-1] - fold[0]))
        ring = np.vstack((fold, *curves)) - fold[0]
        along, across = ring @ way, np.abs(ring @ np.array((-way[1], way[0])))
        long, wide = float(np.ptp(along)), float(across.max())
        corners = (
            Point(0.0, 0.0), Point(wide, 0.0), Point(wide, long), Point(0.0, long), Point(0.0, 0.0)
        )  # fmt: skip
        yield Piece(
            code=f"{piece.code}-STRIP",
            title=f"Strip for the facing of the {piece.title.lower()}",
            edges=tuple(
                Edge(EdgeName.FACING_EDGE, line(*ends), allowance=0.0) for ends in pairwise(corners)
            ),
            cut=CutPlan(cloth=0, interfacing=piece.cut.cloth),
            grain=(Point(wide / 2, long / 4), Point(wide / 2, 3 * long / 4)),
        )


def _drilled(piece: Piece) -> tuple[str, ...]:
    marks = notch_marks(piece, cut_line(piece))
    return tuple(mark.notch.name for mark in marks if mark.hole is not None)


def _strip(outline: FloatArray) -> tuple[float, float] | None:
    """Length and width of an oblong that does not lie along the axes, ``None`` for other shapes."""
    area = shapely.Polygon(outline)
    around = area.minimum_rotated_rectangle
    if area.area < _OBLONG * around.area or around.area > _OBLONG * area.envelope.area:
        return None
    corners = np.array(around.exterior.coords)
    length, width = sorted(np.hypot(*np.diff(corners[:3], axis=0).T), reverse=True)
    return float(length), float(width)


def grain_words(piece: Piece) -> str:
    """Where the grain of a piece runs: ``along the fold``, ``parallel to centre front``, ``on the
    bias, 45° to centre back``."""
    grain = (piece.grain[1] - piece.grain[0]).angle
    named = tuple(_straight_lines(piece))
    for name, angle in named:
        if _between(grain, angle) < _NEAR:
            return "along the fold" if name == "the fold" else f"parallel to {name}"
    if not named:
        return "along the arrow on the piece"
    name, angle = named[0]
    turned = _between(grain, angle)
    if abs(turned - pi / 4) < _NEAR:
        return f"on the bias, 45° to {name}"
    if abs(turned - pi / 2) < _NEAR:
        return f"square to {name}"
    return f"at {degrees(turned):.0f}° to {name}"


def _straight_lines(piece: Piece) -> Iterator[tuple[str, float]]:
    """Straight lines a grain may be told by, with their angles, the likeliest first."""
    for edge in piece.edges:
        if edge.on_fold:
            yield "the fold", _angle(edge.curve)
    for mark in piece.marks:
        if mark.kind in (MarkKind.CENTRE_FRONT, MarkKind.FOLD) and _straight(mark.curve):
            yield mark.label or str(mark.kind), _angle(mark.curve)
    for wanted in _CENTRES:
        for edge in piece.named(wanted):
            if _straight(edge.curve):
                yield str(wanted), _angle(edge.curve)


def _straight(curve: Curve) -> bool:
    return curve.length - curve.start.to(curve.end) < SAME_POINT


def _angle(curve: Curve) -> float:
    return (curve.end - curve.start).angle


def _between(a: float, b: float) -> float:
    """The sharp angle between two lines."""
    turned = (a - b) % pi
    return min(turned, pi - turned)


# ---- plain lines --------------------------------------------------------------------------------


def cutting_list_lines(
    rows: Sequence[ListedPiece],
    labels: Labels,
    unit: LengthUnit,
    lays: Lays | None = None,
    one_way: Lays | None = None,
) -> list[str]:
    """The list as lines of plain text, with what to buy where there are lays; ``one_way`` are the
    lays for cloth with a nap. The stamp stands first on a draft that must not be cut."""
    lines = [labels.stamp] if labels.stamp else []
    lines += ["CUTTING LIST", " · ".join(filter(None, (labels.client, labels.order, labels.date)))]
    for material in Material:
        mine = [row for row in rows if row.material is material]
        if mine:
            lines += ["", f"{material.upper()}: {material_words(material, unit)}"]
            lines += [f"  {row.title}: {row.how}; {_grain_and_size(row, unit)}" for row in mine]
    if any(row.drilled for row in rows):
        lines += ["", DRILLED]
    if lays is not None and (lays.lays or lays.problems):
        lines += ["", "WHAT TO BUY", *_to_buy(lays, one_way, unit)]
    return lines


def material_words(material: Material, unit: LengthUnit) -> str:
    """How the pieces of a material are cut."""
    if material is not Material.INTERFACING:
        return "cut on the cut line, seam allowance included"
    inside, most = cloth_book().laying.interfacing_inside, 0.3
    if unit is LengthUnit.INCH:
        said = [f"{format_inches(one)} {unit.value}" for one in (inside, most)]
    else:
        said = [format_length(inside, unit, places=2), format_length(most, unit)]
    return f"cut {said[0]} inside the sew line (0 to {said[1]} is common practice), not on folds"


def _grain_and_size(row: ListedPiece, unit: LengthUnit) -> str:
    if row.strip is not None:
        length, width = (format_length(size, unit) for size in row.strip)
        return f"grain {row.grain}; a strip {length} long and {width} wide"
    size = f"{format_length(row.across, unit)} across, {format_length(row.along, unit)} along it"
    holes = f"; drill hole: {', '.join(row.drilled)}" if row.drilled else ""
    return f"grain {row.grain}; the piece is {size}{', half' if row.on_fold else ''}{holes}"


def _to_buy(lays: Lays, one_way: Lays | None, unit: LengthUnit) -> Iterator[str]:
    napped = {(lay.material, lay.width): lay for lay in one_way.lays} if one_way else {}
    for lay in lays.lays:
        words = f"  {lay_name(lay, unit)}: {lay.buy(unit)}, "
        words += f"{lay_way(lay)}; the lay is {format_length(lay.length, unit)} long"
        if lay.folded_to_buy is not None:
            words += f"; all folded: {format_cloth(lay.folded_to_buy, unit)}"
        same_way = napped.get((lay.material, lay.width))
        if same_way is not None and lay.material is not Material.INTERFACING:
            words += f"; one-way cloth: {same_way.buy(unit)}"
        yield words
    yield from (f"  {problem.written(unit)}" for problem in lays.problems)
    yield ""
    for material in {lay.material: None for lay in lays.lays}:
        cloth = cloth_book().cloths[material]
        step = format_length(cloth_book().laying.step, unit)
        step = step if unit is LengthUnit.CM else "an eighth of a yard"
        yield (
            f"{cloth.title} allows {format_length(cloth.selvedge, unit)} at either "
            f"selvedge, {format_length(cloth.ends, unit)} to straighten both ends and "
            f"{100 * cloth.shrinkage:.0f} % for shrinkage (common practice), rounded up to "
            f"{step}."
        )
    yield ("Lay all the pieces out before you cut. A cutter may find a shorter lay than these.")
    if any(one.opened for lay in lays.lays for one in lay.pieces):
        yield (
            "Opened out: trace the half on both sides of its fold first, on paper or on the cloth."
        )
    yield (
        "Wash the cloth first if the garment will be washed. To match stripes, checks or prints, "
        "buy one repeat more for each length of pieces (common practice)."
    )
    if one_way is not None:
        yield (
            "One-way cloth: pieces lie as drafted. On napped cloth turn every fall upside down, "
            "since it is worn turned over."
        )


# ---- on a pen -----------------------------------------------------------------------------------

_HEAD, _LETTERS, _STEP, _SPACE = 0.9, 0.4, 2.0, 0.8


def draw_cutting_list(
    pen: Pen, rows: Sequence[ListedPiece], labels: Labels, unit: LengthUnit = LengthUnit.CM
) -> tuple[float, float]:
    """Draw the list as a table, one row a piece; width and height (cm) come back, its lower left
    corner is the origin."""
    table = _table(rows, unit)
    wide = [
        max(text_width(row[k], _LETTERS) for row in table if len(row) > 1)
        for k in range(max((len(row) for row in table), default=0))
    ]
    head = [(labels.stamp, _LETTERS)] if labels.stamp else []
    head += [
        ("Cutting list", _HEAD),
        (" · ".join(filter(None, (labels.client, labels.order, labels.date))), _LETTERS),
    ]
    lines = [*((ink_words, height) for ink_words, height in head if ink_words)]
    height = _STEP * (sum(size for _, size in lines) + _LETTERS * len(table))
    y, width = height, 0.0
    for words, size in lines:
        y -= _STEP * size
        ink = Ink.STAMP if words == labels.stamp else Ink.TEXT
        pen.text(ink, Point(0.0, y), shortened(words, 2 * _LONGEST), size)
        width = max(width, text_width(shortened(words, 2 * _LONGEST), size))
    for row in table:
        y -= _STEP * _LETTERS
        x = 0.0
        for k, words in enumerate(row):
            if words:
                pen.text(Ink.TEXT, Point(x, y), words, _LETTERS)
            width = max(width, x + text_width(words, _LETTERS))
            x += (wide[k] if len(row) > 1 else 0.0) + _SPACE
    return width, height


def _table(rows: Sequence[ListedPiece], unit: LengthUnit) -> list[tuple[str, ...]]:
    table: list[tuple[str, ...]] = []
    for material in Material:
        mine = [row for row in rows if row.material is material]
        if mine:
            table += [("",), (f"{material.capitalize()}: {material_words(material, unit)}",)]
        for row in mine:
            sizes = row.strip or (row.across, row.along)
            size = " × ".join(format_length(side, unit) for side in sizes)
            table.append(
                (shortened(row.title, _LONGEST), row.how, f"grain {row.grain}", size),
            )
    return table


def lay_file_name(lay: Lay, unit: LengthUnit = LengthUnit.CM) -> str:
    """What a lay's picture is called: ``lay-140``, ``lay-interfacing-90``, ``lay-45in``."""
    what = "" if lay.material is Material.CLOTH else f"{lay.material}-"
    wide = f"{from_cm(lay.width, unit):.0f}{'in' if unit is LengthUnit.INCH else ''}"
    return f"lay-{what}{wide}"
