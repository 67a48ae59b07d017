"""What is written on a piece, and where: its label, and the stamp across a piece that must not be
cut. Words beside lines are in ``drafting.drawing.signs``. Centimetres, y up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any

import shapely
from shapely import affinity

from drafting.drawing.lettering import (
    SMALLEST,
    Block,
    Written,
    long_way,
    middle_of,
    one_line,
    readable,
    settled,
    shortened,
)
from drafting.drawing.signs import HEAD, EdgeWords, Ink, bracket_depth, sign_shapes, sign_words
from drafting.geometry.curves import Curve, line
from drafting.geometry.points import Point, direction
from drafting.memo import memo_by_identity
from drafting.pieces.piece import CutPlan, Dart, Drill, Edge, Mark, Piece, outline_of


@dataclass(frozen=True, slots=True)
class Labels:
    """What stands on every piece of an order. ``date`` as ISO text; ``lines`` adds lines by the
    code of a piece; ``stamp`` stands across every piece of a draft that must not be cut:
    a few words, then perhaps a colon and the reason."""

    client: str = ""
    date: str = ""
    order: str = ""
    method: str = ""
    lines: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    stamp: str | None = None


#: Letters of a label on a large piece; its title is half as large again.
_LETTERS = 0.6
#: Letters of a stamp, and what to come down to until there is room for a label too.
_STAMPS = (1.8, 1.2, 0.8, 0.6, 0.45, 0.35, 0.28, SMALLEST)
#: The first so many sizes stand out; below them the label gives way first.
_SHOWN = 5
#: Characters of one fact on a label.
_LONGEST = 60
#: Lettering keeps this far from lines.
_CLEAR = 0.3


def lettered(
    piece: Piece, labels: Labels, edge_words: EdgeWords | None = None
) -> tuple[tuple[Ink, Written], ...]:
    """All lines of text of a piece, each with its ink."""
    return _lettered(piece, labels, edge_words)


@memo_by_identity(64)
def _lettered(
    piece: Piece, labels: Labels, edge_words: EdgeWords | None
) -> tuple[tuple[Ink, Written], ...]:
    area, signs, inside, free = _room(
        piece.edges, piece.grain, piece.darts, piece.marks, piece.drills, edge_words
    )
    stamp, label = _stamp_and_label(piece, labels, inside, free)
    if not label:
        middle = piece.label_at or middle_of(area)
        label = _essential(piece, labels)[-1].written(middle, SMALLEST, long_way(area))
    return (
        *((Ink.TEXT, words) for words in (*signs, *label)),
        *((Ink.STAMP, words) for words in stamp),
    )


def room_beside(piece: Piece, labels: Labels) -> Any:
    """What is left of the inside of a piece, a shapely area, when its lines, the words beside them
    and its label are drawn."""
    *_, free = _room(piece.edges, piece.grain, piece.darts, piece.marks, piece.drills, None)
    boxes = [words.box.buffer(_CLEAR / 2) for _, words in lettered(piece, labels)]
    return free.difference(shapely.union_all(boxes))


@memo_by_identity(64)
def _room(
    edges: tuple[Edge, ...],
    grain: tuple[Point, Point],
    darts: tuple[Dart, ...],
    marks: tuple[Mark, ...],
    drills: tuple[Drill, ...],
    edge_words: EdgeWords | None,
) -> tuple[Any, tuple[Written, ...], Any, Any]:
    """The inside of a piece, the words beside its lines, the room clear of these, and the room
    clear of its lines too: wherever its label is wished."""
    piece = Piece("", "", edges, CutPlan(), grain, darts, marks=marks, drills=drills)
    area = shapely.make_valid(shapely.Polygon(piece.outline(0.02)))
    signs = sign_words(piece, area, edge_words)
    written = [words.box.buffer(_CLEAR / 2) for words in signs]
    inside = area.buffer(-_CLEAR).difference(shapely.union_all(written))
    free = inside.difference(shapely.union_all([shape.buffer(_CLEAR) for shape in _taken(piece)]))
    return area, signs, inside, free


def _taken(piece: Piece) -> Iterator[Any]:
    """What a label should not cross: lines, whole darts, the strip between a fold and its bar."""
    yield from sign_shapes(piece)
    yield shapely.LineString([tuple(p) for p in piece.grain]).buffer(0.35 * HEAD)
    for dart in piece.darts:
        corners = (dart.first, dart.tip, dart.second)
        yield shapely.MultiPoint([tuple(p) for p in corners]).convex_hull
    for edge in piece.edges:
        if edge.on_fold:
            fold = shapely.LineString([tuple(edge.curve.start), tuple(edge.curve.end)])
            yield fold.buffer(bracket_depth(piece))


def frame(stamp: tuple[Written, ...]) -> tuple[Curve, ...]:
    """A box round the lines of a stamp, so that it is seen without colour."""
    if not stamp:
        return ()
    around, angle = shapely.union_all([words.box for words in stamp]), stamp[0].angle
    upright = affinity.rotate(around, -angle, origin=(0.0, 0.0), use_radians=True)
    x0, y0, x1, y1 = upright.buffer(_CLEAR / 2).bounds
    corners = [Point(x, y).turned(angle) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    return tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))


# ---- label and stamp ----------------------------------------------------------------------------


def _stamp_and_label(
    piece: Piece, labels: Labels, inside: Any, free: Any
) -> tuple[tuple[Written, ...], tuple[Written, ...]]:
    """The stamp as large as leaves room for a label. Where room is short, the label says less
    before it crosses a line."""
    if inside.area == 0.0:
        return (), ()
    whole, less = label_blocks(piece, labels), _essential(piece, labels)
    if labels.stamp is None:
        label = next(filter(None, (_label(piece, b, free) for b in (whole, less))), ())
        return (), label or _label(piece, less, inside)
    words = labels.stamp

    @cache
    def stamp_of(largest: float) -> tuple[Written, ...]:
        return _stamp(words, free, inside, largest)

    wishes = ((whole, free, _STAMPS[:_SHOWN]), (less, free, _STAMPS), (less, inside, _STAMPS))
    for blocks, room, sizes in wishes:
        for stamp in filter(None, map(stamp_of, sizes)):
            box = shapely.Polygon([tuple(side.start) for side in frame(stamp)]).buffer(_CLEAR / 2)
            label = _label(piece, blocks, room.difference(box))
            if label:
                return stamp, label
    return next(filter(None, map(stamp_of, _STAMPS)), ()), ()


def _stamp(words: str, free: Any, inside: Any, largest: float) -> tuple[Written, ...]:
    head, _, reason = (one_line(part) for part in words.partition(":"))
    rows = ((shortened(head, _LONGEST) or "NOT FOR CUTTING", 1.0),)
    blocks = (
        [Block((*rows, (shortened(reason, _LONGEST), share))) for share in (0.5, 0.35)]
        if reason
        else []
    )
    way = long_way(inside.convex_hull)
    for block in (*blocks, Block(rows)):
        for room, least in ((free, 0.6 * largest), (inside, 0.6 * largest)):
            found = settled(room, [block], (way,), largest)
            if found and found[0].height >= least and found[-1].height >= SMALLEST:
                return found
    return ()


def _label(piece: Piece, blocks: Sequence[Block], room: Any) -> tuple[Written, ...]:
    way = _way(piece.edges)
    angles = (0.0, way, readable(direction(way).left.angle))
    return settled(room, blocks, angles, _LETTERS, piece.label_at)


@memo_by_identity(64)
def _way(edges: tuple[Edge, ...]) -> float:
    """The readable angle of a piece's longer side."""
    return long_way(shapely.MultiPoint(outline_of(edges, 0.05)))


def label_blocks(piece: Piece, labels: Labels) -> tuple[Block, ...]:
    """The label of a piece in several shapes: a line for each fact, then fewer and longer lines
    for pieces that are low and long, last with the title in the first line."""
    sewn = any(edge.allowance for edge in piece.edges if not edge.on_fold)
    facts = (
        piece.cut.words(),
        "seam allowance included" if sewn else "no seam allowance",
        labels.client,
        " · ".join(word for word in (labels.order, labels.date) if word),
        labels.method,
        *piece.notes,
        *labels.lines.get(piece.code, ()),
    )
    return _shapes(piece.title, facts)


def _essential(piece: Piece, labels: Labels) -> tuple[Block, ...]:
    """The least a small piece must say: what it is, how many to cut, for whom."""
    return _shapes(piece.title, (piece.cut.words(), labels.client))


@lru_cache(maxsize=256)
def _shapes(title: str, facts: tuple[str, ...]) -> tuple[Block, ...]:
    head = shortened(title, _LONGEST)
    said = [shortened(word, _LONGEST) for word in facts if one_line(word)]
    shapes = [[(head, 1.5), *((word, 1.0) for word in said)]]
    for count in (4, 3, 2):
        if count < len(said):
            shapes.append([(head, 1.5), *((row, 1.0) for row in _rows(said, count))])
    shapes += [[(row, 1.0) for row in _rows([head, *said], count)] for count in (3, 2, 1)]
    return tuple(Block(tuple(lines)) for lines in shapes)


def _rows(facts: Sequence[str], count: int) -> list[str]:
    """Facts in order on at most ``count`` lines, the longest line as short as can be."""
    spans = ((i, j) for i in range(len(facts)) for j in range(i, len(facts)))
    for longest in sorted({len(" · ".join(facts[i : j + 1])) for i, j in spans}):
        rows: list[str] = []
        for fact in facts:
            joined = f"{rows[-1]} · {fact}" if rows else fact
            if rows and len(joined) <= longest:
                rows[-1] = joined
            else:
                rows.append(fact)
        if len(rows) <= count and max(map(len, rows)) <= longest:
            return rows
    return [" · ".join(facts)]
