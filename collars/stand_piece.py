"""A drawn stand made up into a piece: edges, notches, button, grain. Centimetres."""

from __future__ import annotations

from collars.stand import Stand
from drafting.curves import Curve, corner, joined, line
from drafting.pieces import (
    CutPlan,
    Drill,
    Edge,
    EdgeName,
    Mark,
    MarkKind,
    Notch,
    Piece,
    ring,
)
from drafting.points import Point
from drafting.tolerances import SAME_POINT

#: Handles of a cubic that draws a quarter circle, as a share of the way to its corner.
QUARTER = 4 / 3 * (2**0.5 - 1)
#: A button needs a button stand of half its own width and a little more; common practice.
BUTTON_NEEDS = 0.8


def stand_piece(
    stand: Stand,
    cut: CutPlan,
    *,
    code: str = "STAND",
    title: str = "Collar stand",
    setback: float = 0.0,
    top_name: EdgeName = EdgeName.STAND_SEAM,
) -> Piece:
    """The stand as a piece, half on the fold.

    Its neck seam is one smooth line in three edges named ``NECK_SEAM``: 0 centre back to shoulder
    notch, 1 on to centre front, 2 along the button stand (left out when there is none). The top
    edge is ``top_name`` from ``setback`` short of centre front to centre back; the rest of it
    belongs to the end. A corner rounded farther back than centre front takes the rest away; only
    without a setback.
    """
    back, front = stand.neck.split_at_length(stand.neckline.back_arc)
    neck_end = stand.neck.end
    taken = max(stand.shape.radius - stand.shape.button_stand, 0.0)
    sewn = stand.top.length - max(setback, taken)
    top, rest = stand.top, None
    if sewn < stand.top.length - SAME_POINT:
        top, rest = stand.top.split_at_length(sewn)
    edges = ring(
        Edge(EdgeName.NECK_SEAM, back),
        Edge(EdgeName.NECK_SEAM, front),
        Edge(EdgeName.NECK_SEAM, line(neck_end, stand.end)),
        Edge(
            EdgeName.COLLAR_END,
            _round_end(stand, top) if taken > SAME_POINT else _front_end(stand, rest),
        ),
        Edge(top_name, top.reversed()),
        Edge(EdgeName.CENTRE_BACK, line(top.start, back.start), on_fold=True),
    )
    place = {edge.name: k for k, edge in enumerate(edges)}
    end, seam = place[EdgeName.COLLAR_END], place[top_name]
    notches = [
        Notch("centre back", 0, 0.0),
        Notch("shoulder", 1, 0.0),
        Notch("shoulder", seam, sewn - stand.shoulder_on_top),
        Notch("centre back", seam, sewn),
    ]
    if stand.shape.button_stand > SAME_POINT:  # without one the corners are centre front
        notches.insert(2, Notch("centre front", 1, front.length))
        if setback > SAME_POINT:
            notches.insert(3, Notch("centre front", end, edges[end].length - setback))
        else:
            notches.insert(3, Notch("centre front", seam, 0.0))
    if setback > SAME_POINT:
        notches.insert(-2, Notch("fall end", seam, 0.0))
    middle = neck_end.towards(stand.top.end, 0.5)
    button = (Drill(middle, "button"),) if stand.shape.button_stand >= BUTTON_NEEDS else ()
    marks = (Mark(MarkKind.CENTRE_FRONT, line(neck_end, stand.top.end), "centre front"),)
    return Piece(
        code=code,
        title=title,
        edges=edges,
        cut=cut,
        grain=_grain(stand),
        notches=tuple(notches),
        marks=() if taken > SAME_POINT else marks,  # its corner is gone
        drills=button,
        label_at=Point(0.3 * stand.neckline.half, 0.4 * stand.shape.back),
    )


def _front_end(stand: Stand, rest: Curve | None) -> Curve:
    """Up the front end, round its corner, and back along the top edge to where the fall ends."""
    forward = stand.neck.end_heading
    up, radius = forward.left, stand.shape.radius
    low, high = stand.top_end - up * radius, stand.top_end - forward * radius
    curves: list[Curve] = []
    if stand.end.to(low) > SAME_POINT:
        curves.append(line(stand.end, low))
    if radius > SAME_POINT:
        curves.append(corner(low, up, high, -forward, QUARTER))
    if high.to(stand.top.end) > SAME_POINT:
        curves.append(line(high, stand.top.end))
    if rest is not None:
        curves.append(rest.reversed())
    return joined(curves)


def _round_end(stand: Stand, top: Curve) -> Curve:
    """Up the front end and round into a top edge that ends short of centre front."""
    up, radius = stand.neck.end_heading.left, stand.shape.radius
    low = stand.top_end - up * radius
    round_ = corner(low, up, top.end, -top.end_heading, QUARTER)
    return round_ if stand.end.to(low) <= SAME_POINT else joined([line(stand.end, low), round_])


def _grain(stand: Stand) -> tuple[Point, Point]:
    """Parallel to centre back, as long as the strip is high."""
    x, inset = 0.15 * stand.neckline.half, 0.12 * stand.shape.back
    return Point(x, inset), Point(x, stand.shape.back - inset)
