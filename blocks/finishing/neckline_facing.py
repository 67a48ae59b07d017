"""Facings for a neckline: strips of one width along the made-up neckline, front and back where
there is no collar, the back alone between the front facings of a collar that is faced.

Traced on the sewn pieces: a dart that opens into the neckline or the shoulder is folded shut first.
Each outer edge is parallel to the neckline, turns its corners sharp, ends on the shoulder as far
from the neck on both pieces, and runs out to the fold or the front edge. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import degrees, pi, sin

import numpy as np
from shapely.geometry import LineString, Polygon

from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between, joined, line, through
from drafting.geometry.points import Move, Point, crossing
from drafting.parameters import lies_within
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.cutting import smooth_parts
from drafting.pieces.piece import CutPlan, Edge, Notch, Piece, Seam, Stretch, ring, seam_mismatch
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT, SEAM, SMOOTH, SQUARE

# ---- The neckline of a piece as it is sewn: its darts folded, walked from the shoulder to the
# centre


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


# ---- The outer edge of a neckline facing. Centimetres and radians

#: Guide points of a parallel stand about this far apart: it then lies within a tenth of a
#: millimetre (computed).
_STEP = 0.8


def outer_edge(half: SewnNeckline, width: float, along: float, *, square: bool = False) -> Curve:
    """A facing's outer edge, shoulder to centre: parallel to the neckline at ``width``, starting
    ``along`` the shoulder in the neckline's direction or ``square`` to it, its corners mitred,
    square to the fold or front edge."""
    side, end = half.side, half.neck.start + half.out * along
    parts = [_parallel(part, side * width) for part in smooth_parts(half.path)]
    first, bend = parts[0], half.inward if square else half.neck.start_heading
    if first.degree == 1:
        parts[0] = line(end, first.end)
    else:
        parts[0] = _from_shoulder(half, first, end, bend)
    run = [parts[0]]
    for part in parts[1:]:
        meet = crossing(run[-1].end, run[-1].end_heading, part.start, part.start_heading)
        if meet is None:
            meet = run[-1].end
        run[-1:] = _to(run[-1], meet)
        run.extend(_on(meet, part))
    foot = half.down.at_length(width)
    level = half.down.start_heading.left * side
    meet = crossing(run[-1].end, run[-1].end_heading, foot, level)
    if abs(angle_between(run[-1].end_heading, level)) > SQUARE and meet is not None:
        run[-1:] = _to(run[-1], meet)  # the point of a V is cut off level
        run.append(line(meet, foot))
    elif run[-1].end.to(foot) > SAME_POINT:
        run[-1] = ending_at(run[-1], foot)
    return joined(run)


def _parallel(curve: Curve, distance: float) -> Curve:
    """The parallel of a smooth curve, positive to the right."""
    if curve.degree == 1:
        step = curve.start_heading.right * distance
        return line(curve.start + step, curve.end + step)
    count = max(round(curve.length / _STEP), 6)
    stops = []
    for s in np.linspace(0.0, curve.length, count + 1):
        t = curve.t_at_length(float(s))
        stops.append(curve.at(t) + curve.heading(t).right * distance)
    return through(stops, curve.start_heading, curve.end_heading)


def _from_shoulder(half: SewnNeckline, parallel: Curve, end: Point, heading: Point) -> Curve:
    """A parallel drawn to start on the shoulder at ``end``, in the neckline's own direction."""
    clear = 0.35 * half.neck.start.to(end)
    stops = [end]
    for s in np.linspace(0.0, parallel.length, max(round(parallel.length / _STEP), 6) + 1):
        p = parallel.at_length(float(s))
        if (p - end).dot(half.inward) > min(clear, 0.5 * parallel.length):
            stops.append(p)
    return through(stops, heading, parallel.end_heading)


def _to(curve: Curve, meet: Point) -> list[Curve]:
    """A curve drawn on along its end, or cut back, to a point on that line."""
    if curve.degree == 1:
        return [line(curve.start, meet)]
    if (meet - curve.end).dot(curve.end_heading) > SAME_POINT:
        return [curve, line(curve.end, meet)]
    if meet.to(curve.end) <= SAME_POINT:
        return [curve]
    t, _ = curve.nearest(meet)
    return [ending_at(curve.split(t)[0], meet)]


def _on(meet: Point, part: Curve) -> list[Curve]:
    if part.degree == 1:
        return [line(meet, part.end)]
    if (part.start - meet).dot(part.start_heading) > SAME_POINT:
        return [line(meet, part.start), part]
    return [ending_at(part.reversed(), meet).reversed()]


def ending_at(curve: Curve, end: Point) -> Curve:
    """A curve whose end is laid exactly on a point beside it (a hair away)."""
    controls = np.array(curve.controls)
    controls[-1] = (end.x, end.y)
    return Curve(curve.degree, curve.knots, controls)


# ---- The checks of neckline facings, measured on the finished pieces. Centimetres, degrees

#: The outer edge may be this much narrower than asked where it meets the shoulder; common practice.
NARROWER = 0.3
#: A neckline without an opening must go over the head; an adult's is 56 to 58 (from memory).
HEAD = 58.0


def facing_checks(
    pieces: tuple[Piece, ...], seams: Sequence[Seam], facings: Sequence[Piece], width: float
) -> tuple[Check, ...]:
    """Facings against the pieces they are sewn to, and against each other; ``pieces`` are all of
    them, ``width`` is the wished one."""
    checks = [
        within(
            seam.name,
            seam_mismatch(pieces, seam),
            0.0,
            SEAM,
            where=seam.first.piece,
            advice="Do not cut: the facing does not walk on the piece.",
        )
        for seam in seams
    ]
    checks.append(shoulders_check(facings))
    for facing in facings:
        checks.append(
            at_least(
                "facing width",
                _least_width(facing),
                width - NARROWER,
                where=facing.code,
                advice="The facing is narrower than asked: draw its edge by hand.",
                source="common practice",
            )
        )
        checks += _square_at_folds(facing)
    if all(any(edge.on_fold for edge in facing.edges) for facing in facings):
        whole = 2.0 * sum(facing.length(EdgeName.NECKLINE) for facing in facings)
        if whole < HEAD:
            checks.append(
                Check(
                    "neckline over the head",
                    whole,
                    HEAD,
                    0.0,
                    Verdict.NOTE,
                    "Back and front are on the fold: leave an opening, or she cannot get in.",
                    where="whole neckline",
                    source=f"from memory: an adult's head is {span(56.0, 58.0, places=0)}",
                    least=True,
                )
            )
    return tuple(checks)


def shoulders_check(facings: Sequence[Piece]) -> Check:
    """Whether the outer edges of two facings run on into each other at the shoulder."""
    return within(
        "facing edge, shoulders together",
        degrees(sum(_at_shoulder(facing) for facing in facings)),
        180.0,
        degrees(SMOOTH),
        unit="deg",
        where="facings, shoulder",
        advice="Draw the outer edges through in one line.",
        source="common practice",
    )


def _at_shoulder(facing: Piece) -> float:
    """Angle of the facing between its shoulder and its outer edge."""
    edges = facing.edges
    k = facing.place(EdgeName.SHOULDER)
    shoulder, after, before = edges[k].curve, edges[(k + 1) % len(edges)], edges[k - 1].curve
    if after.name is EdgeName.FACING_EDGE:
        return pi - abs(angle_between(shoulder.end_heading, after.curve.start_heading))
    return pi - abs(angle_between(before.end_heading, shoulder.start_heading))


def _least_width(facing: Piece) -> float:
    neck = facing.named(EdgeName.NECKLINE)[0].curve
    outer = facing.named(EdgeName.FACING_EDGE)[0].curve
    return float(neck.nearest_to(outer.xy(outer.samples(4)))[1].min())


def _square_at_folds(facing: Piece) -> list[Check]:
    """The outer edge is to meet a fold square, or the opened facing shows a point there."""
    checks, edges = [], facing.edges
    k = facing.place(EdgeName.FACING_EDGE)
    for one, other in ((edges[k - 1], edges[k]), (edges[k], edges[(k + 1) % len(edges)])):
        if one.on_fold or other.on_fold:
            turn = abs(angle_between(one.curve.end_heading, other.curve.start_heading))
            checks.append(
                within(
                    "facing edge square at the fold",
                    degrees(pi - turn),
                    90.0,
                    degrees(SQUARE),
                    unit="deg",
                    where=facing.code,
                    advice="The opened facing would show a point: square the edge at the fold.",
                    source="common practice",
                )
            )
    return checks


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
                    advice="Take a narrower facing, or face neckline and armhole in one.",
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
