"""A collar that lies on the shoulders made up into upper and under collar, and its seams.

Half a piece on the fold or one of two halves; outlines counter-clockwise. Centimetres.
"""

from __future__ import annotations

import numpy as np
import shapely

from blocks.making_up import BACK, FRONT
from blocks.neckline import Neckline
from collars.flat_neck import NeckEdge
from collars.flat_outline import FreeEdges
from collars.layers import smaller
from collars.sewing import layer_seams
from drafting.curves import Curve, line
from drafting.errors import DraftError, Problem
from drafting.pieces import CutPlan, Edge, EdgeName, Notch, Piece, Seam, Stretch, ring
from drafting.points import FloatArray, Point

#: Codes of the pieces.
UPPER, UNDER = "UPPER", "UNDER"
#: Cloth up to this thickness has interfacing in both layers when nothing else is asked.
THIN_CLOTH = 0.1
_GRAIN_INSET = 0.12


def layers_with_interfacing(word: str, thickness: float) -> int:
    """How many of two layers have interfacing, by the card's word and the cloth's thickness."""
    if word == "by cloth":
        word = "both" if thickness <= THIN_CLOTH else "one"
    return {"both": 2, "one": 1, "none": 0}[word]


def collar_pieces(
    neck: NeckEdge, free: FreeEdges, turn: float, interfaced: int
) -> tuple[Piece, Piece]:
    """Upper and under collar, the under one smaller by ``turn`` at its free edges; ``interfaced``
    layers of the two have interfacing, the under one first.

    Raises :class:`DraftError` when either would cross itself.
    """
    under = smaller(free.curves, turn, both_ends=free.halves)
    upper_piece = _piece(UPPER, "Upper collar", neck, free, free.curves, interfaced == 2)
    under_piece = _piece(UNDER, "Under collar", neck, free, under, interfaced >= 1)
    return upper_piece, under_piece


def collar_seams(neckline: Neckline, pieces: tuple[Piece, Piece]) -> tuple[Seam, ...]:
    """The collar to the bodice, segment by segment from centre back, with the ease that its neck
    edge was drawn with, and the under collar to the upper one."""
    upper, under = pieces
    back, front = upper.named(EdgeName.NECK_SEAM)
    sewn = [
        Seam(
            f"neck seam, {word}",
            Stretch(UPPER, EdgeName.NECK_SEAM, index),
            Stretch(code, EdgeName.NECKLINE),
            edge.length - arc,
        )
        for index, (word, code, edge, arc) in enumerate(
            (
                ("back", BACK, back, neckline.back_arc),
                ("front", FRONT, front, neckline.front_arc),
            )
        )
    ]
    return (
        *sewn,
        *layer_seams(
            "upper to under collar",
            upper,
            under,
            (EdgeName.NECK_SEAM, EdgeName.OUTER_EDGE, EdgeName.COLLAR_END),
        ),
    )


def _piece(
    code: str,
    title: str,
    neck: NeckEdge,
    free: FreeEdges,
    curves: tuple[Curve, ...],
    interfacing: bool,
) -> Piece:
    edges = [Edge(EdgeName.NECK_SEAM, neck.back), Edge(EdgeName.NECK_SEAM, neck.front)]
    edges += [Edge(name, curve) for name, curve in zip(free.names, curves, strict=True)]
    if not free.halves:
        fold = line(curves[-1].end, neck.back.start)
        edges.append(Edge(EdgeName.CENTRE_BACK, fold, on_fold=True))
    made = ring(edges)
    outline = np.vstack([edge.curve.flatten()[:-1] for edge in made])
    _refuse_crossing(outline, title)
    notches = [
        Notch("centre back", 0, 0.0),
        Notch("shoulder", 1, 0.0),
        Notch("centre front", 1, neck.front.length),
    ]
    if not free.halves:
        last = len(made) - 2
        notches.append(Notch("centre back", last, made[last].length))
    count = 2 if free.halves else 1
    grain = _grain(outline, neck.back.length)
    return Piece(
        code=code,
        title=title,
        edges=made,
        cut=CutPlan(
            cloth=count,
            interfacing=count if interfacing else 0,
            on_fold=not free.halves,
            mirrored_pair=free.halves,
        ),
        grain=grain,
        notches=tuple(notches),
        label_at=_label(outline, neck, grain),
    )


def _refuse_crossing(outline: FloatArray, title: str) -> None:
    closed = shapely.LinearRing(outline)
    if closed.is_simple and closed.is_ccw:
        return
    raise DraftError(
        Problem(
            f"the outline of the {title.lower()} would cross itself",
            key="collar",
            got="these widths and corners on this neckline",
            advice="Take a narrower collar, a smaller corner, or less overlap.",
        )
    )


def _grain(outline: FloatArray, reach: float) -> tuple[Point, Point]:
    """Parallel to centre back, where the piece over the back is deepest."""
    area = shapely.Polygon(outline)
    low, high = float(outline[:, 1].min()) - 1.0, float(outline[:, 1].max()) + 1.0
    best: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    for share in (0.25, 0.4, 0.55, 0.7):
        x = share * reach
        cut = area.intersection(shapely.LineString([(x, low), (x, high)]))
        for part in getattr(cut, "geoms", [cut]):
            if part.length > best[0] + 0.5:
                best = (part.length, x, part.bounds[1], part.bounds[3])
    size, x, bottom, top = best
    return Point(x, bottom + _GRAIN_INSET * size), Point(x, top - _GRAIN_INSET * size)


def _label(outline: FloatArray, neck: NeckEdge, grain: tuple[Point, Point]) -> Point:
    """On the widest part near the shoulder, beside the grain line."""
    out = neck.front.start_heading.left
    depth = abs(grain[1] - grain[0]) * 0.6
    at = neck.front.start + out * depth
    inside = shapely.Polygon(outline).contains(shapely.Point(at.x, at.y))
    return at if inside else grain[0].towards(grain[1], 0.5)
