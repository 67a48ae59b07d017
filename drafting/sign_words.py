"""Words beside the lines of a piece: ``fold``, ``grain``, names of marks, lengths of edges. Each
stands where it crosses nothing; where there is no such place it is left out. Centimetres, y up."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import shapely

from drafting.curves import Curve, line
from drafting.lettering import SMALLEST, Written, beside, one_line, text_width
from drafting.pieces import Edge, EdgeName, Piece
from drafting.signs import DRILL, bracket_bar, bracket_depth, thickness

#: Words to write along an edge, from the fullest to the shortest; the first that fits is taken.
EdgeWords = Callable[[Edge], tuple[str, ...]]

#: Letter heights, the largest that fits; the first only on pieces wider than ``_NARROW``.
_SIZES = (0.45, 0.32, 0.25, SMALLEST)
_NARROW = 8.0
#: Where along a line words may stand, the likeliest first.
_PLACES = (0.5, 0.36, 0.64, 0.22, 0.78)
#: Words keep this far from the line they belong to, and at least ``_HAIR`` from any other.
_GAP, _HAIR = 0.15, 0.06


def sign_words(piece: Piece, area: Any, edge_words: EdgeWords | None = None) -> tuple[Written, ...]:
    """All words beside lines; ``area`` is the inside of the sew line as a shapely area."""
    lines = shapely.union_all([shape.buffer(_HAIR) for shape in sign_shapes(piece)])
    room = area.buffer(-_HAIR).difference(lines)
    shapely.prepare(room)
    found: list[Written] = []
    for choices in _wishes(piece, edge_words):
        for words in choices:
            box = words.box
            if room.contains(box) and not any(box.intersects(other.box) for other in found):
                found.append(words)
                break
    return tuple(found)


def sign_shapes(piece: Piece) -> Iterator[Any]:
    """The lines inside a piece, as shapely shapes."""
    yield shapely.LineString([tuple(p) for p in piece.grain])
    for dart in piece.darts:
        yield shapely.LineString([tuple(p) for p in (dart.first, dart.tip, dart.second)])
    for mark in piece.marks:
        yield shapely.LineString(mark.curve.flatten(0.02))
    for edge in piece.edges:
        if edge.on_fold:
            yield shapely.LineString([tuple(p) for p in bracket_bar(edge, bracket_depth(piece))])
    for drill in piece.drills:
        yield shapely.Point(tuple(drill.at)).buffer(DRILL)


def _wishes(piece: Piece, edge_words: EdgeWords | None) -> Iterator[Iterator[Written]]:
    """For each line in turn, the words and places it would like, the best first."""
    sizes = _SIZES if thickness(piece) > _NARROW else _SIZES[1:]
    named = [
        (edge, tuple(map(one_line, edge_words(edge))) if edge_words else ()) for edge in piece.edges
    ]
    for edge, words in named:
        if edge.on_fold:
            bar = bracket_bar(edge, bracket_depth(piece))
            fold = (*(f"fold · {text}" for text in words), "fold")
            yield _along(line(*bar), fold, sizes, (1.0,), _GAP)
    yield _along(line(*piece.grain), ("grain",), sizes, (1.0, -1.0), _GAP)
    for mark in piece.marks:
        if mark.label:
            yield _along(mark.curve, (one_line(mark.label),), _SIZES[1:], (1.0, -1.0), _GAP)
    for edge, words in named:
        if words and not edge.on_fold and edge.name is not EdgeName.DART_MOUTH:
            yield _along(edge.curve, words, sizes, (1.0,), 2 * _GAP)


def _along(
    curve: Curve,
    words: Sequence[str],
    sizes: Sequence[float],
    sides: Sequence[float],
    gap: float,
) -> Iterator[Written]:
    """Words along a curve, to its left (1) or right (-1); farther off where it bends away."""
    length = curve.length
    for text in filter(None, words):
        for height in sizes:
            if text_width(text, height) > length:
                continue
            for place in _PLACES:
                t = curve.t_at_length(place * length)
                along = curve.heading(t)
                for side in sides:
                    bend = max(side * float(curve.curvature([t])[0]), 0.0)
                    away = gap + min(text_width(text, height) ** 2 * bend / 8, 2.0)
                    out = along.left * side
                    yield beside(curve.at(t), along, out, text, height, away)
