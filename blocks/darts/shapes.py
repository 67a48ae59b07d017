"""The shape of one dart: where its stitching ends, its cap, to which side it is folded.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from blocks.bodice.waist import dart_opening
from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve
from drafting.geometry.points import Move, Point
from drafting.pieces.piece import Dart, Drill, Edge, Piece
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT

#: Darts in these seams lie across and are folded down, all others are folded towards the centre;
#: common practice.
ACROSS = (
    EdgeName.SCYE,
    EdgeName.SIDE_SEAM,
    EdgeName.CENTRE_FRONT,
    EdgeName.CENTRE_BACK,
    EdgeName.FRONT_EDGE,
)
#: At least this share of a dart's leg is stitched.
LEAST_STITCHED = 0.4


def dart_called(piece: Piece, name: str) -> Dart:
    """The dart of a name. Raises :class:`DraftError` when there is none."""
    for dart in piece.darts:
        if dart.name == name:
            return dart
    raise DraftError(
        Problem(
            f"the {piece.title.lower()} has no {name}",
            accepted=", ".join(dart.name for dart in piece.darts),
        )
    )


def tip_of(dart: Dart, start: Point, back: float) -> Point:
    """Where a dart's stitching ends: on its middle line, ``back`` from ``start`` (the apex, or a
    point near the middle line).

    Raises :class:`DraftError` when too little of the leg would be stitched.
    """
    if back <= SAME_POINT and start == dart.apex:
        return start
    middle = ((dart.first - dart.apex).unit + (dart.second - dart.apex).unit).unit
    off = start - dart.apex
    along = off.dot(middle)
    across = abs(off - middle * along)
    most = (1.0 - LEAST_STITCHED) * dart.legs[0]
    if across > back or along + back > most:
        raise DraftError(
            Problem(
                f"the {dart.name} cannot be held back by {length(back)}: its leg is "
                f"{length(dart.legs[0])}",
                accepted=span(across, max(most - along, 0.0)),
            )
        )
    return dart.apex + middle * (along + sqrt(back * back - across * across))


def cap_of(edges: Sequence[Edge], dart: Dart, *, folds_to_first: bool) -> Curve:
    """The cap of a dart's mouth, trued about the stitched legs."""
    before, after = edges[dart.mouth - 1], edges[(dart.mouth + 1) % len(edges)]
    under = -before.curve.end_heading if folds_to_first else after.curve.start_heading
    return dart_opening(dart.first, dart.second, dart.tip, under, folds_to_first=folds_to_first)


def folds_first(edges: Sequence[Edge], dart: Dart, *, centre_first: bool) -> bool:
    """Whether a dart is folded to its first foot: to the lower one when it lies across, else to the
    one on the side of the centre."""
    if edges[dart.mouth - 1].name in ACROSS:
        return dart.first.y < dart.second.y
    return centre_first


def was_folded_first(piece: Piece, dart: Dart) -> bool:
    """To which foot a dart's cap is folded now: the one whose seam, mirrored, it follows."""
    peak = _peak(piece.edges[dart.mouth].curve)
    off = {
        first: min(
            _peak(cap_of(piece.edges, replace(dart, tip=end), folds_to_first=first)).to(peak)
            for end in (dart.tip, dart.apex)
        )
        for first in (True, False)
    }
    return off[True] < off[False]


def _peak(cap: Curve) -> Point:
    middle = cap.controls[len(cap.controls) // 2]
    return Point(float(middle[0]), float(middle[1]))


def ended(piece: Piece, dart_name: str, back: float) -> Piece:
    """The piece with a dart stitched only up to ``back`` (cm) from its apex, its cap trued again.

    Raises :class:`DraftError` when too little of its leg would be stitched.
    """
    dart = dart_called(piece, dart_name)
    new = replace(dart, tip=tip_of(dart, dart.apex, back))
    edges = list(piece.edges)
    cap = cap_of(piece.edges, new, folds_to_first=was_folded_first(piece, dart))
    edges[dart.mouth] = replace(edges[dart.mouth], curve=cap)
    return replace(
        piece,
        edges=tuple(edges),
        darts=tuple(new if d is dart else d for d in piece.darts),
        drills=tuple(
            replace(drill, at=new.tip) if drill.at == dart.tip else drill for drill in piece.drills
        ),
    )


def renamed(piece: Piece, was: str, now: str) -> Piece:
    """The piece with a dart and the hole at its point called by another name."""
    dart = dart_called(piece, was)
    return replace(
        piece,
        darts=tuple(replace(d, name=now) if d is dart else d for d in piece.darts),
        drills=tuple(Drill(d.at, now) if d.at == dart.tip else d for d in piece.drills),
    )


def moved_dart(dart: Dart, move: Move) -> Dart:
    """A dart after a rigid move, its mouth in the same place of the ring."""
    return replace(
        dart,
        apex=move(dart.apex),
        tip=move(dart.tip),
        first=move(dart.first),
        second=move(dart.second),
    )
