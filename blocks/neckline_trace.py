"""The neckline of a piece as it is sewn: its darts folded, walked from the shoulder to the centre.

Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from drafting.curves import Curve, angle_between, joined
from drafting.errors import DraftError, Problem
from drafting.pieces import Edge, EdgeName, Piece
from drafting.points import Move, Point
from drafting.tolerances import SAME_POINT


@dataclass(frozen=True, slots=True, eq=False)
class SewnNeckline:
    """One piece's neckline with its darts folded, walked from the shoulder to the centre and on to
    the front edge. ``side`` is +1 when the cloth lies to the right of that walk, -1 when left.

    ``neck`` is the neckline, ``top`` the end of a button stand beyond it, ``down`` the edge from
    there downwards, ``out`` the direction of the shoulder outwards and ``shoulder`` its length.
    """

    piece: Piece
    side: float
    neck: Curve
    top: Curve | None
    down: Curve
    down_edge: Edge
    out: Point
    shoulder: float

    @property
    def path(self) -> Curve:
        """Neckline and button stand end in one."""
        return self.neck if self.top is None else joined([self.neck, self.top])

    @property
    def inward(self) -> Point:
        """Square to the shoulder, into the cloth (one centimetre)."""
        return self.out.left if self.side > 0.0 else self.out.right

    @property
    def at_shoulder(self) -> float:
        """Angle of the cloth between neckline and shoulder."""
        return abs(angle_between(self.out, self.neck.start_heading))


def sewn_neckline(piece: Piece) -> SewnNeckline:
    """The sewn neckline of a back or front piece.

    Raises :class:`DraftError` when it is no plain one: broken by something other than a dart, or
    running into a lapel.
    """
    neck = [k for k, edge in enumerate(piece.edges) if edge.name is EdgeName.NECKLINE]
    count = len(piece.edges)
    if not neck:
        raise _no_plain(piece, "it has no neckline")
    run = piece.edges[neck[0] : neck[-1] + 1]
    if any(edge.name not in (EdgeName.NECKLINE, EdgeName.DART_MOUTH) for edge in run):
        raise _no_plain(piece, "something other than a dart breaks its neckline")
    curve = joined(_meeting(piece, piece.seam_closed(EdgeName.NECKLINE)))
    folded = _folds(piece, neck[0], neck[-1])  # lays what comes after the neckline on it
    before, after = piece.edges[neck[0] - 1], piece.edges[(neck[-1] + 1) % count]
    if before.name is EdgeName.SHOULDER:  # a back: the shoulder comes first, then the centre
        home = folded.back  # the centre stays where it is on the piece
        neckline, out = curve.moved(home), home.step(-before.curve.end_heading)
        top, down, edge = None, after.curve, after
        places = [neck[-1] + 1]
        side, step = -1.0, 1
    elif after.name is EdgeName.SHOULDER:
        neckline, out = curve.reversed(), folded.step(after.curve.start_heading)
        top, at = None, neck[0] - 1
        if before.name is EdgeName.BUTTON_STAND_END:
            top, at = before.curve.reversed(), neck[0] - 2
        edge, places = piece.edges[at], [at]
        down, side, step = edge.curve.reversed(), 1.0, -1
    else:
        raise _no_plain(piece, "its neckline does not meet the shoulder")
    if edge.name not in (EdgeName.CENTRE_BACK, EdgeName.CENTRE_FRONT, EdgeName.FRONT_EDGE):
        raise _no_plain(piece, f"its neckline runs into the {edge.name}")
    following = piece.edges[(places[-1] + step) % count]
    if following.name is edge.name and not edge.on_fold:  # a centre back in two straight lines
        more = following.curve if step > 0 else following.curve.reversed()
        down = joined([down, more])
    return SewnNeckline(
        piece, side, neckline, top, down, edge, out, piece.length(EdgeName.SHOULDER)
    )


def _folds(piece: Piece, first: int, last: int) -> Move:
    """The move that folds the darts between two edges of the ring."""
    closing = Move()
    for index in range(first, last + 1):
        dart = next((d for d in piece.darts if d.mouth == index), None)
        if dart is not None:
            closing = dart.closing().then(closing)
    return closing


def _meeting(piece: Piece, curves: Sequence[Curve]) -> Sequence[Curve]:
    for one, other in pairwise(curves):
        if one.end.to(other.start) > SAME_POINT:
            raise _no_plain(piece, "its neckline stays open where a dart should close it")
    return curves


def _no_plain(piece: Piece, why: str) -> DraftError:
    return DraftError(
        Problem(
            f"no facing can be traced on the {piece.title.lower()}: {why}",
            key="neckline.facing",
            accepted="a plain neckline between the shoulder and the centre or front edge",
            advice="Leave the facing out, or draft the piece without that collar.",
        )
    )
