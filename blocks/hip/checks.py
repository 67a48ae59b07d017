"""The checks of a bodice lengthened below the waist, measured on the pieces that are cut.

Lengths in centimetres; angles are reported in degrees.
"""

from __future__ import annotations

from math import degrees, pi

import shapely
from shapely.geometry import LineString, Polygon

from blocks.bodice.bodice import BodiceDraft
from blocks.edges import EdgeName
from drafting.geometry.curves import angle_between
from drafting.pieces.checks import Check, within
from drafting.pieces.piece import MarkKind, Piece
from drafting.tolerances import GIRTH, SEAM, SMOOTH, SQUARE


def hip_checks(
    draft: BodiceDraft, back: Piece, front: Piece, *, hip_ease: float, to_hip: bool
) -> tuple[Check, ...]:
    """Every check of a lengthened bodice; ``to_hip`` when it reaches the hip line."""
    body, q = draft.body, draft.quantities
    back_side, front_side = (
        piece.edges[piece.place(EdgeName.SIDE_SEAM)].curve for piece in (back, front)
    )
    checks = [
        within(
            "waist, darts sewn",
            2.0 * (sewn_waist(back) + sewn_waist(front)),
            body["waist_girth"] + q["waist_ease"],
            GIRTH,
            where="between the stitch lines",
            advice="Measure bust and waist girth again.",
        )
    ]
    if to_hip:
        checks.append(
            within(
                "hip",
                2.0 * (hem_width(back) + hem_width(front)),
                body["hip_girth"] + hip_ease,
                GIRTH,
                where="square to the centres",
                advice="Measure the hip girth again.",
            )
        )
    checks.append(
        within(
            "side seam to the hem: back on front",
            back_side.length,
            front_side.length,
            SEAM,
            where=f"{back.title} and {front.title}",
            advice="Do not cut: the seam does not walk.",
        )
    )
    return (*checks, *_angles(back, front))


def sewn_waist(piece: Piece) -> float:
    """The waist of a lengthened piece once its darts are sewn: along its waist line, from edge to
    edge, less what lies between the stitch lines of the darts."""
    line = next(mark.curve for mark in piece.marks if mark.label == "waist")
    taken = [Polygon(mark.curve.controls) for mark in piece.marks if mark.kind is MarkKind.STITCH]
    left = Polygon(piece.outline()).difference(shapely.union_all(taken))
    centre = {EdgeName.CENTRE_FRONT, EdgeName.CENTRE_BACK}
    stand = next((m.curve for m in piece.marks if m.kind is MarkKind.CENTRE_FRONT), None)
    if stand is not None:  # the button stand laps over: it is no part of the girth
        reach = 2.0 * abs(stand.start.y - stand.end.y)
        x = max(stand.start.x, stand.end.x)
        left = left.difference(
            shapely.box(x, stand.start.y - reach, x + reach, stand.end.y + reach)
        )
    elif not any(edge.name in centre for edge in piece.edges):
        raise KeyError(f"{piece.code} has no centre")
    return float(LineString(line.flatten()).intersection(left).length)


def hem_width(piece: Piece) -> float:
    """Width of a piece at its hem from the side seam to the centre, square to the centre."""
    hem = piece.named(EdgeName.HEM)
    return abs(hem[-1].curve.end.x - hem[0].curve.start.x)


def _angles(back: Piece, front: Piece) -> list[Check]:
    back_hem, front_hem = (p.edges[p.place(EdgeName.HEM)].curve for p in (back, front))
    back_side = back.edges[back.place(EdgeName.SIDE_SEAM)].curve
    front_side = front.edges[front.place(EdgeName.SIDE_SEAM)].curve
    back_scye = back.named(EdgeName.SCYE)[0].curve
    front_scye = front.named(EdgeName.SCYE)[-1].curve
    centre_back = back.named(EdgeName.CENTRE_BACK)[-1].curve
    front_line = next(
        (m.curve for m in front.marks if m.kind is MarkKind.CENTRE_FRONT),
        None,
    )
    if front_line is None:
        front_line = front.named(EdgeName.CENTRE_FRONT)[0].curve
    angles = (
        (
            "hem square at centre back",
            angle_between(centre_back.end_heading, back_hem.start_heading),
            pi / 2,
            SQUARE,
        ),
        (
            "hem square at centre front",
            angle_between(front_hem.end_heading, front_line.start_heading),
            pi / 2,
            SQUARE,
        ),
        (
            "hem square at the side",
            angle_between(back_hem.end_heading, back_side.start_heading),
            pi / 2,
            SQUARE,
        ),
        (
            "hem, side seams together",
            angle_between(back_hem.end_heading, back_side.start_heading)
            + angle_between(front_side.end_heading, front_hem.start_heading),
            pi,
            SMOOTH,
        ),
        (
            "armhole, side seams together",
            abs(angle_between(-back_side.end_heading, back_scye.start_heading))
            + abs(angle_between(front_side.start_heading, -front_scye.end_heading)),
            pi,
            SMOOTH,
        ),
    )
    return [
        within(
            name,
            degrees(angle),
            degrees(target),
            degrees(tolerance),
            unit="deg",
            where=f"{back.title} and {front.title}",
            advice="The line shows a corner here once sewn: redraw it by hand before cutting.",
        )
        for name, angle, target, tolerance in angles
    ]
