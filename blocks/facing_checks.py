"""The checks of a front facing, measured on the pieces that are cut. Centimetres."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
from shapely.geometry import LineString, Polygon

from blocks.facing_shape import FacingShape
from blocks.front_edge import figures
from drafting.checks import Check, Verdict, within
from drafting.curves import Curve
from drafting.pieces import EdgeName, MarkKind, Piece
from drafting.points import Move
from drafting.sentences import SHORT, length
from drafting.tolerances import SAME_POINT, SEAM


def over(fold: Curve) -> Move:
    """The move that folds one side of a straight line on the other."""
    turn = Move(2.0 * (fold.end - fold.start).angle - pi, mirrored=True)
    return replace(turn, shift=fold.start - turn(fold.start))


def same(front: Piece, piece: Piece, name: EdgeName) -> Check:
    """Edges of one name on front and facing."""
    return fits(f"front facing, {name.value}", piece.length(name), front.length(name), piece)


def fits(name: str, measured: float, target: float, piece: Piece) -> Check:
    """A length of the facing against the front's."""
    return within(
        name,
        measured,
        target,
        SEAM,
        where=piece.title,
        advice="Do not cut: the facing does not fit the front.",
    )


def neck_under(neckline: Curve, shape: FacingShape) -> float:
    """The stretch of the front's neckline that the facing lies under."""
    if shape.to_shoulder:
        return neckline.length
    return neckline.length_to(neckline.nearest(shape.inner.start)[0])


def lies_under(grown: Piece) -> Check:
    """How far the facing's neck and hem, folded under along the drawn fold, lie from the front."""
    (fold,) = (m.curve for m in grown.marks if m.kind is MarkKind.FOLD)
    turn = over(fold)
    front = [grown.named(EdgeName.NECKLINE)[0].curve, *_stand_ends(grown, own=True)]
    front += [e.curve for n in (EdgeName.HEM, EdgeName.WAIST) for e in grown.named(n)[-1:]]
    off = 0.0
    for curve in (
        *(edge.curve for edge in grown.named(EdgeName.NECK_SEAM)),
        *_stand_ends(grown, own=False),
    ):
        under = curve.moved(turn)
        xy = under.xy(under.samples(5))
        off = max(off, float(np.min([edge.nearest_to(xy)[1] for edge in front], axis=0).max()))
    return within(
        "facing folded under: off the front at neck and hem",
        off,
        0.0,
        SEAM,
        where=f"{grown.title}, facing",
        advice="Do not cut: the facing does not lie under the front.",
    )


def _stand_ends(grown: Piece, *, own: bool) -> list[Curve]:
    """Lower and upper end of the button stand, or those of the facing beyond the fold."""
    ends = [edge.curve for edge in grown.named(EdgeName.BUTTON_STAND_END)]
    mine = [ends[0], ends[-1]]
    return mine if own else ends[1:-1]


def same_neck(grown: Piece, shape: FacingShape) -> Check:
    """The facing's neck edge against the stretch of the front's that it lies under."""
    stand = grown.named(EdgeName.BUTTON_STAND_END)[-1].length
    under = neck_under(grown.named(EdgeName.NECKLINE)[0].curve, shape)
    name = "facing folded under: neck edge"
    return fits(name, grown.length(EdgeName.NECK_SEAM), stand + under, grown)


def room(front: Piece, shape: FacingShape) -> list[Check]:
    """Cloth behind the neckline, and behind the buttonholes."""
    known = figures("facing")
    inner = LineString(shape.inner.flatten())
    neckline = front.edges[shape.places[-1]].curve
    checks = []
    if shape.to_shoulder:
        width = inner.distance(LineString(neckline.flatten()))
        checks.append(_noted("facing, least width at the neckline", width, "behind_neckline"))
    holes = [mark.curve for mark in front.marks if mark.kind is MarkKind.BUTTONHOLE]
    if holes:
        area = Polygon(shape.outline())
        cloth = min(
            inner.distance(LineString(hole.flatten()))
            * (1.0 if area.contains(LineString(hole.flatten())) else -1.0)
            for hole in holes
        )
        checks.append(_noted("facing beyond the buttonholes", cloth, "past_buttonhole"))
    return [
        replace(check, source=f"common practice: {length(known[key], places=SHORT)}")
        for check, key in checks
    ]


def _noted(name: str, measured: float, key: str) -> tuple[Check, str]:
    least = figures("facing")[key]
    good = measured >= least - SAME_POINT
    return (
        Check(
            name,
            measured,
            least,
            0.0,
            Verdict.PASS if good else Verdict.NOTE,
            "" if good else "Make the facing wider, or it rolls out.",
            where="front facing",
            least=True,
        ),
        key,
    )
