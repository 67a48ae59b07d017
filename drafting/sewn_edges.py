"""Which edges of the pieces are sewn, and which are left for a fold, a hem or neatening.

Every edge of every piece is one or the other, so that an order of making can be walked over the
seams and misses none. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drafting.pieces import Edge, EdgeName, Piece, Seam, stretch_places
from drafting.tolerances import SEAM

#: Edges that are turned up, bound, neatened or take a piece of another pattern.
FINISHED = frozenset({EdgeName.HEM, EdgeName.WAIST, EdgeName.SCYE, EdgeName.FACING_EDGE})
#: Edges that a button stand carries on beyond centre front.
_CARRIED_ON = EdgeName.HEM, EdgeName.WAIST, EdgeName.NECKLINE


@dataclass(frozen=True, slots=True)
class LooseEdge:
    """An edge that no seam takes up over ``length`` (cm): ``place`` is its place in the ring."""

    piece: str
    edge: EdgeName
    place: int
    length: float


def carried_on(edges: Sequence[Edge], place: int) -> EdgeName | None:
    """What the end of a button stand goes on, up to the front edge: hem or waist below, the
    neckline above; ``None`` for an end beside none of them, and for any other edge."""
    count = len(edges)
    ends = {k for k, edge in enumerate(edges) if edge.name is EdgeName.BUTTON_STAND_END}
    if place not in ends:
        return None
    run = [place]
    while run[0] in ends and len(run) <= count:
        run.insert(0, (run[0] - 1) % count)
    while run[-1] in ends and len(run) <= count:
        run.append((run[-1] + 1) % count)
    beside = {edges[k].name for k in (run[0], run[-1])}
    return next((name for name in _CARRIED_ON if name in beside), None)


def is_finished(edges: Sequence[Edge], place: int) -> bool:
    """Whether an edge takes no seam by its nature: a fold, a dart's mouth, one of ``FINISHED`` or
    the end of a button stand that goes on one of them."""
    edge = edges[place]
    if edge.on_fold or edge.name is EdgeName.DART_MOUTH or edge.name in FINISHED:
        return True
    return carried_on(edges, place) in FINISHED


def loose_edges(pieces: Iterable[Piece], seams: Iterable[Seam]) -> tuple[LooseEdge, ...]:
    """The edges that are to be sewn by their nature and that no seam, or not seams enough, take
    up. Raises ``KeyError`` when a seam speaks of an edge there is not."""
    by_code = {piece.code: piece for piece in pieces}
    taken: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for seam in seams:
        for side in (seam.first, seam.second):
            if side.piece not in by_code:
                raise KeyError(f"there is no piece {side.piece}")
            piece, done = by_code[side.piece], 0.0
            for place in stretch_places(piece, side):
                edge = piece.edges[place]
                end = edge.length if side.end is None else min(side.end - done, edge.length)
                taken.setdefault((piece.code, place), []).append((max(side.start - done, 0.0), end))
                done += edge.length
    found = []
    for code, piece in by_code.items():
        for place, edge in enumerate(piece.edges):
            if is_finished(piece.edges, place):
                continue
            free, reached = 0.0, 0.0
            for start, end in sorted(taken.get((code, place), [])):
                free += max(start - reached, 0.0)
                reached = max(reached, end)
            free += max(edge.length - reached, 0.0)
            if free > SEAM:
                found.append(LooseEdge(code, edge.name, place, free))
    return tuple(found)
