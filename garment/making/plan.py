"""The operations of an order: each seam, dart and loose edge given to the step that does it.

What the steps are stands in ``data/making.toml``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from blocks.edges import EdgeName
from drafting.errors import DataError, Problem
from drafting.library import read_data
from drafting.pieces.assembly import Assembly, Operation, Place
from drafting.pieces.piece import Mark, MarkKind, Piece, Seam
from garment.making.facts import Facts, foot_of, second_layers

_T = TypeVar("_T")
DOES = "first", "last", "dart", "double dart", "seam", "edge"


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of a step, and what must hold for it to be said."""

    said: str
    when: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SeamsOf:
    """Which seams a step sews: by both sides (part, piece code or ``*``) and by names of edges,
    any when there are none."""

    joins: tuple[str, str]
    edges: frozenset[str]

    def fits(self, seam: Seam, facts: Facts) -> bool:
        """Whether a seam is of these."""
        if self.edges and not self.edges & {seam.first.edge.value, seam.second.edge.value}:
            return False
        sides = seam.first.piece, seam.second.piece
        return any(
            all(
                want in ("*", code, facts.part(code))
                for want, code in zip(self.joins, pair, strict=True)
            )
            for pair in (sides, sides[::-1])
        )


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of operation, as the data has it."""

    key: str
    does: str
    part: str
    said: tuple[Sentence, ...]
    when: tuple[str, ...]
    seams: tuple[SeamsOf, ...]
    of: tuple[str, ...]
    edges: frozenset[str]
    layer: bool
    closes: bool


@cache
def kinds() -> tuple[Kind, ...]:
    """Every kind of operation, in the order of the data. Raises :class:`DataError`."""
    return tuple(_kind(row) for row in read_data("making").values["step"])


def _kind(row: Mapping[str, Any]) -> Kind:
    if row["does"] not in DOES:
        raise DataError(
            Problem(
                "no such kind of step",
                place="making.toml",
                key=row["key"],
                got=str(row["does"]),
                accepted=", ".join(DOES),
            )
        )
    return Kind(
        key=row["key"],
        does=row["does"],
        part=row["part"],
        said=tuple(
            Sentence(s) if isinstance(s, str) else Sentence(s["said"], tuple(s["when"]))
            for s in row["said"]
        ),
        when=tuple(row.get("when", ())),
        seams=tuple(
            SeamsOf((s["joins"][0], s["joins"][1]), frozenset(s["edges"]))
            for s in row.get("seams", ())
        ),
        of=tuple(row.get("of", ())),
        edges=frozenset(row.get("edges", ())),
        layer=bool(row.get("layer", False)),
        closes=bool(row.get("closes", False)),
    )


def holds(when: Iterable[str], true: frozenset[str]) -> bool:
    """Whether all that is asked for is true; ``not ...`` asks that it is not."""
    return all(
        word.removeprefix("not ") not in true if word.startswith("not ") else word in true
        for word in when
    )


def plan(facts: Facts) -> tuple[tuple[Kind, Operation], ...]:
    """Every operation with its kind, in the order of the data: each seam, dart and loose edge goes
    to the first kind that fits it."""
    there = [kind for kind in kinds() if holds(kind.when, facts.true)]
    seams = _given(
        facts.order.seams,
        lambda seam, kind: any(of.fits(seam, facts) for of in kind.seams),
        there,
    )
    edges = _given(
        facts.assembly.unsewn(facts.order.seams),
        lambda place, kind: _finishes(kind, place, facts),
        there,
    )
    return tuple(
        (kind, operation)
        for kind in there
        for operation in _operations(kind, facts, seams[kind.key], edges[kind.key])
    )


def _given(
    things: Iterable[_T], fits: Callable[[_T, Kind], bool], there: Iterable[Kind]
) -> dict[str, list[_T]]:
    given: dict[str, list[_T]] = {kind.key: [] for kind in there}
    for thing in things:
        kind = next((kind for kind in there if fits(thing, kind)), None)
        if kind is not None:
            given[kind.key].append(thing)
    return given


def _finishes(kind: Kind, place: Place, facts: Facts) -> bool:
    code, index = place
    if not {code, facts.part(code)} & set(kind.of):
        return False
    return foot_of(facts.assembly.pieces[code], index) in kind.edges


def _operations(
    kind: Kind, facts: Facts, seams: list[Seam], edges: list[Place]
) -> Iterator[Operation]:
    if kind.does in ("first", "last"):
        yield Operation(kind.key, edges=tuple(edges))
        return
    if kind.does in ("dart", "double dart"):
        for piece in facts.assembly.pieces.values():
            darts = piece.darts if kind.does == "dart" else double_darts(piece.marks)
            yield from (Operation(kind.key, dart=(piece.code, dart)) for dart in darts)
        return
    if kind.layer:
        edges = [
            *edges,
            *(
                (piece.code, place)
                for piece in second_layers(facts.order)
                for place, edge in enumerate(piece.edges)
                if edge.name is EdgeName.NECK_SEAM
            ),
        ]
    if seams or edges:
        yield Operation(kind.key, tuple(seams), None, tuple(edges), kind.closes)


def double_darts(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """The darts that open at no edge: stitched lines that come round to where they began."""
    return tuple(
        mark
        for mark in marks
        if mark.kind is MarkKind.STITCH and mark.curve.start.to(mark.curve.end) < 1e-6
    )


def assembly_of(pieces: Iterable[Piece]) -> Assembly:
    """The pieces of an order as a graph."""
    inner = read_data("making").values["parts"]["inner"]
    return Assembly(pieces, parts(), inner)


@cache
def parts() -> Mapping[str, str]:
    """The part of every piece code."""
    table = read_data("making").values["parts"]
    return {code: part for part in table["inner"] for code in table[part]}
