"""The order in which pieces can be put together: seams, darts and edges as a graph.

An operation sews some seams, sews one dart or finishes some edges. What it waits for follows from
the rings of the pieces: whatever meets its edges comes first. Centimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from drafting.errors import DraftError, Problem
from drafting.pieces.piece import Dart, Edge, EdgeKind, Mark, Piece, Seam, Stretch, stretch_places
from drafting.tolerances import SEAM

# ---- Which edges of the pieces are sewn, and which are left for a fold, a hem or neatening


@dataclass(frozen=True, slots=True)
class LooseEdge:
    """An edge that no seam takes up over ``length`` (cm): ``place`` is its place in the ring."""

    piece: str
    edge: EdgeKind
    place: int
    length: float


def carried_on(edges: Sequence[Edge], place: int) -> EdgeKind | None:
    """What the end of a button stand goes on, up to the front edge: hem or waist below, the
    neckline above; ``None`` for an end beside none of them, and for any other edge."""
    count = len(edges)
    ends = {k for k, edge in enumerate(edges) if "stand_end" in edge.name.traits}
    if place not in ends:
        return None
    run = [place]
    while run[0] in ends and len(run) <= count:
        run.insert(0, (run[0] - 1) % count)
    while run[-1] in ends and len(run) <= count:
        run.append((run[-1] + 1) % count)
    beside = (edges[k].name for k in (run[0], run[-1]))
    return next((name for name in beside if "goes_on" in name.traits), None)


def is_finished(edges: Sequence[Edge], place: int) -> bool:
    """Whether an edge takes no seam by its nature: a fold, a dart's mouth, one that is turned up,
    bound or neatened, or the end of a button stand that goes on such a one."""
    edge = edges[place]
    if edge.on_fold or edge.is_dart_mouth or "loose" in edge.name.traits:
        return True
    beside = carried_on(edges, place)
    return beside is not None and "loose" in beside.traits


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
            if edge.on_fold or edge.is_dart_mouth:
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


#: An edge: the code of its piece and its place in the ring.
Place = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Operation:
    """One thing to do at the machine or the iron. ``key`` names its kind; it sews ``seams``, or the
    ``dart`` of a piece (a stitched line within it, when it opens at no edge), or finishes
    ``edges``. One that ``closes`` covers what others have sewn along the same edges."""

    key: str
    seams: tuple[Seam, ...] = ()
    dart: tuple[str, Dart | Mark] | None = None
    edges: tuple[Place, ...] = ()
    closes: bool = False


class Assembly:
    """The pieces of an order by code. ``parts`` says which part each piece belongs to; ``inner``
    are the parts from the innermost out: a part is made up before it is sewn to one further in."""

    def __init__(
        self, pieces: Iterable[Piece], parts: Mapping[str, str], inner: Sequence[str]
    ) -> None:
        self.pieces = {piece.code: piece for piece in pieces}
        self._depth = {
            code: inner.index(parts[code]) if parts.get(code) in inner else len(inner)
            for code in self.pieces
        }
        self._sides: dict[Seam, tuple[frozenset[Place], frozenset[Place]]] = {}

    def sides(self, seam: Seam) -> tuple[frozenset[Place], frozenset[Place]]:
        """The edges on either side of a seam. Raises ``KeyError`` for an edge there is not."""
        if seam not in self._sides:
            first, second = (
                frozenset(
                    (side.piece, place) for place, *_ in sewn_runs(self.pieces[side.piece], side)
                )
                for side in (seam.first, seam.second)
            )
            self._sides[seam] = first, second
        return self._sides[seam]

    def places(self, operation: Operation) -> frozenset[Place]:
        """Every edge an operation touches; a dart's are those beside its mouth."""
        found = set(operation.edges)
        for seam in operation.seams:
            found.update(*self.sides(seam))
        if operation.dart is not None:
            code, dart = operation.dart
            if isinstance(dart, Dart):
                found |= self.beside((code, dart.mouth))
        return frozenset(found)

    def beside(self, place: Place) -> frozenset[Place]:
        """The edges before and after an edge, past the mouths of darts."""
        code, index = place
        edges = self.pieces[code].edges
        found = set()
        for step in (-1, 1):
            other = (index + step) % len(edges)
            while edges[other].is_dart_mouth and other != index:
                other = (other + step) % len(edges)
            found.add((code, other))
        return frozenset(found)

    def stitched(self, seams: Iterable[Seam], *names: EdgeKind) -> float:
        """How long the line of stitches of some seams is, layers counted once: along the edges
        of these names, or along all. It is measured on the inner part, or on the second side,
        which takes up the ease."""
        taken: dict[Place, list[tuple[float, float]]] = {}
        for seam in seams:
            if not names or {seam.first.edge, seam.second.edge} & set(names):
                base = self.base(seam)
                for place, start, end in sewn_runs(self.pieces[base.piece], base):
                    taken.setdefault((base.piece, place), []).append((start, end))
        return sum(union_length(runs) for runs in taken.values())

    def base(self, seam: Seam) -> Stretch:
        """The side of a seam that the other one is sewn to."""
        first, second = self._depth[seam.first.piece], self._depth[seam.second.piece]
        return seam.first if first < second else seam.second

    def unsewn(self, seams: Iterable[Seam]) -> dict[Place, float]:
        """Every edge that no seam takes up along its whole length, with the length that is left."""
        return {
            (edge.piece, edge.place): edge.length
            for edge in unsewn_edges(self.pieces.values(), seams)
        }

    # ---- what waits for what -------------------------------------------------------------------

    def waits(self, operation: Operation, other: Operation) -> bool:
        """Whether an operation can only be done once another is."""
        here, there = self.places(operation), self.places(other)
        if operation.dart is not None:
            return False
        if other.dart is not None:
            return bool(here & there)
        if operation.closes or other.closes:
            covers = here & there or self._outer(operation) & self._outer(other)
            return bool(operation.closes and not other.closes and covers)
        return (
            self._meets(operation, other, here)
            or self._made_up(operation, other)
            or self._neatened(operation, other, here)
        )

    def _meets(self, operation: Operation, other: Operation, here: frozenset[Place]) -> bool:
        """A seam of the other one runs into the operation's line, both its sides on one side of
        that line: the line is sewn across it."""
        for seam in other.seams:
            first, second = self.sides(seam)
            firsts = frozenset().union(*map(self.beside, first)) & here
            seconds = frozenset().union(*map(self.beside, second)) & here
            if firsts and seconds and not self._face_each_other(operation, firsts, seconds):
                return True
        return False

    def _face_each_other(
        self, operation: Operation, firsts: frozenset[Place], seconds: frozenset[Place]
    ) -> bool:
        """Whether an operation sews these edges to those and to nothing else, so that they lie on
        both sides of its line."""
        pairs = {frozenset(self.sides(seam)) for seam in operation.seams}
        return any(
            any(firsts <= a and seconds <= b for a in pair for b in pair - {a})
            and not any(
                frozenset().union(*pair) & frozenset().union(*other) for other in pairs - {pair}
            )
            for pair in pairs
        )

    def _made_up(self, operation: Operation, other: Operation) -> bool:
        """The other one makes up a part that the operation sews to a part further in."""
        if not operation.seams or not other.seams:
            return False
        innermost = min(self._depths(operation))
        if min(self._depths(other)) <= innermost:
            return False
        return bool(self._codes(operation) & self._codes(other))

    def _neatened(self, operation: Operation, other: Operation, here: frozenset[Place]) -> bool:
        """The other one neatens the edge of a facing that the operation shuts in or turns up."""
        if other.seams or not any(self._is_facing_edge(place) for place in other.edges):
            return False
        if not operation.seams:
            return any(self.beside(place) & here for place in other.edges)
        facings = {code for code, _ in other.edges}
        return any(
            {seam.first.piece, seam.second.piece} & facings
            and (
                (seam.first.piece == seam.second.piece and seam.first != seam.second)
                or self._depth[seam.first.piece] != self._depth[seam.second.piece]
            )
            for seam in operation.seams
        )

    def _is_facing_edge(self, place: Place) -> bool:
        return "facing" in self.pieces[place[0]].edges[place[1]].name.traits

    def _codes(self, operation: Operation) -> frozenset[str]:
        sides = (side for seam in operation.seams for side in (seam.first, seam.second))
        return frozenset(side.piece for side in sides) | {code for code, _ in operation.edges}

    def _outer(self, operation: Operation) -> frozenset[str]:
        return frozenset(code for code in self._codes(operation) if self._depth[code])

    def _depths(self, operation: Operation) -> set[int]:
        return {self._depth[code] for code in self._codes(operation)}


def in_order(operations: Sequence[Operation], assembly: Assembly) -> tuple[Operation, ...]:
    """The operations so that each comes after all it waits for, and else as they are given.

    Raises :class:`DraftError` when some wait for each other.
    """
    graph = {
        k: {j for j, other in enumerate(operations) if j != k and assembly.waits(operation, other)}
        for k, operation in enumerate(operations)
    }
    sorter = TopologicalSorter(graph)
    try:
        sorter.prepare()
    except CycleError as error:
        ring = [operations[k].key for k in error.args[1]]
        raise DraftError(
            Problem(f"these steps of making wait for each other: {', '.join(ring)}")
        ) from None
    done: list[Operation] = []
    ready: list[int] = []
    while sorter.is_active():
        ready = sorted([*ready, *sorter.get_ready()])
        first = ready.pop(0)
        done.append(operations[first])
        sorter.done(first)
    return tuple(done)
