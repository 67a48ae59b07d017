"""A bias strip over the neck seam of a collar, from one front facing to the other or all round.

Cut on the true bias in one length, so that it takes the neckline's curve; half of it on either side
of its middle is sewn to half a neckline. Centimetres, the neck seam on y = 0.
"""

from __future__ import annotations

from itertools import pairwise

from blocks.edges import EdgeName
from blocks.finishing.front_edge import figures
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.piece import (
    CutPlan,
    Edge,
    Notch,
    NotchKind,
    Piece,
    Seam,
    Stretch,
    stretch_length,
)
from drafting.tolerances import SAME_POINT

BIAS = "BIAS"


def bias_strip(back: Piece, front: Piece, faced: float) -> tuple[Piece, tuple[Seam, ...]]:
    """The strip for the necklines of a back and a front whose facing takes ``faced`` (cm) of it
    from centre front on, and its seams.

    Its ends lap over the facings, or are turned in: at centre front, at centre back where the
    front is on the fold. Its neck seam has an edge for each edge on either half it is sewn to.
    """
    behind = Stretch(back.code, EdgeName.NECKLINE)
    before = Stretch(front.code, EdgeName.NECKLINE, start=faced)
    folded = any(edge.on_fold for edge in front.named(EdgeName.CENTRE_FRONT))
    half = [behind, before] if folded else [before, behind]
    half = [side for side in half if stretch_length((back, front), side) > SAME_POINT]
    run = (*half, *reversed(half))
    width = figures("bias_strip")["width"]
    corners = [Point(0.0, 0.0)]
    for side in run:
        corners.append(Point(corners[-1].x + stretch_length((back, front), side), 0.0))
    ring_ = (*corners, Point(corners[-1].x, width), Point(0.0, width), corners[0])
    names = (*[EdgeName.NECK_SEAM] * len(run), *[EdgeName.FACING_EDGE] * 3)
    edges = [Edge(name, line(*ends)) for name, ends in zip(names, pairwise(ring_), strict=True)]
    notches = [Notch("shoulder", k, 0.0) for k in range(1, len(run)) if run[k - 1] != run[k]]
    middle = ("centre front", NotchKind.SINGLE) if folded else ("centre back", NotchKind.DOUBLE)
    notches.append(Notch(middle[0], len(half), 0.0, middle[1]))
    centre, reach = Point(corners[len(half)].x, width / 2.0), 0.4 * width
    seams = tuple(
        Seam(
            f"bias strip to {'back' if side.piece == back.code else 'front'} neckline, "
            f"{'one' if number < len(half) else 'other'} half",
            Stretch(BIAS, EdgeName.NECK_SEAM, number),
            side,
        )
        for number, side in enumerate(run)
    )
    along = Point(2.0 * width, 0.0)
    piece = Piece(
        code=BIAS,
        title="Bias strip",
        edges=tuple(edges),
        cut=CutPlan(cloth=1),
        grain=(centre - along - Point(reach, reach), centre - along + Point(reach, reach)),
        notches=tuple(notches),
        label_at=centre + along,
    )
    return piece, seams
