"""Turning a dart into another seam: cut from its apex to the new place, fold the old one shut.

The part of the piece between cut and dart turns about the apex; the part with the centre and the
grain stays. Every seam keeps its length, every opening its angle. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, sin
from typing import Any

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from blocks.darts.shapes import cap_of, dart_called, folds_first, moved_dart, tip_of
from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, joined, line
from drafting.geometry.points import Move, Point, array
from drafting.pieces.piece import Dart, Drill, Edge, Notch, Piece
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT, SMOOTH

# ---- Stretches of a piece's ring that remember where they came from, so that notches and darts
# find their places again when the ring is cut and joined. Centimetres

#: Two straight edges whose headings differ by less are one straight line.
_STRAIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class Part:
    """An edge and the stretches of old edges it is made of: for each the old place in the ring and
    the arc length at which it starts there."""

    edge: Edge
    holds: tuple[tuple[int, float], ...]
    lengths: tuple[float, ...] = ()

    @staticmethod
    def whole(edge: Edge, place: int) -> Part:
        """A whole old edge."""
        return Part(edge, ((place, 0.0),), (edge.length,))

    @property
    def key(self) -> tuple[int, float]:
        """The first stretch."""
        return self.holds[0]

    def split(self, at: float) -> tuple[Part, Part]:
        """The two stretches of a whole old edge that meet at an arc length."""
        place = self.key[0]
        one, two = self.edge.curve.split_at_length(at)
        return (
            Part(replace(self.edge, curve=one), ((place, 0.0),), (at,)),
            Part(replace(self.edge, curve=two), ((place, at),), (self.edge.length - at,)),
        )

    def moved(self, move: Move) -> Part:
        """The part after a rigid move."""
        return replace(self, edge=replace(self.edge, curve=self.edge.curve.moved(move)))


def joined_parts(parts: Sequence[Part], at: int, watched: int) -> tuple[list[Part], int]:
    """The ring with the part at ``at`` joined to the one before it when both are of one name and
    run on smoothly; and the new place of the part ``watched``."""
    ring = list(parts)
    after = at % len(ring)
    one, two = ring[after - 1], ring[after]
    turn = angle_between(one.edge.curve.end_heading, two.edge.curve.start_heading)
    alike = one.edge == replace(two.edge, curve=one.edge.curve)
    if not alike or one.edge.name is EdgeName.DART_MOUTH or abs(turn) > SMOOTH:
        return ring, watched
    curve = one_line(one.edge.curve, two.edge.curve)
    ring[after - 1] = Part(
        replace(one.edge, curve=curve), one.holds + two.holds, one.lengths + two.lengths
    )
    del ring[after]
    return ring, watched - 1 if watched > after else watched


def one_line(one: Curve, two: Curve) -> Curve:
    """Two curves that meet as one; two straight ones in one direction as one straight line."""
    both = one.degree == two.degree == 1 and len(one.controls) == len(two.controls) == 2
    if both and abs(angle_between(one.end_heading, two.start_heading)) < _STRAIGHT:
        return line(one.start, two.end)
    return joined((one, two))


def notches_on(parts: Sequence[Part], notches: Sequence[Notch]) -> tuple[Notch, ...]:
    """The notches at the same distance along their seams. Those on a mouth that is shut go."""
    done = []
    for notch in notches:
        found = _found(parts, notch)
        if found is not None:
            done.append(replace(notch, edge=found[0], at=found[1]))
    return tuple(done)


def _found(parts: Sequence[Part], notch: Notch) -> tuple[int, float] | None:
    for place, part in enumerate(parts):
        done = 0.0
        for (old, start), long in zip(part.holds, part.lengths, strict=True):
            within = start - SAME_POINT <= notch.at <= start + long + SAME_POINT
            if old == notch.edge and within:
                return place, min(max(done + notch.at - start, 0.0), part.edge.length)
            done += long
    return None


# ---- The cut along which a dart is moved, and the two parts of the piece on either side of it

#: Edges that keep their place on the table: the other part is the one that turns.
CENTRES = (EdgeName.CENTRE_FRONT, EdgeName.CENTRE_BACK, EdgeName.FRONT_EDGE)
#: A grain line keeps this far from a cut that would cross it.
GRAIN_CLEAR = 1.0
#: Flattened curves and cloth are compared with this slack.
SLACK = 0.01


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut from a dart's apex along ``path`` to the edge at ``place`` in the ring: to its arc
    length ``split`` or, when it leads ``into`` another dart, to that dart's mouth."""

    dart: Dart
    place: int
    path: tuple[Point, ...]
    split: float = 0.0
    into: Dart | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Sector:
    """One side of a cut: its part of the ring, and its cloth as a shapely polygon."""

    parts: tuple[Part, ...]
    cloth: Any

    @property
    def has_centre(self) -> bool:
        """Whether some of the centre lies on it."""
        return any(part.edge.name in CENTRES for part in self.parts)

    def has(self, p: Point) -> bool:
        """Whether a point lies in its cloth."""
        return bool(self.cloth.contains(Spot(*p)))

    def holds(self, curve: Curve) -> bool:
        """Whether a drawn line lies wholly in its cloth."""
        drawn = LineString(curve.flatten())
        inside = drawn.intersection(self.cloth.buffer(SLACK)).length
        return bool(inside > drawn.length - SLACK)


def sectors(piece: Piece, cut: Cut) -> tuple[Sector, Sector]:
    """The sector from the dart's second foot on to the cut, and the one from there to its first.

    Raises :class:`DraftError` when the cut would leave the cloth, or cross a dart or a drawn line.
    """
    count = len(piece.edges)
    runs: tuple[list[Part], list[Part]] = ([], [])
    passed = False
    for k in range(cut.dart.mouth + 1, cut.dart.mouth + count):
        edge = piece.edges[k % count]
        if k % count != cut.place:
            runs[passed].append(Part.whole(edge, k % count))
            continue
        passed = True
        if cut.into is None:
            for run, part in zip(runs, Part.whole(edge, cut.place).split(cut.split), strict=True):
                run.append(part)
    inner = cut.path[:-1]
    both = (
        Sector(tuple(runs[0]), _cloth(runs[0], inner[::-1])),
        Sector(tuple(runs[1]), _cloth(runs[1], inner)),
    )
    _check(piece, cut, both)
    return both


def _cloth(run: Sequence[Part], back: Sequence[Point]) -> Any:
    curves = [part.edge.curve for part in run]
    ring = np.vstack([curve.flatten()[:-1] for curve in curves] + [curves[-1].controls[-1:]])
    return Polygon(np.vstack((ring, array(back))))


def first_turns(piece: Piece, both: tuple[Sector, Sector]) -> bool:
    """Whether the first sector is the one that turns: the other holds the centre or, when the
    centre itself is cut, the foot of the grain line."""
    first, second = both
    if first.has_centre != second.has_centre:
        return second.has_centre
    foot = Spot(*piece.grain[0])
    return bool(second.cloth.distance(foot) <= first.cloth.distance(foot))


def _check(piece: Piece, cut: Cut, both: tuple[Sector, Sector]) -> None:
    path = LineString([tuple(p) for p in cut.path])
    cloth = Polygon(piece.outline()).buffer(SLACK)
    wedge = Polygon([tuple(p) for p in (cut.dart.first, cut.dart.apex, cut.dart.second)])
    problems = []
    if not cloth.covers(path) or path.intersection(wedge).length > SLACK:
        problems.append("would leave the cloth")
    elif not all(sector.cloth.is_valid for sector in both):
        problems.append("would not part the piece in two")
    else:
        problems += [
            f"would cross the {mark.label or mark.kind.value}"
            for mark in piece.marks
            if not any(sector.holds(mark.curve) for sector in both)
        ]
    problems += [f"would cross the {dart.name}" for dart in piece.darts if crosses(cut, dart, path)]
    if problems:
        raise DraftError(
            [
                Problem(
                    f"the cut from the point of the {cut.dart.name} to its new place {said}",
                    advice="Choose another place for it.",
                )
                for said in problems
            ]
        )


def crosses(cut: Cut, dart: Dart, path: Any) -> bool:
    """Whether the cut would cross the stitched part of another dart."""
    if dart is cut.dart or dart is cut.into:
        return False
    return bool(path.intersects(Polygon([tuple(p) for p in (dart.first, dart.tip, dart.second)])))


def grain_in(
    grain: tuple[Point, Point], sector: Sector, path: Sequence[Point]
) -> tuple[Point, Point]:
    """A grain line cut back to what lies in the cloth of a sector, clear of the cut."""
    drawn = LineString([tuple(p) for p in grain])
    if sector.cloth.buffer(SLACK).covers(drawn):
        return grain
    clear = LineString([tuple(p) for p in path]).buffer(GRAIN_CLEAR)
    left = drawn.intersection(sector.cloth).difference(clear)
    runs = [run for run in getattr(left, "geoms", [left]) if run.length > 0.0]
    if not runs:
        return grain
    (ax, ay), (bx, by) = max(runs, key=lambda run: float(run.length)).coords
    return Point(ax, ay), Point(bx, by)


def pivoted(
    piece: Piece,
    dart_name: str,
    edge: EdgeName,
    at: float,
    share: float = 1.0,
    *,
    name: str = "",
    held_back: float = 2.0,
) -> Piece:
    """The piece with a share of a dart's opening turned to another place.

    ``at`` (cm) is that place along the sewn seam of an edge name, in ring order, mouths not
    counted. The new dart is called ``name`` (the old name when empty; where a share of the old dart
    stays, another name is needed) and ends ``held_back`` before the apex on its middle line. Where
    a dart is wholly shut its seam is one edge again, if it runs on smoothly.

    Raises :class:`DraftError` when the cut leaves the piece or crosses a dart or a drawn line, or
    when the outline would cross itself.
    """
    dart = dart_called(piece, dart_name)
    place, along = seam_place(piece, edge, at)
    foot = piece.edges[place].curve.at_length(along)
    cut = Cut(dart, place, (dart.apex, foot), split=along)
    return _turned(piece, cut, share, name or dart_name, held_back)


def merged(
    piece: Piece,
    dart_name: str,
    into: str,
    share: float = 1.0,
    *,
    name: str = "",
    held_back: float = 2.0,
) -> Piece:
    """The piece with a share of a dart's opening turned into the mouth of the dart ``into``.

    Both become one dart, its angle the sum of theirs. It folds about the one point from which it
    lays the seam where both folds laid it (between the two apexes, nearer to the wider dart's), so
    that the seam stays smooth and the legs equal. It ends ``held_back`` from the apex of the first.
    Raises like :func:`pivoted`.
    """
    dart, other = dart_called(piece, dart_name), dart_called(piece, into)
    cut = Cut(dart, other.mouth, (dart.apex, other.apex, other.first), into=other)
    return _turned(piece, cut, share, name or dart_name, held_back)


def seam_place(piece: Piece, name: EdgeName, at: float) -> tuple[int, float]:
    """Place in the ring, and arc length on that edge, of a place along a sewn seam.

    Raises :class:`DraftError` when there is no such seam, or the place is its end or a dart's foot.
    """
    done = 0.0
    for index, edge in enumerate(piece.edges):
        if edge.name is name:
            along = at - done
            if SAME_POINT < along < edge.length - SAME_POINT:
                return index, along
            done += edge.length
    if done == 0.0:
        raise DraftError(Problem(f"the {piece.title.lower()} has no {name}"))
    raise DraftError(
        Problem(
            f"a dart cannot open at an end of the {name}, nor where another dart opens",
            got=length(at, places=2),
            accepted=span(0.0, done, places=2),
        )
    )


def _turned(piece: Piece, cut: Cut, share: float, name: str, held_back: float) -> Piece:
    dart, whole = cut.dart, share == 1.0
    if not 0.0 < share <= 1.0 or (not whole and name == dart.name):
        raise ValueError("a share above 0 and up to 1, and two names for two darts")
    if any(d.name == name for d in piece.darts if d is not dart and d is not cut.into):
        raise ValueError(f"there is a {name} already")
    if abs(dart.legs[0] - dart.legs[1]) > SAME_POINT:
        raise DraftError(Problem(f"the legs of the {dart.name} differ: it cannot be folded shut"))
    both = sectors(piece, cut)
    first = first_turns(piece, both)
    turning, staying = both if first else both[::-1]
    fold = share * angle_between(dart.second - dart.apex, dart.first - dart.apex)
    move = Move.about(dart.apex, fold if first else -fold)
    here, there = (move, Move()) if first else (Move(), move)

    new = _new_dart(cut, name, here, there, move if first else move.back)
    new = replace(new, tip=tip_of(new, dart.apex, held_back))
    rest = replace(dart, first=there(dart.first), second=here(dart.second))

    parts, opening, shut = _opened(piece, cut, turning, move, whole=whole)
    if whole:
        parts, opening = joined_parts(parts, shut, opening)
    edges = [part.edge for part in parts]
    new = _capped(edges, replace(new, mouth=opening), centre_first=not first)
    darts: list[Dart] = []
    for old in piece.darts:
        if old is dart:
            if not whole:
                rest = replace(rest, mouth=shut)
                rest = replace(rest, tip=tip_of(rest, rest.apex, dart.apex.to(dart.tip)))
                darts.append(_capped(edges, rest, centre_first=first))
            darts.append(new)
        elif old is not cut.into:
            place = next(k for k, part in enumerate(parts) if (old.mouth, 0.0) in part.holds)
            goes = any((old.mouth, 0.0) in part.holds for part in turning.parts)
            darts.append(replace(moved_dart(old, move) if goes else old, mouth=place))
    done = replace(
        piece,
        edges=tuple(edges),
        darts=tuple(darts),
        notches=notches_on(parts, piece.notches),
        drills=_drills(piece, cut, darts, new, turning, move),
        marks=tuple(
            replace(mark, curve=mark.curve.moved(move)) if turning.holds(mark.curve) else mark
            for mark in piece.marks
        ),
        grain=grain_in(piece.grain, staying, cut.path),
        label_at=None if piece.label_at is None else _carried(piece.label_at, turning, move),
    )
    if not Polygon(done.outline()).is_valid:
        raise DraftError(
            Problem(
                f"with the {dart.name} turned there, the outline of the {piece.title.lower()} "
                "would cross itself",
                advice="Choose another place for it.",
            )
        )
    return _unfolded(done, piece.edges[cut.place])


def _new_dart(cut: Cut, name: str, here: Move, there: Move, fold: Move) -> Dart:
    """The dart that opens at the cut when ``fold`` has been made; it closes by that fold and, when
    it leads into another dart, by that one's as well."""
    low, high = cut.path[-1], cut.path[-1] if cut.into is None else cut.into.second
    apex = cut.dart.apex
    if cut.into is not None:
        first = here != Move()
        closing = cut.into.closing()
        closing = closing.then(fold) if first else fold.then(closing)
        apex = _fixed_point(closing)
    return Dart(name, apex, apex, here(low), there(high), 0)


def _fixed_point(move: Move) -> Point:
    """The point that a turn leaves in its place."""
    c, s = 1.0 - cos(move.angle), sin(move.angle)
    x, y = move.shift
    return Point((c * x - s * y) / (c * c + s * s), (s * x + c * y) / (c * c + s * s))


def _opened(
    piece: Piece, cut: Cut, turning: Sector, move: Move, *, whole: bool
) -> tuple[list[Part], int, int]:
    """The new ring; the place in it of the new mouth, and of the old one or, when that is wholly
    shut, of the part after it."""
    goes = {part.key for part in turning.parts}
    parts: list[Part] = []
    opening = shut = 0
    for k, edge in enumerate(piece.edges):
        own = Part.whole(edge, k)
        if k == cut.place:
            halves = own.split(cut.split) if cut.into is None else ()
            parts += [part.moved(move) if part.key in goes else part for part in halves[:1]]
            opening = len(parts)
            parts.append(Part(replace(edge, name=EdgeName.DART_MOUTH, on_fold=False), ()))
            parts += [part.moved(move) if part.key in goes else part for part in halves[1:]]
        elif k == cut.dart.mouth:
            shut = len(parts)
            parts += [] if whole else [own]
        else:
            parts.append(own.moved(move) if own.key in goes else own)
    return parts, opening, shut


def _capped(edges: list[Edge], dart: Dart, *, centre_first: bool) -> Dart:
    """Puts the dart's trued cap into the ring; returns the dart."""
    folds = folds_first(edges, dart, centre_first=centre_first)
    cap = cap_of(edges, dart, folds_to_first=folds)
    edges[dart.mouth] = replace(edges[dart.mouth], curve=cap)
    return dart


def _drills(
    piece: Piece, cut: Cut, darts: Sequence[Dart], new: Dart, turning: Sector, move: Move
) -> tuple[Drill, ...]:
    """Holes at the points of darts go with them, others with the cloth they are in."""
    now = {dart.name: dart for dart in darts}
    done: list[Drill] = []
    for drill in piece.drills:
        owner = next((d for d in piece.darts if d.tip.to(drill.at) < SAME_POINT), None)
        if owner is None:
            done.append(replace(drill, at=_carried(drill.at, turning, move)))
        elif owner is cut.dart:
            if new.name != owner.name and owner.name in now:
                done.append(Drill(now[owner.name].tip, drill.label))
            done.append(Drill(new.tip, new.name))
        elif owner is not cut.into:
            done.append(replace(drill, at=now[owner.name].tip))
    return tuple(done)


def _carried(p: Point, turning: Sector, move: Move) -> Point:
    return move(p) if turning.has(p) else p


def _unfolded(piece: Piece, cut_edge: Edge) -> Piece:
    """A centre that was cut lies on no fold any more: the piece is cut as a pair."""
    if not cut_edge.on_fold:
        return piece
    cut = piece.cut
    return replace(
        piece,
        edges=tuple(
            replace(e, on_fold=False) if e.name is cut_edge.name else e for e in piece.edges
        ),
        cut=replace(
            cut,
            cloth=2 * cut.cloth,
            interfacing=2 * cut.interfacing,
            lining=2 * cut.lining,
            on_fold=False,
            mirrored_pair=True,
        ),
    )
