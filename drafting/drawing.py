"""A piece draws itself on a pen: its lines, its signs, and its label.

Each stroke belongs to an :class:`Ink`; what an ink looks like is the business of the outputs.
The signs (bracket for the fold, arrows for the grain, snips for notches) are common practice.
Centimetres, y up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

import shapely

from drafting.curves import Curve, line
from drafting.cutting import CutLine, cut_line, notch_marks
from drafting.errors import DraftError
from drafting.lettering import (
    SMALLEST,
    Block,
    Written,
    beside,
    long_way,
    middle_of,
    one_line,
    readable,
    settled,
)
from drafting.pens import Pen
from drafting.pieces import Edge, EdgeName, MarkKind, Piece
from drafting.points import Point, direction


class Ink(StrEnum):
    """What a stroke is for: the keys of the table of layers."""

    CUT = "cut"
    SEW = "sew"
    FOLD = "fold"
    GRAIN = "grain"
    NOTCH = "notch"
    DART = "dart"
    MARK = "mark"
    CONSTRUCTION = "construction"
    DRILL = "drill"
    TEXT = "text"
    STAMP = "stamp"


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


#: Words for an edge, written along it; empty for none.
EdgeWords = Callable[[Edge], str]

_LETTERS = 0.6  # label on a large piece; the title is half as large again
_SMALL = (0.45, 0.32, 0.25)  # words beside a line, the largest that fits
_LONGEST = 60  # characters of one fact on a label
_STAMP = 1.8
_CLEAR = 0.3  # lettering keeps this far from lines
_HEAD = 0.6  # arrow heads
_DRILL = 0.2
_INKS = {MarkKind.FOLD: Ink.FOLD, MarkKind.CONSTRUCTION: Ink.CONSTRUCTION}


def draw_piece(
    pen: Pen, piece: Piece, labels: Labels, *, edge_words: EdgeWords | None = None
) -> None:
    """Draw a piece with its cut line, signs and label.

    A stamped piece is drawn even when no cut line can be laid round it; without a stamp the
    :class:`DraftError` of :func:`drafting.cutting.cut_line` comes through.
    """
    try:
        cut: CutLine | None = cut_line(piece)
    except DraftError:
        if labels.stamp is None:
            raise
        cut = None
    pen.begin_piece(piece.code, piece.title)
    if cut is not None:
        pen.outline(Ink.CUT, cut.curves())
    pen.outline(Ink.SEW, tuple(edge.curve for edge in piece.edges))
    for ink, curve in _strokes(piece, cut):
        pen.curve(ink, curve)
    for drill in piece.drills:
        pen.dot(Ink.DRILL, drill.at, _DRILL)
    for ink, curve, words in lettered(piece, labels, edge_words):
        if curve is not None:
            pen.outline(ink, curve)
        pen.text(ink, words.at, words.words, words.height, words.angle)
    pen.end_piece()


# ---- lines --------------------------------------------------------------------------------------


def _strokes(piece: Piece, cut: CutLine | None) -> Iterator[tuple[Ink, Curve]]:
    for edge in piece.edges:
        if edge.on_fold:
            yield from ((Ink.FOLD, stroke) for stroke in _bracket(edge, _depth(piece)))
    yield from ((Ink.GRAIN, stroke) for stroke in _arrow(*piece.grain))
    for dart in piece.darts:
        yield Ink.DART, line(dart.first, dart.tip)
        yield Ink.DART, line(dart.tip, dart.second)
    for mark in piece.marks:
        yield _INKS.get(mark.kind, Ink.MARK), mark.curve
    for notch in notch_marks(piece, cut):
        yield from ((Ink.NOTCH, stroke) for stroke in notch.strokes)


def _depth(piece: Piece) -> float:
    """How far into the piece a fold's bracket stands: less on narrow pieces."""
    outline = shapely.MultiPoint(piece.outline(0.05))
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = [float(shapely.Point(a).distance(shapely.Point(b))) for a, b in _pairs(corners[:3])]
    return max(0.4, min(1.0, 0.2 * min(sides)))


def _pairs(items: Sequence[Any]) -> Iterator[tuple[Any, Any]]:
    return zip(items[:-1], items[1:], strict=True)


def _bracket(edge: Edge, depth: float) -> Iterator[Curve]:
    """The sign of a fold: the fold itself, and a line beside it whose ends point at it."""
    yield edge.curve
    first, last, along = _bracket_ends(edge, depth)
    yield line(first, last)
    for end in (first, last):
        tip = end + along.right * depth
        yield line(end, tip)
        yield from _barbs(tip, along.right, depth * 0.5)


def _bracket_ends(edge: Edge, depth: float) -> tuple[Point, Point, Point]:
    start, end = edge.curve.start, edge.curve.end
    along = (end - start).unit
    inside = along.left * depth
    return start.towards(end, 0.12) + inside, start.towards(end, 0.88) + inside, along


def _arrow(start: Point, end: Point) -> Iterator[Curve]:
    """A straight line with a head at both ends."""
    yield line(start, end)
    size = min(_HEAD, 0.25 * start.to(end))
    yield from _barbs(end, end - start, size)
    yield from _barbs(start, start - end, size)


def _barbs(tip: Point, towards: Point, size: float) -> Iterator[Curve]:
    back = -towards.unit * size
    for side in (1.0, -1.0):
        yield line(tip, tip + back + towards.unit.left * (side * 0.35 * size))


# ---- lettering ----------------------------------------------------------------------------------


def lettered(
    piece: Piece, labels: Labels, edge_words: EdgeWords | None = None
) -> tuple[tuple[Ink, tuple[Curve, ...] | None, Written], ...]:
    """All text of a piece: ink, a frame round it or ``None``, and the line of text."""
    area = shapely.make_valid(shapely.Polygon(piece.outline(0.02)))
    signs = tuple(_sign_words(piece, edge_words))
    taken = [_taken(piece), *(words.box.buffer(_CLEAR / 2) for words in signs)]
    stamp = _stamp(area, labels)
    frame = _frame(stamp)
    if frame is not None:
        taken.append(shapely.Polygon([tuple(c.start) for c in frame]).buffer(_CLEAR / 2))
    label = _label(piece, labels, area, taken)
    return (
        *((Ink.TEXT, None, words) for words in signs),
        *((Ink.TEXT, None, words) for words in label),
        *((Ink.STAMP, frame if k == 0 else None, words) for k, words in enumerate(stamp)),
    )


def _taken(piece: Piece) -> Any:
    """Where lines stand that a label should not cross."""
    lines = [shapely.LineString([tuple(p) for p in piece.grain]).buffer(_CLEAR + 0.35 * _HEAD)]
    for dart in piece.darts:
        ends = (dart.first, dart.tip, dart.second)
        lines.append(shapely.MultiPoint([tuple(p) for p in ends]).convex_hull.buffer(_CLEAR))
    for mark in piece.marks:
        lines.append(shapely.LineString(mark.curve.flatten(0.02)).buffer(_CLEAR))
    for edge in piece.edges:
        if edge.on_fold:
            depth = _depth(piece) + _CLEAR
            ends = (edge.curve.start, edge.curve.end)
            lines.append(shapely.LineString([tuple(p) for p in ends]).buffer(depth))
    lines += [shapely.Point(tuple(d.at)).buffer(_DRILL + _CLEAR) for d in piece.drills]
    return shapely.union_all(lines)


def _sign_words(piece: Piece, edge_words: EdgeWords | None) -> Iterator[Written]:
    for edge in piece.edges:
        if edge.on_fold:
            first, last, along = _bracket_ends(edge, _depth(piece))
            yield from _if_short(first, last, along.left, "fold")
    yield from _if_short(*piece.grain, (piece.grain[1] - piece.grain[0]).left, "grain")
    for mark in piece.marks:
        if mark.label:
            t = mark.curve.t_at_length(mark.curve.length / 2)
            along = mark.curve.heading(t)
            words = one_line(mark.label)
            yield beside(mark.curve.at(t), along, along.left, words, _SMALL[1], _CLEAR / 2)
    for edge in piece.edges if edge_words else ():
        words = one_line(edge_words(edge)) if edge_words else ""
        if words and edge.name is not EdgeName.DART_MOUTH:
            yield _along_edge(edge, words)


def _if_short(first: Point, last: Point, side: Point, words: str) -> Iterator[Written]:
    """Words beside a straight line, where the line is longer than the words."""
    for height in _SMALL:
        text = beside(first.towards(last, 0.5), last - first, side, words, height, _CLEAR / 2)
        if len(words) * height < first.to(last):
            yield text
            return


def _along_edge(edge: Edge, words: str) -> Written:
    t = edge.curve.t_at_length(edge.length / 2)
    along = edge.curve.heading(t)
    height = min(_SMALL[0], max(SMALLEST, edge.length / (len(words) + 2)))
    bend = max(float(edge.curve.curvature([t])[0]), 0.0)
    room = min(len(words) * height, edge.length) ** 2 * bend / 8
    return beside(edge.curve.at(t), along, along.left, words, height, _CLEAR + room)


def _label(piece: Piece, labels: Labels, area: Any, taken: Sequence[Any]) -> tuple[Written, ...]:
    inside = area.buffer(-_CLEAR)
    free = inside.difference(shapely.union_all(list(taken)))
    blocks = label_blocks(piece, labels)
    angles = (0.0, long_way(area), readable(direction(long_way(area)).left.angle))
    for room in (free, inside):
        found = settled(room, blocks, angles, _LETTERS, piece.label_at)
        if found:
            return found
    return blocks[0].written(piece.label_at or middle_of(area), SMALLEST, angles[1])


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
    title = _short(piece.title)
    said = [word for word in map(_short, facts) if word]
    shapes = [[(title, 1.5), *((word, 1.0) for word in said)]]
    for count in (4, 3, 2):
        if count < len(said):
            shapes.append([(title, 1.5), *((row, 1.0) for row in _rows(said, count))])
    shapes += [[(row, 1.0) for row in _rows([title, *said], count)] for count in (3, 2)]
    return tuple(Block(tuple(lines)) for lines in shapes)


def _short(words: str) -> str:
    plain = one_line(words)
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 1] + "…"


def _rows(facts: Sequence[str], count: int) -> list[str]:
    """Facts in order on at most ``count`` lines, the longest line as short as can be."""
    for longest in sorted({len(" · ".join(facts[i : j + 1])) for i, j in _spans(len(facts))}):
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


def _spans(count: int) -> Iterator[tuple[int, int]]:
    return ((i, j) for i in range(count) for j in range(i, count))


def _stamp(area: Any, labels: Labels) -> tuple[Written, ...]:
    """The stamp, as large as it goes, along the piece."""
    if labels.stamp is None:
        return ()
    head, _, reason = (one_line(part) for part in labels.stamp.partition(":"))
    rows = [(head or "NOT FOR CUTTING", 1.0)]
    blocks = [Block((*rows, (reason, share))) for share in (0.5, 0.3)] if reason else []
    blocks.append(Block(tuple(rows)))
    way = long_way(area)
    for block in blocks:
        found = settled(area.buffer(-_CLEAR), [block], (way,), _STAMP)
        if found and min(words.height for words in found) >= SMALLEST:
            return found
    return Block(tuple(rows)).written(middle_of(area), 2 * SMALLEST, way)


def _frame(stamp: tuple[Written, ...]) -> tuple[Curve, ...] | None:
    """A box round the stamp, so that it is seen without colour."""
    if not stamp:
        return None
    around = shapely.union_all([words.box for words in stamp])
    angle = stamp[0].angle
    upright = shapely.affinity.rotate(around, -angle, origin=(0.0, 0.0), use_radians=True)
    x0, y0, x1, y1 = upright.buffer(0.15).bounds
    corners = [Point(x, y).turned(angle) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    return tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
