"""What is written on a piece, and where: words beside its lines, its label, and the stamp across a
piece that must not be cut. Centimetres, y up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely
from shapely import affinity

from drafting.curves import Curve, line
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
    text_width,
)
from drafting.pieces import Edge, EdgeName, Piece
from drafting.points import Point, direction
from drafting.signs import DRILL, HEAD, Ink, bracket_bar, bracket_depth, thickness


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


#: Words to write along an edge, from the fullest to the shortest; the first that fits is taken.
EdgeWords = Callable[[Edge], tuple[str, ...]]

#: Letters of a label on a large piece; its title is half as large again.
_LETTERS = 0.6
#: Words beside a line: the largest that fits, smaller on pieces narrower than ``_NARROW``.
_BESIDE = (0.45, 0.32, 0.25, SMALLEST)
_NARROW = 6.0
#: Letters of a stamp, and what to come down to until there is room for a label too.
_STAMPS = (1.8, 1.2, 0.8, 0.6, 0.45, 0.35, 0.28, SMALLEST)
#: Characters of one fact on a label.
_LONGEST = 60
#: Lettering keeps this far from lines.
_CLEAR = 0.3


def lettered(
    piece: Piece, labels: Labels, edge_words: EdgeWords | None = None
) -> tuple[tuple[Ink, Written], ...]:
    """All lines of text of a piece, each with its ink."""
    area = shapely.make_valid(shapely.Polygon(piece.outline(0.02)))
    signs = tuple(_sign_words(piece, edge_words))
    taken = shapely.union_all([_taken(piece), *(w.box.buffer(_CLEAR / 2) for w in signs)])
    inside = area.buffer(-_CLEAR)
    free = inside.difference(taken)
    stamp, label = _stamp_and_label(piece, labels, inside, free)
    if not label:
        middle = piece.label_at or middle_of(area)
        label = label_blocks(piece, labels)[-1].written(middle, SMALLEST, long_way(area))
    return (
        *((Ink.TEXT, words) for words in (*signs, *label)),
        *((Ink.STAMP, words) for words in stamp),
    )


def frame(stamp: tuple[Written, ...]) -> tuple[Curve, ...]:
    """A box round the lines of a stamp, so that it is seen without colour."""
    if not stamp:
        return ()
    around, angle = shapely.union_all([words.box for words in stamp]), stamp[0].angle
    upright = affinity.rotate(around, -angle, origin=(0.0, 0.0), use_radians=True)
    x0, y0, x1, y1 = upright.buffer(_CLEAR / 2).bounds
    corners = [Point(x, y).turned(angle) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    return tuple(line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))


# ---- words beside lines -------------------------------------------------------------------------


def _sign_words(piece: Piece, edge_words: EdgeWords | None) -> Iterator[Written]:
    sizes = _BESIDE if thickness(piece) > _NARROW else _BESIDE[1:]
    for edge in piece.edges:
        words = tuple(map(one_line, edge_words(edge))) if edge_words else ()
        if edge.on_fold:
            first, last = bracket_bar(edge, bracket_depth(piece))
            side = (last - first).left
            yield from _between(first, last, side, (*(f"fold · {w}" for w in words), "fold"), sizes)
        elif words and edge.name is not EdgeName.DART_MOUTH:
            yield from _along(edge.curve, words, sizes)
    start, end = piece.grain
    yield from _between(start, end, (end - start).left, ("grain",), sizes)
    for mark in piece.marks:
        if mark.label:
            yield from _along(mark.curve, (one_line(mark.label),), sizes[1:], _CLEAR / 2)


def _between(
    first: Point, last: Point, side: Point, words: Sequence[str], sizes: Sequence[float]
) -> Iterator[Written]:
    """Words beside a straight line that is long enough for them."""
    found = _fitting(words, sizes, first.to(last))
    if found:
        middle = first.towards(last, 0.5)
        yield beside(middle, last - first, side, *found, _CLEAR / 2)


def _along(
    curve: Curve, words: Sequence[str], sizes: Sequence[float], gap: float = _CLEAR
) -> Iterator[Written]:
    """Words inside a curve at its middle; farther off where it bends away under them."""
    found = _fitting(words, sizes, 0.9 * curve.length)
    if found:
        t = curve.t_at_length(curve.length / 2)
        along = curve.heading(t)
        bend = max(float(curve.curvature([t])[0]), 0.0)
        away = gap + min(text_width(*found) ** 2 * bend / 8, 2.0)
        yield beside(curve.at(t), along, along.left, *found, away)


def _fitting(
    words: Sequence[str], sizes: Sequence[float], length: float
) -> tuple[str, float] | None:
    for text in words:
        for height in sizes:
            if text and text_width(text, height) < length:
                return text, height
    return None


def _taken(piece: Piece) -> Any:
    """Where lines stand that a label should not cross."""
    lines = [shapely.LineString([tuple(p) for p in piece.grain]).buffer(_CLEAR + 0.35 * HEAD)]
    for dart in piece.darts:
        ends = (dart.first, dart.tip, dart.second)
        lines.append(shapely.MultiPoint([tuple(p) for p in ends]).convex_hull.buffer(_CLEAR))
    for mark in piece.marks:
        lines.append(shapely.LineString(mark.curve.flatten(0.02)).buffer(_CLEAR))
    for edge in piece.edges:
        if edge.on_fold:
            fold = shapely.LineString([tuple(edge.curve.start), tuple(edge.curve.end)])
            lines.append(fold.buffer(bracket_depth(piece) + _CLEAR))
    lines += [shapely.Point(tuple(d.at)).buffer(DRILL + _CLEAR) for d in piece.drills]
    return shapely.union_all(lines)


# ---- label and stamp ----------------------------------------------------------------------------


def _stamp_and_label(
    piece: Piece, labels: Labels, inside: Any, free: Any
) -> tuple[tuple[Written, ...], tuple[Written, ...]]:
    """The stamp as large as leaves room for the label; a label crosses lines only if it must."""
    if inside.is_empty:
        return (), ()
    if labels.stamp is None:
        return (), _label(piece, labels, free) or _label(piece, labels, inside)
    stamp: tuple[Written, ...] = ()
    for largest in _STAMPS:
        stamp = _stamp(labels.stamp, free, inside, largest)
        if stamp:
            box = shapely.Polygon([tuple(side.start) for side in frame(stamp)]).buffer(_CLEAR / 2)
            label = _label(piece, labels, free.difference(box))
            label = label or _label(piece, labels, inside.difference(box))
            if label:
                return stamp, label
    return stamp, ()


def _stamp(words: str, free: Any, inside: Any, largest: float) -> tuple[Written, ...]:
    head, _, reason = (one_line(part) for part in words.partition(":"))
    rows = ((head or "NOT FOR CUTTING", 1.0),)
    blocks = [Block((*rows, (_short(reason), share))) for share in (0.5, 0.35)] if reason else []
    way = long_way(inside)
    for block in (*blocks, Block(rows)):
        for room, least in ((free, 0.6 * largest), (inside, 0.6 * largest)):
            found = settled(room, [block], (way,), largest)
            if found and found[0].height >= least and found[-1].height >= SMALLEST:
                return found
    return ()


def _label(piece: Piece, labels: Labels, room: Any) -> tuple[Written, ...]:
    way = long_way(piece_box(piece))
    angles = (0.0, way, readable(direction(way).left.angle))
    return settled(room, label_blocks(piece, labels), angles, _LETTERS, piece.label_at)


def piece_box(piece: Piece) -> Any:
    """The corner points of a piece, to see which way it is long."""
    return shapely.MultiPoint(piece.outline(0.05))


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
