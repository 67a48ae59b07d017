"""Pieces: edges, notches, darts and marks.

A piece is a closed ring of named edges, walked counter-clockwise with y up: its sew line. Where a
dart meets the outline the ring carries the dart's mouth: the trued cap that the cloth needs there,
so that the seam is one smooth line once the dart is folded. Mouths are not sewn to another piece
and do not count in a seam's length. Centimetres and radians throughout.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Self

import numpy as np

from drafting.geometry.curves import Curve, joined
from drafting.geometry.points import FloatArray, Move, Point
from drafting.tolerances import FLATTEN, SAME_POINT

#: What a kind of edge may be: the mouth of a dart, which is folded away; left ``loose``, to be
#: turned up, bound or neatened; the inner edge of a ``facing``; one that a ``stand_end`` goes on
#: beyond centre front; and on which piece of a body it lies.
TRAITS = frozenset(
    {"dart_mouth", "loose", "facing", "stand_end", "goes_on", "body", "back", "front"}
)


class EdgeKind(StrEnum):
    """What a garment calls its edges: the vocabulary itself lies with those who know garments
    (:class:`blocks.edges.EdgeKind`). Each kind says what the drafting table must know of it.

    ``allowance`` is the entry of a table of allowances that it takes, empty for the rest;
    ``traits`` are words of :data:`TRAITS`.
    """

    allowance: str
    traits: frozenset[str]

    def __new__(cls, value: str, allowance: str = "", traits: str = "") -> Self:
        """A kind of edge by its name."""
        kind = str.__new__(cls, value)
        kind._value_ = value
        kind.allowance = allowance
        kind.traits = frozenset(traits.split())
        assert kind.traits <= TRAITS, traits
        return kind


class NotchKind(StrEnum):
    """How a notch is cut: single on fronts and centres, double on backs (common practice)."""

    SINGLE = "single"
    DOUBLE = "double"


class MarkKind(StrEnum):
    """Lines inside a piece that are drawn, not cut."""

    CENTRE_FRONT = "centre front line"
    FOLD = "fold"
    ROLL = "roll line"
    CONSTRUCTION = "construction"
    BUTTONHOLE = "buttonhole"
    STITCH = "stitch line"


@dataclass(frozen=True, slots=True)
class Edge:
    """One named side of a piece, in ring order. ``allowance`` in centimetres, outward."""

    name: EdgeKind
    curve: Curve
    on_fold: bool = False
    allowance: float = 0.0

    @property
    def is_dart_mouth(self) -> bool:
        """Whether it is the mouth of a dart, which no seam takes up."""
        return "dart_mouth" in self.name.traits

    @property
    def length(self) -> float:
        """Length along the sew line."""
        return self.curve.length


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch on an edge: ``edge`` is its place in the ring, ``at`` the arc length from that
    edge's start. ``name`` says what it meets (``shoulder``, ``centre back``, ``scye front``)."""

    name: str
    edge: int
    at: float
    kind: NotchKind = NotchKind.SINGLE


@dataclass(frozen=True, slots=True)
class Dart:
    """A dart: its legs run from ``first`` and ``second`` (on the outline, in ring order) towards
    ``apex``, about which it folds shut; ``tip`` is where the stitching ends, held back from the
    apex. ``mouth`` is the place in the ring of its cap."""

    name: str
    apex: Point
    tip: Point
    first: Point
    second: Point
    mouth: int

    @property
    def angle(self) -> float:
        """Opening at the apex, radians."""
        a, b = self.first - self.apex, self.second - self.apex
        return abs(float(np.arctan2(a.cross(b), a.dot(b))))

    @property
    def width(self) -> float:
        """Opening at the mouth."""
        return self.first.to(self.second)

    @property
    def legs(self) -> tuple[float, float]:
        """Lengths of both legs to the apex."""
        return self.apex.to(self.first), self.apex.to(self.second)

    def closing(self) -> Move:
        """The move that lays everything beyond the second leg on the first leg."""
        turn = (self.first - self.apex).angle - (self.second - self.apex).angle
        return Move.about(self.apex, turn)


@dataclass(frozen=True, slots=True)
class Mark:
    """A line inside a piece. ``label`` may be empty."""

    kind: MarkKind
    curve: Curve
    label: str = ""


@dataclass(frozen=True, slots=True)
class Drill:
    """A drill hole: button, dart point."""

    at: Point
    label: str = ""


@dataclass(frozen=True, slots=True)
class CutPlan:
    """How many of a piece to cut from what."""

    cloth: int = 1
    interfacing: int = 0
    lining: int = 0
    on_fold: bool = False
    mirrored_pair: bool = False

    def words(self) -> str:
        """For a label: ``cut 2 on fold, interfacing 1``."""
        text = f"cut {self.cloth}"
        if self.mirrored_pair:
            text += " (a pair)"
        if self.on_fold:
            text += " on fold"
        if self.lining:
            text += f", lining {self.lining}"
        if self.interfacing:
            text += f", interfacing {self.interfacing}"
        return text


@dataclass(frozen=True, slots=True)
class Piece:
    """One pattern piece. ``code`` is short ASCII for layers and files, ``title`` for people."""

    code: str
    title: str
    edges: tuple[Edge, ...]
    cut: CutPlan
    grain: tuple[Point, Point]
    darts: tuple[Dart, ...] = ()
    notches: tuple[Notch, ...] = ()
    marks: tuple[Mark, ...] = ()
    drills: tuple[Drill, ...] = ()
    label_at: Point | None = None
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        for edge, after in zip(self.edges, self.edges[1:] + self.edges[:1], strict=True):
            gap = edge.curve.end.to(after.curve.start)
            if gap > SAME_POINT:
                raise ValueError(
                    f"{self.code}: {edge.name} ends {gap:.2e} cm from the start of {after.name}"
                )

    def named(self, name: EdgeKind) -> tuple[Edge, ...]:
        """The edges of a name, in ring order."""
        return tuple(edge for edge in self.edges if edge.name is name)

    def length(self, name: EdgeKind) -> float:
        """Sewn length of all edges of a name, darts closed (mouths do not count)."""
        return sum(edge.length for edge in self.named(name))

    def place(self, name: EdgeKind) -> int:
        """Place in the ring of the first edge of a name. Raises ``KeyError``."""
        for index, edge in enumerate(self.edges):
            if edge.name is name:
                return index
        raise KeyError(f"{self.code} has no edge called {name}")

    def seam_closed(self, name: EdgeKind) -> tuple[Curve, ...]:
        """The curves of a seam with the darts that interrupt it folded shut, end to end.

        Later stretches are moved on to the first by the closing moves of the darts between.
        """
        curves: list[Curve] = []
        closing = Move()
        for index, edge in enumerate(self.edges):
            if edge.is_dart_mouth and curves:
                dart = next((d for d in self.darts if d.mouth == index), None)
                if dart is not None:
                    closing = dart.closing().then(closing)
            elif edge.name is name:
                curves.append(edge.curve.moved(closing))
        return tuple(curves)

    def outline(self, tolerance: float = FLATTEN) -> FloatArray:
        """The sew line as a closed polyline (last point not repeated), shape (n, 2)."""
        return outline_of(self.edges, tolerance)

    def notch_point(self, notch: Notch) -> Point:
        """Where a notch stands on the sew line."""
        return self.edges[notch.edge].curve.at_length(notch.at)

    def moved(self, move: Move) -> Piece:
        """The piece after a rigid move that is not a mirroring."""
        if move.mirrored:
            raise ValueError("a mirrored piece would run clockwise; use opened() instead")
        return replace(
            self,
            edges=tuple(replace(e, curve=e.curve.moved(move)) for e in self.edges),
            darts=tuple(
                replace(
                    d,
                    apex=move(d.apex),
                    tip=move(d.tip),
                    first=move(d.first),
                    second=move(d.second),
                )
                for d in self.darts
            ),
            grain=(move(self.grain[0]), move(self.grain[1])),
            marks=tuple(replace(m, curve=m.curve.moved(move)) for m in self.marks),
            drills=tuple(replace(d, at=move(d.at)) for d in self.drills),
            label_at=None if self.label_at is None else move(self.label_at),
        )

    def with_allowances(self, widths: Mapping[EdgeKind, float], otherwise: float) -> Piece:
        """The same piece with seam allowances by edge name; folds get none."""
        return replace(
            self,
            edges=tuple(
                replace(e, allowance=0.0 if e.on_fold else widths.get(e.name, otherwise))
                for e in self.edges
            ),
        )


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of edges of one name on a piece, one side of a seam; ``index`` is one edge of that
    name when several lie apart, all of them when ``None``. Only the part from ``start`` to ``end``
    (cm along the run in ring order, darts closed) is sewn; to its end when ``end`` is ``None``."""

    piece: str
    edge: EdgeKind
    index: int | None = None
    start: float = 0.0
    end: float | None = None


@dataclass(frozen=True, slots=True)
class Seam:
    """Two stretches sewn together; ``ease`` is how much longer the first is meant to be. Where
    both are the same stretch, two cuts of one piece are sewn together: a pair, or two layers.
    Seams that share a stretch are sewn in one line, layer on layer."""

    name: str
    first: Stretch
    second: Stretch
    ease: float = 0.0


def stretch_length(pieces: Iterable[Piece], stretch: Stretch) -> float:
    """Sewn length of a stretch. Raises ``KeyError`` when there is no such piece or edge."""
    for piece in pieces:
        if piece.code == stretch.piece:
            whole = sum(piece.edges[k].length for k in stretch_places(piece, stretch))
            return (whole if stretch.end is None else stretch.end) - stretch.start
    raise KeyError(f"there is no piece {stretch.piece}")


def places_named(piece: Piece, name: EdgeKind) -> tuple[int, ...]:
    """The places in the ring of the edges of a name."""
    return tuple(k for k, edge in enumerate(piece.edges) if edge.name is name)


def stretch_places(piece: Piece, stretch: Stretch) -> tuple[int, ...]:
    """The places in the ring of the edges a stretch runs over. Raises ``KeyError`` when there are
    none."""
    places = places_named(piece, stretch.edge)
    if not places:
        raise KeyError(f"{piece.code} has no {stretch.edge}")
    if stretch.index is None:
        return places
    if not 0 <= stretch.index < len(places):
        raise KeyError(f"{piece.code} has no {stretch.edge} {stretch.index}")
    return places[stretch.index : stretch.index + 1]


def seam_mismatch(pieces: Iterable[Piece], seam: Seam) -> float:
    """First side minus second side minus the planned ease, centimetres."""
    kept = tuple(pieces)
    return stretch_length(kept, seam.first) - stretch_length(kept, seam.second) - seam.ease


def outline_of(edges: Sequence[Edge], tolerance: float = FLATTEN) -> FloatArray:
    """A ring of edges as a closed polyline (last point not repeated), shape (n, 2)."""
    return np.vstack([edge.curve.flatten(tolerance)[:-1] for edge in edges])


def ring(*edges: Edge | Sequence[Edge]) -> tuple[Edge, ...]:
    """Edges and runs of edges as one flat ring, edges of no length left out."""
    flat: list[Edge] = []
    for item in edges:
        flat.extend([item] if isinstance(item, Edge) else item)
    return tuple(edge for edge in flat if edge.length > SAME_POINT)


def one_curve(edges: Sequence[Edge]) -> Curve:
    """Edges that follow each other as a single curve."""
    return joined([edge.curve for edge in edges])
