"""What a piece is as a shape on cloth: its outline with allowances, half on a fold or opened out,
turned so that its grain runs along the cloth. Centimetres; x across the cloth, y along it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi
from typing import Any

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray, Move, Point
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Dart, Mark, MarkKind, Piece
from drafting.tolerances import SAME_POINT

# ---- A piece on the fold opened out to the whole piece it is once cut


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


#: Outlines on cloth keep this close to the cut line; chalk is far thicker.
_CHALK = 0.01
#: A piece that differs from its mirror image by less than this share of its area is symmetrical.
_SAME = 2e-3
#: A fold this nearly parallel to the grain may lie on the fold of the cloth.
_PARALLEL = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class ClothShape:
    """A piece for the cloth, in the coordinates of its draft.

    ``half`` is the outline, (n, 2), to lay with its fold on the cloth's fold, or ``None`` when the
    piece has no fold along its grain. ``whole`` is the piece opened out. ``upright`` turns the
    draft so that the grain runs up; ``side`` is 1 when the half then lies to the right of its fold
    and -1 when to the left. ``symmetrical`` pieces are the same turned over.
    """

    half: FloatArray | None
    whole: FloatArray
    upright: Move
    side: int
    symmetrical: bool


def cloth_shape(piece: Piece, inside: float | None = None) -> ClothShape:
    """The shape of a piece with its seam allowances, or, for interfacing, ``inside`` (cm) its sew
    line, folds excepted.

    Raises :class:`DraftError` as :func:`drafting.pieces.cutting.cut_line` does.
    """
    upright = _upright(piece)
    folds = _fold_lines(piece)
    area = cut_line(piece).polygon() if inside is None else shapely.Polygon(piece.outline())
    lies = [fold for fold in folds if _along_grain(fold, upright)]
    kept = lies[0] if lies else None
    for fold in folds:
        if fold is not kept:
            area = _opened(area, fold)
    whole = area if kept is None else _opened(area, kept)
    if inside is not None:
        whole = _largest(whole.buffer(-inside, join_style="mitre"))
        area = whole if kept is None else _largest(whole.intersection(_beside(kept, whole)))
    side = 1
    if kept is not None:
        middle = upright(Point(*area.representative_point().coords[0]))
        side = 1 if middle.x > upright(kept.start).x else -1
    turned = shapely.Polygon(upright.apply(_ring(whole)))
    return ClothShape(
        half=None if kept is None else _ring(area),
        whole=_ring(whole),
        upright=upright,
        side=side,
        symmetrical=kept is not None or _symmetrical(turned),
    )


def _upright(piece: Piece) -> Move:
    """Turns the grain up. What points up in the draft, or to the right, stays up."""
    grain = piece.grain[1] - piece.grain[0]
    if grain.y < -SAME_POINT or (abs(grain.y) <= SAME_POINT and grain.x < 0.0):
        grain = -grain
    return Move(pi / 2 - grain.angle)


def _fold_lines(piece: Piece) -> list[Curve]:
    """The folds of a piece, one for each straight line they lie on."""
    found: list[Curve] = []
    for edge in piece.edges:
        if edge.on_fold and not any(_on_line(one, edge.curve) for one in found):
            found.append(edge.curve)
    return found


def _on_line(fold: Curve, other: Curve) -> bool:
    along = (fold.end - fold.start).unit
    return all(abs(along.cross(p - fold.start)) < 1e-4 for p in (other.start, other.end))


def _along_grain(fold: Curve, upright: Move) -> bool:
    return abs(upright.step((fold.end - fold.start).unit).x) < _PARALLEL


def _opened(area: Any, fold: Curve) -> Any:
    mirror = mirror_across(fold)
    other = shapely.Polygon(mirror.apply(shapely.get_coordinates(area.exterior)))
    return _largest(shapely.union_all([area, other], grid_size=SAME_POINT))


def _beside(fold: Curve, whole: Any) -> Any:
    """All that lies on the drafted side of a fold: to its left, as outlines run."""
    along = (fold.end - fold.start).unit * (1.0 + whole.length)
    a, b = fold.start - along, fold.end + along
    return shapely.Polygon([tuple(p) for p in (a, b, b + along.left, a + along.left)])


def _largest(area: Any) -> Any:
    parts = [part for part in shapely.get_parts(area) if isinstance(part, shapely.Polygon)]
    return max(parts, key=lambda part: float(part.area), default=shapely.Polygon())


def _ring(area: Any) -> FloatArray:
    thinned = area.simplify(_CHALK)
    whole = orient(shapely.Polygon(thinned.exterior), 1.0)
    return np.asarray(shapely.get_coordinates(whole.exterior)[:-1], dtype=np.float64)


def _symmetrical(area: Any) -> bool:
    """Is an upright area its own mirror image, left for right?"""
    low, _, high, _ = area.bounds
    xy = shapely.get_coordinates(area.exterior)
    other = shapely.Polygon(np.column_stack((low + high - xy[:, 0], xy[:, 1])))
    return bool(area.symmetric_difference(other).area < _SAME * area.area)


# ---- positions ----------------------------------------------------------------------------------


def positions(
    shape: ClothShape, *, on_fold: bool = False, turned_over: bool = False, one_way: bool = False
) -> Sequence[tuple[Move, FloatArray]]:
    """How a shape may lie: moves of the draft with the outlines they make, the lower left corner
    of each outline's box at the origin.

    ``on_fold`` lays the half with its fold at the left; ``turned_over`` lays the whole face down.
    Half a turn is offered too, unless the cloth is ``one_way``.
    """
    outline = shape.half if on_fold else shape.whole
    assert outline is not None
    found = []
    for turn in (0.0,) if one_way else (0.0, pi):
        over = turned_over
        if on_fold:
            over = shape.side < 0 if turn == 0.0 else shape.side > 0
        move = shape.upright.then(Move(0.0, mirrored=over)).then(Move(turn))
        corner = move.apply(outline).min(axis=0)
        move = move.then(Move(shift=Point(-float(corner[0]), -float(corner[1]))))
        ring = move.apply(outline)
        found.append((move, ring[::-1] if over else ring))
    return found
