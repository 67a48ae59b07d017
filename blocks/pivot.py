"""Turning a dart into another seam: cut from its apex to the new place, fold the old one shut.

The part of the piece between cut and dart turns about the apex; the part with the centre and the
grain stays. Every seam keeps its length, every opening its angle. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import cos, sin

from shapely.geometry import Polygon

from blocks.dart_cut import Cut, Sector, first_turns, grain_in, sectors
from blocks.dart_shapes import cap_of, dart_called, folds_first, moved_dart, tip_of
from blocks.ring_parts import Part, joined_parts, notches_on
from drafting.curves import angle_between
from drafting.errors import DraftError, Problem
from drafting.pieces import Dart, Drill, Edge, EdgeName, Piece
from drafting.points import Move, Point
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT


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
