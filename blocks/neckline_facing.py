"""Facings for a neckline: strips of one width along the made-up neckline, front and back where
there is no collar, the back alone between the front facings of a collar that is faced.

Traced on the sewn pieces: a dart that opens into the neckline or the shoulder is folded shut first.
Each outer edge is parallel to the neckline, turns its corners sharp, ends on the shoulder as far
from the neck on both pieces, and runs out to the fold or the front edge. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sin

import numpy as np
from shapely.geometry import LineString, Polygon

from blocks.neckline_facing_checks import facing_checks
from blocks.neckline_facing_edge import ending_at, outer_edge
from blocks.neckline_trace import SewnNeckline, sewn_neckline
from drafting.checks import Check
from drafting.curves import Curve, line
from drafting.errors import DraftError, Problem
from drafting.parameters import lies_within
from drafting.pieces import CutPlan, Edge, EdgeName, Notch, Piece, Seam, Stretch, ring
from drafting.points import Point
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT

BACK_FACING, FRONT_FACING = "BACK-FACING", "FRONT-FACING"
#: Usual widths; common practice. Beyond the wider range a facing rolls out or shows through.
USUAL, ACCEPTED = (5.0, 7.0), (3.0, 10.0)
#: What must be left of the shoulder outside the facing, for the scye's own seam; common practice.
SHOULDER_LEFT = 1.0
#: What must be left below the facing at the centre; common practice.
BELOW_LEFT = 2.0


def neckline_facings(
    back: Piece, front: Piece, width: float
) -> tuple[tuple[Piece, ...], tuple[Seam, ...], tuple[Check, ...]]:
    """Back and front neckline facing of a made-up bodice (no seam allowances), their seams and
    checks.

    ``width`` in centimetres, usually 5 to 7. A piece on the fold gives a facing on the fold, a
    front with a button stand one that reaches its front edge. Raises :class:`DraftError` when the
    neckline is no plain one (a lapel, a gorge) or leaves no room for a facing of this width.
    """
    low, high = ACCEPTED
    if not lies_within(width, low, high):
        raise DraftError(
            Problem(
                "no neckline facing of this width",
                key="neckline.facing",
                got=length(width),
                accepted=f"{span(low, high, places=0)}, usually {span(*USUAL, places=0)}",
                advice="Narrower ones roll out, wider ones show through.",
            )
        )
    halves = sewn_neckline(back), sewn_neckline(front)
    along = width / sin(halves[1].at_shoulder)
    _check_room(halves, along, width)
    facings = tuple(
        _facing(half, width, along, code, title)
        for half, code, title in (
            (halves[0], BACK_FACING, "Back neck facing"),
            (halves[1], FRONT_FACING, "Front neck facing"),
        )
    )
    seams = (*_seams(back, front, halves), *_centre_seam(facings[0]))
    return facings, seams, facing_checks((back, front, *facings), seams, facings, width)


def back_neck_facing(back: Piece, front_facing: Piece) -> tuple[Piece, tuple[Seam, ...]]:
    """The facing of the back neck between two front facings that reach the shoulder, and its seams
    to them: as wide as they are there, their inner edges running on into its outer one, on the
    fold where the back's centre is straight so far down, interfaced as they are.

    Raises :class:`DraftError` when the back has no plain neckline or no room for it.
    """
    half = sewn_neckline(back)
    along = front_facing.length(EdgeName.SHOULDER)
    width = along * sin(half.at_shoulder)
    _check_room((half,), along, width)
    reach = half.down.at_length(width)
    straight = half.down.start.to(reach) > width - SAME_POINT
    facing = _facing(
        half,
        width,
        along,
        BACK_FACING,
        "Back neck facing",
        on_fold=half.down_edge.on_fold or straight,
        square=True,
    )
    if not front_facing.cut.interfacing:
        facing = replace(facing, cut=replace(facing.cut, interfacing=0))
    shoulders = Seam(
        "facing shoulders",
        Stretch(BACK_FACING, EdgeName.SHOULDER),
        Stretch(front_facing.code, EdgeName.SHOULDER),
    )
    sewn = (shoulders, *_centre_seam(facing))
    return replace(facing, notes=("Neaten or bind the outer edge.",)), sewn


def _centre_seam(facing: Piece) -> tuple[Seam, ...]:
    """The seam at centre back of a back facing that is not on the fold."""
    centre = Stretch(facing.code, EdgeName.CENTRE_BACK)
    return () if facing.cut.on_fold else (Seam("back neck facing, centre back", centre, centre),)


def _check_room(halves: Sequence[SewnNeckline], along: float, width: float) -> None:
    problems = []
    for half in halves:
        room = half.shoulder - SHOULDER_LEFT
        if along > room:
            share = width / along
            problems.append(
                Problem(
                    f"the shoulder of the {half.piece.title.lower()} is only "
                    f"{length(half.shoulder)} long",
                    key="neckline.facing",
                    got=length(width),
                    accepted=_up_to(room * share),
                    advice="Take a narrower facing, or face neckline and scye in one.",
                )
            )
        if half.down.length < width + BELOW_LEFT:
            problems.append(
                Problem(
                    f"only {length(half.down.length)} are left below the neckline of the "
                    f"{half.piece.title.lower()}",
                    key="neckline.facing",
                    got=length(width),
                    accepted=_up_to(half.down.length - BELOW_LEFT),
                    advice="Take a narrower facing or a higher neckline.",
                )
            )
    if problems:
        raise DraftError(problems)


def _up_to(most: float) -> str:
    low = ACCEPTED[0]
    return span(low, most) if most >= low else "none here: there is no room"


def _facing(
    half: SewnNeckline,
    width: float,
    along: float,
    code: str,
    title: str,
    *,
    on_fold: bool | None = None,
    square: bool = False,
) -> Piece:
    down = half.down.part(0.0, width)
    outer = ending_at(outer_edge(half, width, along, square=square), down.end)
    shoulder = line(half.neck.start, outer.start)
    edge = half.down_edge if on_fold is None else replace(half.down_edge, on_fold=on_fold)
    walk = [
        Edge(EdgeName.SHOULDER, shoulder.reversed()),
        Edge(EdgeName.NECKLINE, half.neck),
        *([] if half.top is None else [Edge(EdgeName.BUTTON_STAND_END, half.top)]),
        Edge(edge.name, down, on_fold=edge.on_fold),
        Edge(EdgeName.FACING_EDGE, outer.reversed()),
    ]
    if half.side > 0.0:  # a front is walked clockwise from the shoulder
        walk = [Edge(e.name, e.curve.reversed(), on_fold=e.on_fold) for e in reversed(walk)]
    edges = ring(walk)
    place = next(k for k, e in enumerate(edges) if e.name is EdgeName.NECKLINE)
    cut = (
        CutPlan(cloth=1, interfacing=1, on_fold=True)
        if edge.on_fold
        else CutPlan(cloth=2, interfacing=2, mirrored_pair=True)
    )
    return Piece(
        code=code,
        title=title,
        edges=edges,
        cut=cut,
        grain=_grain(half.piece, edges, down),
        notches=_notches(half.piece, place),
        label_at=half.neck.at_length(0.6 * half.neck.length).towards(
            outer.at_length(0.6 * outer.length), 0.5
        ),
        notes=("Neaten or bind the outer edge; understitch so that the facing rolls inwards.",),
    )


def _grain(piece: Piece, edges: tuple[Edge, ...], down: Curve) -> tuple[Point, Point]:
    """A line along the piece's grain, inside the facing near its centre."""
    along = (piece.grain[1] - piece.grain[0]).unit
    cloth = Polygon(np.vstack([edge.curve.flatten()[:-1] for edge in edges]))
    away = Point(1.0, 0.0) if cloth.centroid.x > down.start.x else Point(-1.0, 0.0)
    middle = down.at_length(down.length / 2) + away * (0.25 * down.length)
    reach = along * (3.0 * cloth.length)
    found = LineString([tuple(middle - reach), tuple(middle + reach)]).intersection(cloth)
    stretches = [part for part in getattr(found, "geoms", [found]) if part.length > 0.0]
    (x0, y0), (x1, y1) = max(stretches, key=lambda part: float(part.length)).coords
    ends = sorted((Point(x0, y0), Point(x1, y1)), key=lambda p: p.dot(along))
    return ends[0].towards(ends[1], 0.15), ends[0].towards(ends[1], 0.85)


def _notches(piece: Piece, place: int) -> tuple[Notch, ...]:
    """The notches of the piece's neckline, on the facing's one neckline edge."""
    done, notches = 0.0, []
    for index, edge in enumerate(piece.edges):
        if edge.name is EdgeName.NECKLINE:
            notches += [
                Notch(n.name, place, done + n.at, n.kind) for n in piece.notches if n.edge == index
            ]
            done += edge.length
    return tuple(notches)


def _seams(back: Piece, front: Piece, halves: Sequence[SewnNeckline]) -> tuple[Seam, ...]:
    seams = [
        Seam(
            "back facing to neckline",
            Stretch(BACK_FACING, EdgeName.NECKLINE),
            Stretch(back.code, EdgeName.NECKLINE),
        ),
        Seam(
            "front facing to neckline",
            Stretch(FRONT_FACING, EdgeName.NECKLINE),
            Stretch(front.code, EdgeName.NECKLINE),
        ),
        Seam(
            "facing shoulders",
            Stretch(BACK_FACING, EdgeName.SHOULDER),
            Stretch(FRONT_FACING, EdgeName.SHOULDER),
        ),
    ]
    if halves[1].top is not None:
        ends = front.named(EdgeName.BUTTON_STAND_END)
        neck = front.place(EdgeName.NECKLINE)
        index = next(k for k, edge in enumerate(ends) if edge is front.edges[neck - 1])
        seams.append(
            Seam(
                "front facing to button stand",
                Stretch(FRONT_FACING, EdgeName.BUTTON_STAND_END),
                Stretch(front.code, EdgeName.BUTTON_STAND_END, index),
            )
        )
    if halves[1].down_edge.name is EdgeName.CENTRE_FRONT and not halves[1].down_edge.on_fold:
        centre = Stretch(FRONT_FACING, EdgeName.CENTRE_FRONT)
        seams.append(Seam("front facing, centre front", centre, centre))
    return tuple(seams)
