"""Which edges of the pieces are sewn, and which are left for a fold, a hem or neatening.

Every edge of every piece is one or the other, so that an order of making can be walked over the
seams and misses none. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from drafting.pieces import Edge, EdgeName, Piece, Seam, Stretch, stretch_places
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


def sewn_runs(piece: Piece, stretch: Stretch) -> Iterator[tuple[int, float, float]]:
    """The edges a stretch runs over: the place of each in the ring, and from where to where along
    it (cm) it is sewn. Raises ``KeyError`` when there are none."""
    done = 0.0
    for place in stretch_places(piece, stretch):
        length = piece.edges[place].length
        start = max(stretch.start - done, 0.0)
        end = length if stretch.end is None else min(stretch.end - done, length)
        if end > start:
            yield place, start, end
        done += length


def union_length(runs: Iterable[tuple[float, float]]) -> float:
    """How much of a line some stretches of it cover together."""
    covered, reached = 0.0, float("-inf")
    for start, end in sorted(runs):
        covered += max(end - max(start, reached), 0.0)
        reached = max(reached, end)
    return covered


def unsewn_edges(pieces: Iterable[Piece], seams: Iterable[Seam]) -> tuple[LooseEdge, ...]:
    """The edges that no seam, or not seams enough, take up; folds and the mouths of darts are none.
    Raises ``KeyError`` when a seam speaks of an edge there is not."""
    by_code = {piece.code: piece for piece in pieces}
    taken: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for seam in seams:
        for side in (seam.first, seam.second):
            if side.piece not in by_code:
                raise KeyError(f"there is no piece {side.piece}")
            for place, start, end in sewn_runs(by_code[side.piece], side):
                taken.setdefault((side.piece, place), []).append((start, end))
    found = []
    for code, piece in by_code.items():
        for place, edge in enumerate(piece.edges):
            if edge.on_fold or edge.name is EdgeName.DART_MOUTH:
                continue
            free = edge.length - union_length(taken.get((code, place), []))
            if free > SEAM:
                found.append(LooseEdge(code, edge.name, place, free))
    return tuple(found)


def loose_edges(pieces: Iterable[Piece], seams: Iterable[Seam]) -> tuple[LooseEdge, ...]:
    """The edges that are to be sewn by their nature and that no seam, or not seams enough, take
    up. Raises ``KeyError`` when a seam speaks of an edge there is not."""
    by_code = {piece.code: piece for piece in pieces}
    return tuple(
        found
        for found in unsewn_edges(by_code.values(), seams)
        if not is_finished(by_code[found.piece].edges, found.place)
    )
