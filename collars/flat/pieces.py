"""A collar that lies on the shoulders made up into upper and under collar, and its seams.

Half a piece on the fold or one of two halves; outlines counter-clockwise. Centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import degrees, pi, radians, sqrt, tan

import numpy as np
import shapely

from blocks.bodice.making_up import BACK, FRONT
from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.flat.neck_edge import NeckEdge
from collars.layers import inset_under_layer
from collars.sewing import layer_seams
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, corner, joined, line, through
from drafting.geometry.points import FloatArray, Point
from drafting.pieces.piece import CutPlan, Edge, Notch, Piece, Seam, Stretch, ring
from drafting.sentences import DOWN, length, span
from drafting.tolerances import SAME_POINT

# ---- The free edges of a flat or partly rolled collar: a line of a width round the neck edge,
# and the shaped ends. In the coordinates of :mod:`collars.laid_shoulders`. Centimetres and
# radians

#: A corner sharper or blunter than this (radians) is none that can be turned; common practice.
SHARPEST, BLUNTEST = radians(25.0), radians(165.0)
#: The point may lean by this share of the length of the front edge.
MOST_LEAN = 0.7
#: A rounded corner may take this share of the edges beside it.
MOST_ROUND = 0.85
#: What is nearer to the neck edge than this share of the width belongs to an end.
_OUTER = 0.5
_STATIONS = 33


@dataclass(frozen=True, slots=True)
class OuterShape:
    """What is asked of the free edges: ``back`` and ``front`` the width at centre back and front,
    ``point`` the length of the front edge, ``lean`` how far its end lies forward of the square to
    the neck edge, ``radius`` that of the corner (0: a corner). In ``halves`` the back end is
    shaped like the front one."""

    back: float
    front: float
    point: float
    lean: float
    radius: float
    halves: bool = False


@dataclass(frozen=True, slots=True)
class FreeEdges:
    """The free edges in ring order, from the front end of the neck edge to centre back: each
    smooth, with a corner between one and the next. ``angle`` is that of the sharpest corner before
    any rounding (radians). What lies nearer to the neck edge than ``least`` (cm) is an end, not
    the outer edge."""

    curves: tuple[Curve, ...]
    names: tuple[EdgeName, ...]
    halves: bool
    angle: float
    least: float

    @property
    def from_back(self) -> Curve:
        """All of them as one line, walked from centre back."""
        return joined(self.curves).reversed()


def draw_free_edges(neck: NeckEdge, shape: OuterShape) -> FreeEdges:
    """Draw the free edges round a neck edge.

    Raises :class:`DraftError` listing all that makes them impossible, with what would do.
    """
    _refuse_lean(shape)
    seam = neck.whole
    front_tip = _tip(seam.end, seam.end_heading, shape)
    back_tip = Point(-shape.lean, seam.start.y + _square(shape)) if shape.halves else None
    outer = _outer(seam, neck.back.length, shape, front_tip, back_tip).reversed()
    edges = [line(seam.end, front_tip), outer]
    names = [EdgeName.COLLAR_END, EdgeName.OUTER_EDGE]
    if back_tip is not None:
        edges.append(line(back_tip, seam.start))
        names.append(EdgeName.COLLAR_END)
    angles = [pi - abs(angle_between(a.end_heading, b.start_heading)) for a, b in pairwise(edges)]
    for angle in angles:
        _refuse_corner(angle, shape)
    if shape.radius > 0.0:
        edges = [_rounded(edges, shape)]
        names = [EdgeName.OUTER_EDGE]
    return FreeEdges(
        tuple(edges),
        tuple(names),
        shape.halves,
        min(angles),
        _OUTER * min(shape.back, shape.front),
    )


def _square(shape: OuterShape) -> float:
    return sqrt(shape.point**2 - shape.lean**2)


def _tip(end: Point, forward: Point, shape: OuterShape) -> Point:
    return end + forward.left * _square(shape) + forward * shape.lean


def _outer(
    seam: Curve, shoulder: float, shape: OuterShape, front_tip: Point, back_tip: Point | None
) -> Curve:
    """From centre back to the front tip: parallel to the neck edge, its width going smoothly from
    one to the other, and from the shoulder on drawn to the tip."""
    whole = seam.length
    s = np.linspace(0.0, whole, _STATIONS)
    t = [seam.t_at_length(float(v)) for v in s]
    share = s / whole
    width = shape.back + (shape.front - shape.back) * share**2 * (3.0 - 2.0 * share)
    left = [seam.heading(v).left for v in t]
    xy = seam.xy(t) + width[:, None] * np.array([(n.x, n.y) for n in left])
    xy += _drawn_to(front_tip, xy[-1], np.clip((s - shoulder) / (whole - shoulder), 0.0, 1.0))
    if back_tip is not None:
        xy += _drawn_to(back_tip, xy[0], np.clip(1.0 - s / shoulder, 0.0, 1.0))
    points = [Point(float(x), float(y)) for x, y in xy]
    return through(points, start=None if back_tip is not None else seam.start_heading)


def _drawn_to(tip: Point, end: FloatArray, share: FloatArray) -> FloatArray:
    """Steps that bring a line to the tip, growing from nothing without a jump in curvature."""
    step: FloatArray = np.array([[tip.x - end[0], tip.y - end[1]]]) * (share**3)[:, None]
    return step


def _rounded(edges: list[Curve], shape: OuterShape) -> Curve:
    """All edges as one smooth line, every corner between them rounded."""
    done: list[Curve] = []
    now = edges[0]
    for k, after in enumerate(edges[1:], start=2):
        half = abs(angle_between(now.end_heading, after.start_heading)) / 2
        room = MOST_ROUND * min(now.length, after.length / (2.0 if k < len(edges) else 1.0))
        reach = shape.radius * tan(half)
        if reach > room:
            most = room / tan(half)
            raise DraftError(
                Problem(
                    "there is no room for a corner as round as this",
                    key="collar.point_radius",
                    got=length(shape.radius),
                    accepted=f"up to {length(most, rounding=DOWN)}",
                    advice="Take a smaller radius, or a longer front edge.",
                )
            )
        kept, now = now.part(0.0, now.length - reach), after.part(reach, after.length)
        turned = angle_between(kept.end_heading, now.start_heading)
        share = 4 / 3 * tan(turned / 4) / tan(turned / 2)
        done += [kept, corner(kept.end, kept.end_heading, now.start, now.start_heading, share)]
    return joined([*done, now])


def _refuse_lean(shape: OuterShape) -> None:
    far = MOST_LEAN * shape.point
    if abs(shape.lean) > far + SAME_POINT:
        raise DraftError(
            Problem(
                f"a front edge of {length(shape.point)} cannot lean that far",
                key="collar.point_lean",
                got=length(shape.lean),
                accepted=span(-far, 0.0),
                advice="Let it lean less, or take a longer front edge.",
            )
        )


def _refuse_corner(angle: float, shape: OuterShape) -> None:
    if SHARPEST <= angle <= BLUNTEST:
        return
    what = "sharper than can be turned" if angle < SHARPEST else "none at all"
    raise DraftError(
        Problem(
            f"with this front edge the corner is {what}: {degrees(angle):.0f} degrees",
            key="collar.point_length",
            got=length(shape.point),
            accepted=f"about {length(shape.front)}",
            advice="Bring the front edge nearer to the width of the collar, or let it lean less.",
        )
    )


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
    under = inset_under_layer(free.curves, turn, both_ends=free.halves)
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
