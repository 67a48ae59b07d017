"""A bias strip over the neck seam of a collar, from one front facing to the other or all round.

Cut on the true bias in one length, so that it takes the neckline's curve; half of it on either side
of its middle is sewn to half a neckline. Centimetres, the neck seam on y = 0.
"""

from __future__ import annotations

from itertools import pairwise

from blocks.front_edge import figures
from drafting.curves import line
from drafting.pieces import (
    CutPlan,
    Edge,
    EdgeName,
    Notch,
    NotchKind,
    Piece,
    Seam,
    Stretch,
)
from drafting.points import Point
from drafting.tolerances import SAME_POINT

BIAS = "BIAS"


def bias_strip(back: Piece, front: Piece, faced: float) -> tuple[Piece, tuple[Seam, ...]]:
    """The strip for the necklines of a back and a front whose facing takes ``faced`` (cm) of it
    from centre front on, and its seams.

    Its ends lap over the facings, or are turned in: at centre front, at centre back where the front
    is on the fold. Its neck seam has four edges, two for either half.
    """
    lengths = {
        back.code: back.length(EdgeName.NECKLINE),
        front.code: front.length(EdgeName.NECKLINE) - faced,
    }
    folded = any(edge.on_fold for edge in front.named(EdgeName.CENTRE_FRONT))
    codes = (back.code, front.code) if folded else (front.code, back.code)
    half = [code for code in codes if lengths[code] > SAME_POINT]
    run = (*half, *reversed(half))
    width = figures("bias_strip")["width"]
    corners = [Point(0.0, 0.0)]
    for code in run:
        corners.append(Point(corners[-1].x + lengths[code], 0.0))
    ring_ = (*corners, Point(corners[-1].x, width), Point(0.0, width), corners[0])
    names = (*[EdgeName.NECK_SEAM] * len(run), *[EdgeName.FACING_EDGE] * 3)
    edges = [Edge(n, line(*ends)) for n, ends in zip(names, pairwise(ring_), strict=True)]
    notches = [Notch("shoulder", k, 0.0) for k in (1, 3) if len(run) == 4]
    middle = ("centre front", NotchKind.SINGLE) if folded else ("centre back", NotchKind.DOUBLE)
    notches.append(Notch(middle[0], len(half), 0.0, middle[1]))
    centre, reach = Point(corners[len(half)].x, width / 2.0), 0.4 * width
    seams = tuple(
        Seam(
            f"bias strip to {'back' if code == back.code else 'front'} neckline, "
            f"{'one' if number < len(half) else 'other'} half",
            Stretch(BIAS, EdgeName.NECK_SEAM, number),
            Stretch(code, EdgeName.NECKLINE, start=faced if code == front.code else 0.0),
        )
        for number, code in enumerate(run)
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
