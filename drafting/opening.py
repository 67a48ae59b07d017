"""A piece on the fold opened out to the whole piece it is once cut."""

from __future__ import annotations

from dataclasses import replace
from math import pi

from drafting.curves import Curve
from drafting.errors import DraftError, Problem
from drafting.pieces import Dart, Mark, MarkKind, Piece
from drafting.points import Move, Point
from drafting.tolerances import SAME_POINT


def opened(piece: Piece) -> Piece:
    """A piece on the fold as the whole piece it is once cut: both halves, the fold drawn in.

    A piece without a fold comes back as it is. Raises :class:`DraftError` for a second fold.
    """
    folds = [k for k, edge in enumerate(piece.edges) if edge.on_fold]
    if not folds:
        return piece
    if len(folds) > 1:
        raise DraftError(Problem("a piece with two folds cannot be opened flat", place=piece.title))
    fold = piece.edges[folds[0]]
    count = len(piece.edges)
    half = [(folds[0] + 1 + k) % count for k in range(count - 1)]
    mirror = mirror_across(fold.curve)
    edges = [piece.edges[k] for k in half]
    edges += [
        replace(piece.edges[k], curve=piece.edges[k].curve.moved(mirror).reversed())
        for k in reversed(half)
    ]
    last = 2 * len(half) - 1
    place = {k: n for n, k in enumerate(half)}
    notches, darts, marks, drills = [], [], [], []
    for notch in piece.notches:
        if notch.edge in place:
            here = place[notch.edge]
            length = piece.edges[notch.edge].length
            notches.append(replace(notch, edge=here))
            if not _on(fold.curve, piece.notch_point(notch)):
                notches.append(replace(notch, edge=last - here, at=length - notch.at))
    for dart in piece.darts:
        here = place[dart.mouth]
        darts.append(replace(dart, mouth=here))
        darts.append(
            Dart(
                dart.name,
                mirror(dart.apex),
                mirror(dart.tip),
                mirror(dart.second),
                mirror(dart.first),
                last - here,
            )
        )
    for mark in piece.marks:
        marks.append(mark)
        if not (_on(fold.curve, mark.curve.start) and _on(fold.curve, mark.curve.end)):
            marks.append(replace(mark, curve=mark.curve.moved(mirror)))
    for drill in piece.drills:
        drills.append(drill)
        if not _on(fold.curve, drill.at):
            drills.append(replace(drill, at=mirror(drill.at)))
    marks.append(Mark(MarkKind.FOLD, fold.curve, "centre"))
    return replace(
        piece,
        edges=tuple(edges),
        darts=tuple(darts),
        notches=tuple(notches),
        marks=tuple(marks),
        drills=tuple(drills),
        cut=replace(piece.cut, on_fold=False),
    )


def mirror_across(fold: Curve) -> Move:
    """The move that lays one side of a fold on the other."""
    along = (fold.end - fold.start).angle
    turn = Move(2 * along - pi, mirrored=True)
    return replace(turn, shift=fold.start - turn(fold.start))


def _on(fold: Curve, p: Point) -> bool:
    along = (fold.end - fold.start).unit
    return abs(along.cross(p - fold.start)) < SAME_POINT
