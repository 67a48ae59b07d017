"""Seam allowances: the cut line round a piece, and the strokes of its notches. Knows no body and
no garment.

Each edge carries its own allowance, measured square to the sew line and outward (to the right of
travel on a counter-clockwise outline). Edges are offset point by point along their true normals;
at corners both parallels go on straight along the end tangents until they meet (a mitre). A corner
so sharp that the mitre would run away is cut square. Where an edge on the fold meets another, the
cut line ends on the fold line itself, so that the opened cloth has no step there.
Rules of corners are common practice. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, line, polyline
from drafting.geometry.points import FloatArray, Point, crossing
from drafting.memo import memo_by_identity
from drafting.pieces.piece import Edge, Notch, NotchKind, Piece, outline_of
from drafting.tolerances import FLATTEN, NOTCH, SAME_POINT

#: A corner whose mitre reaches farther than this many allowances is cut square there: a collar
#: point of 60 degrees is just left whole; common practice trims sharper ones.
MITRE_LIMIT = 2.0
#: A wide allowance gives way to a narrow neighbour's line over at most this share of its width.
TRIM_LIMIT = 0.5
#: Inside one edge a break in direction beyond this is a corner; joined curves stay far below.
KINK = 1e-3
#: Parallels are sampled this close, then thinned by this much more: together within FLATTEN.
_SAMPLED, _THINNED = FLATTEN / 4, FLATTEN / 2
#: Bands and patches are put together on this grid, so that no hair's breadth stays between them.
_GRID = SAME_POINT
#: Corners of the cut line nearer than this are one, and a corner that misses turning back on itself
#: by less than this angle is the tip of a slit: no cutter can follow either.
_HAIR, _FOLDED = 4 * SAME_POINT, 2e-4
#: Patches that end on the side of a band reach this far into it.
_LAP = 0.01
#: A notch is a snip this deep; common practice.
NOTCH_DEPTH = 0.5
#: A snip takes at most this share of the allowance, so that it never reaches the sew line.
NOTCH_SHARE = 0.75
#: A snip square to its edge is right when it tells its place within this; else one is looked for,
#: first in steps of ``_LOOK`` along the cut line, then in ``_FINER`` of each.
SNIP_SQUARE, _LOOK, _FINER = 0.01, 0.2, 21
#: A drill hole that marks a hollow corner lies this short of it, in the allowance: near enough to
#: clip to, far enough to be hidden by the seam. Common practice: 1 to 3 mm.
HOLE_SHORT = 0.15
#: The two snips of a double notch stand this far apart; common practice.
NOTCH_PAIR = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class CutLine:
    """A cut line: ``points`` (n, 2) of a closed polyline, counter-clockwise, the first not
    repeated, within ``FLATTEN`` of the exact parallels. ``corners`` are the places in ``points``
    where the line turns sharply; the rest lie on parallels of curved edges."""

    points: FloatArray
    corners: tuple[int, ...]

    def curves(self) -> tuple[Curve, ...]:
        """The line as stretches from corner to corner, end to end and round."""
        starts = self.corners or (0,)
        count = len(self.points)
        stretches = []
        for here, there in zip(starts, (*starts[1:], starts[0] + count), strict=True):
            run = self.points[np.arange(here, there + 1) % count]
            stretches.append(polyline([Point(float(x), float(y)) for x, y in run]))
        return tuple(stretches)

    def polygon(self) -> Any:
        """The cloth inside, as a shapely polygon."""
        return Polygon(self.points)


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """A smooth stretch of the sew line: points on it, and the same points moved outward."""

    allowance: float
    on_fold: bool
    inner: FloatArray
    outer: FloatArray
    start_heading: Point
    end_heading: Point

    @property
    def band(self) -> Any:
        """The cloth between sew line and cut line."""
        whole = Polygon(np.vstack((self.inner, self.outer[::-1])))
        if whole.is_valid:
            return whole
        # a hollow tighter than the allowance: sweep it step by step instead
        steps = np.stack((self.inner[:-1], self.outer[:-1], self.outer[1:], self.inner[1:]), axis=1)
        rings = np.concatenate((steps, steps[:, :1]), axis=1)
        hulls = shapely.convex_hull(shapely.polygons(rings))
        return shapely.union_all(hulls, grid_size=_GRID)


def crossing_loops(piece: Piece) -> float:
    """How much of a sew line (cm) lies in loops where it crosses or touches itself: 0 for one that
    can be cut round."""
    return _loops(piece.edges)


@memo_by_identity(64)
def _loops(edges: tuple[Edge, ...]) -> float:
    sewn = Polygon(outline_of(edges))
    if sewn.is_valid:
        return 0.0
    parts = [p for p in shapely.get_parts(shapely.make_valid(sewn)) if isinstance(p, Polygon)]
    largest = max(parts, key=lambda part: float(part.area), default=Polygon())
    return max(float(sewn.length - largest.length), SAME_POINT)


def cut_line(piece: Piece) -> CutLine:
    """The cut line of a piece.

    Raises :class:`DraftError` when the sew line crosses itself (:func:`crossing_loops`), so that
    nothing can be laid round it.
    """
    return _cut_line(piece.edges, piece.title)


@memo_by_identity(64)
def _cut_line(edges: tuple[Edge, ...], title: str) -> CutLine:
    runs = _closed(_runs(edges))
    sewn = Polygon(np.vstack([run.inner[:-1] for run in runs]))
    if not sewn.is_valid and _loops(edges) == 0.0:  # a touch finer than any line that is drawn
        sewn = shapely.make_valid(sewn)
    if not sewn.is_valid or sewn.is_empty:
        raise DraftError(
            Problem(
                "the sew line crosses or touches itself, so no cut line can be laid round it",
                place=title,
                advice="Look at the drawing of this piece and mend the measurements it rests on.",
            )
        )
    bands = {k: run.band for k, run in enumerate(runs) if run.allowance > 0.0}
    patches: list[Any] = []
    for k, run in enumerate(runs):
        after = (k + 1) % len(runs)
        patch, off = _corner(run, runs[after])
        patches += patch
        for which, triangle in off:
            there = k if which == 0 else after
            bands[there] = shapely.difference(bands[there], triangle, grid_size=_GRID)
    allowances = shapely.union_all([*bands.values(), *patches], grid_size=_GRID)
    for run in runs:
        if run.on_fold:
            allowances = shapely.difference(allowances, _beyond(run, sewn), grid_size=_GRID)
    return _traced(shapely.union_all([sewn, allowances], grid_size=_GRID), runs)


def _runs(edges: tuple[Edge, ...]) -> Iterator[_Run]:
    for edge in edges:
        width = 0.0 if edge.on_fold else max(edge.allowance, 0.0)
        for curve in smooth_parts(edge.curve):
            inner, step = curve.beside(width, _SAMPLED)
            yield _Run(
                width,
                edge.on_fold,
                inner,
                inner + width * step,
                curve.start_heading,
                curve.end_heading,
            )


def smooth_parts(curve: Curve) -> Iterator[Curve]:
    """A curve cut at its corners: straight steps one by one, curves where their heading breaks."""
    if curve.degree == 1:
        points = [Point(float(x), float(y)) for x, y in curve.controls]
        for a, b in pairwise(points):
            if a.to(b) > SAME_POINT:
                yield line(a, b)
        return
    values, counts = np.unique(curve.knots, return_counts=True)
    rest = curve
    for t, count in zip(values[1:-1], counts[1:-1], strict=True):
        if count >= curve.degree:
            before, after = rest.split(float(t))
            if abs(angle_between(before.end_heading, after.start_heading)) > KINK:
                yield before
                rest = after
    yield rest


def _closed(runs: Iterator[_Run]) -> list[_Run]:
    """The runs with each start laid exactly on the end before it (they lie within SAME_POINT);
    a hair's breadth between two bands would be a slit in the cloth."""
    kept = list(runs)
    for run, after in zip(kept, kept[1:] + kept[:1], strict=True):
        after.inner[0] = run.inner[-1]
        if np.hypot(*(after.outer[0] - run.outer[-1])) < SAME_POINT:
            after.outer[0] = run.outer[-1]
    return kept


def _corner(run: _Run, after: _Run) -> tuple[list[Any], list[tuple[int, Any]]]:
    """What a corner adds, and what it takes off the band before (0) or after (1).

    Hollow corners need neither: the two bands overlap, and their outline is the mitre.
    """
    widest = max(run.allowance, after.allowance)
    turn = angle_between(run.end_heading, after.start_heading)
    at, first, second = (_point(xy) for xy in (run.inner[-1], run.outer[-1], after.outer[0]))
    if widest == 0.0 or turn <= 0.0 or first == second:
        return [], []
    mitre = crossing(first, run.end_heading, second, after.start_heading)
    if mitre is None:
        return [], []
    reach = at.to(mitre)
    short = (mitre - first).dot(run.end_heading) < 0.0
    long = (second - mitre).dot(after.start_heading) < 0.0
    if short or long:
        # the narrow parallel meets the end of the wide band (at its foot): a step, unless little
        # is lost by trimming the wide band back to where both parallels meet
        wide, narrow = (first, second) if short else (second, first)
        foot = crossing(at, wide - at, narrow, mitre - narrow) or at
        if wide.to(mitre) > TRIM_LIMIT * widest:
            lapped = foot + (mitre - foot).unit * min(_LAP, foot.to(mitre))
            return [_polygon(at, narrow, lapped)], []
        off = _polygon(foot, foot + (mitre - foot) * 1.5, at + (wide - at) * 1.5)
        return [_polygon(at, narrow, mitre)], [(0 if short else 1, off)]
    if reach <= MITRE_LIMIT * widest:
        return [_polygon(at, first, mitre, second)], []
    out = (mitre - at).unit
    blunt = at + out * (MITRE_LIMIT * widest)
    left = crossing(blunt, out.left, first, run.end_heading)
    right = crossing(blunt, out.left, second, after.start_heading)
    if left is None or right is None:
        return [], []
    return [_polygon(at, first, left, right, second)], []


def _beyond(run: _Run, sewn: Any) -> Any:
    """Everything on the far side of a fold."""
    a, b = _point(run.inner[0]), _point(run.inner[-1])
    along = (b - a).unit * (1000.0 + sewn.length)
    return _polygon(a - along, a - along + along.right, b + along + along.right, b + along)


def _traced(region: Any, runs: list[_Run]) -> CutLine:
    """The outline of the cloth, from the corner nearest the start of the ring."""
    parts = [part for part in shapely.get_parts(region) if isinstance(part, Polygon)]
    whole = max(parts, key=lambda part: float(part.area))
    outside = orient(_healed(whole.exterior).simplify(_THINNED), 1.0)
    points = np.asarray(outside.exterior.coords, dtype=np.float64)[:-1]
    smooth = [run.outer[1:-1] for run in runs if len(run.outer) > 2]
    corners = np.arange(len(points))
    if smooth:
        tree = shapely.STRtree(shapely.points(np.vstack(smooth)))
        near, _ = tree.query(shapely.points(points), predicate="dwithin", distance=4 * SAME_POINT)
        corners = np.setdiff1d(corners, near)
    first = int(corners[0]) if len(corners) else 0
    if len(corners):
        away = np.hypot(*(points[corners] - runs[0].outer[0]).T)
        first = int(corners[int(np.argmin(away))])
    points = np.roll(points, -first, axis=0)
    turned = sorted(int(k - first) % len(points) for k in corners)
    return CutLine(points, tuple(turned))


def _healed(ring: Any) -> Any:
    """The cloth inside a ring without slits and fins: where bands and patches meet, the grid can
    leave the line to run in (or out) and back along itself, no hair's breadth apart. The tip of
    such a run is taken off until none is left."""
    xy = shapely.get_coordinates(ring)[:-1]
    steps = np.roll(xy, -1, axis=0) - xy
    came, lengths = np.roll(steps, 1, axis=0), np.hypot(*steps.T)
    cosine = (came * steps).sum(axis=1) / (np.roll(lengths, 1) * lengths)
    if (lengths >= _HAIR).all() and (cosine > -1.0 + _FOLDED**2).all():
        return Polygon(ring)
    points = [_point(row) for row in xy]
    k, still = 0, 0
    while still < len(points) and len(points) > 3:
        count = len(points)
        before, here, after = (points[(k + n) % count] for n in (-1, 0, 1))
        folded = here.to(after) < _HAIR or _turns_back(before, here, after)
        if folded:
            del points[k % count]
            k, still = (k - 1) % (count - 1), 0
        else:
            k, still = (k + 1) % count, still + 1
    return Polygon([tuple(p) for p in points])


def _turns_back(before: Point, here: Point, after: Point) -> bool:
    """Whether a line runs to a tip and back along itself."""
    there, back = here - before, after - here
    return abs(there.cross(back)) < _FOLDED * abs(there) * abs(back) and there.dot(back) < 0.0


def _point(xy: FloatArray) -> Point:
    return Point(float(xy[0]), float(xy[1]))


def _polygon(*points: Point) -> Any:
    """A small polygon; its hull, so that rounding cannot make it cross itself."""
    hull = shapely.MultiPoint([(p.x, p.y) for p in points]).convex_hull
    return hull if isinstance(hull, Polygon) else Polygon()


# ---- notches ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NotchMark:
    """A notch as it is cut: ``at`` on the sew line; each of ``strokes`` runs from the edge of the
    cloth inwards (two for a double notch). Where no snip can tell the place there is a drill
    ``hole`` instead, in the allowance just short of the corner, so that it never shows."""

    notch: Notch
    at: Point
    strokes: tuple[Curve, ...] = ()
    hole: Point | None = None


def notch_marks(piece: Piece, cut: CutLine | None = None) -> tuple[NotchMark, ...]:
    """How the notches of a piece are marked; without a cut line snips start on the sew line.

    A snip tells the place of the sew line that is nearest to its outer end. In a hollow corner
    none may tell the corner: there a hole is drilled. A double notch that reaches beyond the end of
    its edge is cut single: on a fold it would be three snips once the cloth is opened. On a fold
    itself nothing is snipped, for that would slit the opened piece.
    """
    return _notch_marks(piece, cut)


def drill_holes(piece: Piece, cut: CutLine | None = None) -> Iterator[Point]:
    """Every hole to drill in a piece: its own, and those that stand for a notch."""
    yield from (drill.at for drill in piece.drills)
    for mark in notch_marks(piece, cut):
        if mark.hole is not None:
            yield mark.hole


@memo_by_identity(64)
def _notch_marks(piece: Piece, cut: CutLine | None) -> tuple[NotchMark, ...]:
    sewn = shapely.LinearRing(piece.outline())
    border = sewn if cut is None else cut.polygon().exterior
    return tuple(
        _notch_mark(piece, notch, sewn, border)
        for notch in piece.notches
        if not piece.edges[notch.edge].on_fold
    )


def _notch_mark(piece: Piece, notch: Notch, sewn: Any, border: Any) -> NotchMark:
    at, half = piece.notch_point(notch), NOTCH_PAIR / 2
    tries: list[tuple[float, ...]] = [(notch.at,)]
    if notch.kind is NotchKind.DOUBLE:
        tries.insert(0, (notch.at - half, notch.at + half))
    for places in tries:
        snips = [_snip(piece, notch.edge, place, sewn, border) for place in places]
        strokes = tuple(snip for snip in snips if snip is not None)
        if len(strokes) == len(places):
            return NotchMark(notch, at, strokes)
    short = min(HOLE_SHORT, float(border.distance(shapely.Point(*at))) / 2)
    return NotchMark(notch, at, hole=at + _way_out(piece, notch.edge, notch.at) * short)


def _snip(piece: Piece, place: int, at_length: float, sewn: Any, border: Any) -> Curve | None:
    """The snip that tells a place of an edge: square to the edge, or from where the cut line tells
    it best; ``None`` where no place of the cut line does."""
    edge = piece.edges[place]
    if not -SAME_POINT <= at_length <= edge.length + SAME_POINT:
        return None
    t = edge.curve.t_at_length(at_length)
    at, out = edge.curve.at(t), edge.curve.heading(t).right
    beside = _beside(piece, place, at_length)
    if beside is not None and beside[0].on_fold:
        out = -beside[1]
        return _stroke(at, at + out * _to_fold_end(at, out, border), out)
    if border.distance(shapely.Point(*at)) <= FLATTEN:
        return _stroke(at, at, _way_out(piece, place, at_length))
    reach = 2 * MITRE_LIMIT * max(edge.allowance for edge in piece.edges)
    ray = shapely.LineString([tuple(at), tuple(at + out * reach)])
    met = shapely.get_coordinates(ray.intersection(border))
    if len(met):
        met = met[np.argsort(np.hypot(*(met - tuple(at)).T))[:1]]
        if _told(met, sewn, at)[0] <= SNIP_SQUARE:
            return _stroke(at, _point(met[0]), out)
    start = _best_start(at, reach, sewn, border)
    return None if start is None else _stroke(at, start, (start - at).unit)


def _best_start(at: Point, reach: float, sewn: Any, border: Any) -> Point | None:
    """The nearest of the places of the cut line that tell a place best, if they do at all; looked
    for in steps along the cut line, then in finer ones."""
    around = shapely.get_coordinates(border.segmentize(_LOOK))[:-1]
    near = np.flatnonzero(np.hypot(*(around - tuple(at)).T) <= reach)
    if not len(near):
        return None
    k = int(near[np.argmin(_told(around[near], sewn, at))])
    before, here, after = (around[(k + n) % len(around)] for n in (-1, 0, 1))
    starts = np.vstack((np.linspace(before, here, _FINER), np.linspace(here, after, _FINER)))
    told = _told(starts, sewn, at)
    if told.min() >= NOTCH - SNIP_SQUARE:
        return None
    best = starts[told <= told.min() + SNIP_SQUARE]
    return _point(best[np.argmin(np.hypot(*(best - tuple(at)).T))])


def _told(starts: FloatArray, sewn: Any, at: Point) -> FloatArray:
    """How far from a place the places are that snips beginning at ``starts`` would tell."""
    told = shapely.line_locate_point(sewn, shapely.points(starts))
    found = shapely.get_coordinates(shapely.line_interpolate_point(sewn, told))
    return np.asarray(np.hypot(*(found - tuple(at)).T), dtype=np.float64)


def _stroke(at: Point, start: Point, out: Point) -> Curve:
    """A snip from the edge of the cloth towards its place; where the place lies on that edge
    itself, into the piece."""
    gap = at.to(start)
    if gap <= FLATTEN:
        return line(at, at - out * NOTCH_DEPTH)
    return line(start, start - out * min(NOTCH_DEPTH, NOTCH_SHARE * gap))


def _beside(piece: Piece, place: int, at_length: float) -> tuple[Edge, Point] | None:
    """At an end of an edge the edge beside it, and its way from there on; else nothing."""
    if at_length <= SAME_POINT:
        edge = piece.edges[place - 1]
        return edge, -edge.curve.end_heading
    if at_length >= piece.edges[place].length - SAME_POINT:
        edge = piece.edges[(place + 1) % len(piece.edges)]
        return edge, edge.curve.start_heading
    return None


def _way_out(piece: Piece, place: int, at_length: float) -> Point:
    """From a place of an edge out of the piece: square to the edge, at a corner half-way."""
    curve = piece.edges[place].curve
    own = curve.heading(curve.t_at_length(at_length)).right
    beside = _beside(piece, place, at_length)
    if beside is None:
        return own
    half = own + (beside[1].left if at_length <= SAME_POINT else beside[1].right)
    return half.unit if abs(half) > KINK else own


def _to_fold_end(at: Point, out: Point, border: Any) -> float:
    """How far the edge of the cloth runs on along a fold from a place on it."""
    steps = shapely.get_coordinates(border) - np.array(tuple(at))
    along, across = steps @ np.array(tuple(out)), steps @ np.array(tuple(out.left))
    return float(along[np.abs(across) < FLATTEN].max(initial=0.0))
