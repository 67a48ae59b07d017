"""A collar stand: the strip between neckline and fall, or a band collar on its own.

Half a piece on the fold, x from centre back, y up, outline counter-clockwise. The neck seam is
level at centre back, straight to the shoulder notch or part of the way, and bends up to centre
front; the top edge lies above it at a height that goes evenly from back to front, level at both
ends so that it is square to the fold and runs smoothly into the button stand. Centimetres and
radians.

A parallel curve at height h is shorter by h times the angle turned through (J. Steiner, Über
parallele Flächen, Monatsberichte der Akademie der Wissenschaften zu Berlin, 1840): that is how a
stand leans in to the neck.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite

import numpy as np

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.parameters import Values
from collars.sewing import matches_request, smooth_check
from collars.stands.bends import Bend, bend_with_rise, drawn, lean, most_rise
from drafting.errors import Problem
from drafting.geometry.curves import Curve, corner, joined, line, through
from drafting.geometry.points import FloatArray, Point
from drafting.geometry.roots import root_between
from drafting.pieces.checks import Check
from drafting.pieces.piece import CutPlan, Drill, Edge, Mark, MarkKind, Notch, Piece, ring
from drafting.sentences import DOWN, SHORT, UP, length, span
from drafting.tolerances import SAME_POINT, SEAM

#: No neckline has a shorter arc than this; a tape could not be laid along it.
LEAST_ARC = 1.0
#: The top edge may be bent down to this share of the neck seam's tightest radius. At nothing it
#: would have a cusp; below this it is too tight to sew.
LEAST_RADIUS_SHARE = 0.25
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, slots=True)
class StandShape:
    """What is asked of a stand (cm).

    ``back`` and ``front`` are its heights at centre back and centre front, ``rise`` how far the
    neck seam rises, ``straight`` how much of it stays straight from centre back, ``button_stand``
    how far it runs on beyond centre front, ``radius`` that of its front corner.
    """

    back: float
    front: float
    rise: float
    straight: float
    button_stand: float = 0.0
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Stand:
    """A drawn stand: ``neck`` and ``top`` run from centre back to centre front, ``end`` is where
    the button stand ends on the neck seam; ``neckline`` is what it is sewn to."""

    shape: StandShape
    neckline: Neckline
    bend: Bend
    neck: Curve
    top: Curve

    @property
    def end(self) -> Point:
        """End of the button stand on the neck seam; centre front when there is none."""
        return self.neck.end + self.neck.end_heading * self.shape.button_stand

    @property
    def top_end(self) -> Point:
        """The front corner of the top edge before it is rounded."""
        return self.end + self.neck.end_heading.left * self.shape.front

    @property
    def shoulder_on_top(self) -> float:
        """Length of the top edge from centre back to above the shoulder notch."""
        return _top_length(self.bend, self.shape, self.neckline.back_arc)


def arc_problems(neckline: Neckline) -> list[Problem]:
    """What is wrong with a neckline no collar can be sewn to, key ``neckline``."""
    if isfinite(neckline.half) and min(neckline.back_arc, neckline.front_arc) >= LEAST_ARC:
        return []
    return [
        Problem(
            "a neckline needs both its arcs",
            key="neckline",
            got=f"back {length(neckline.back_arc, places=2)}, "
            f"front {length(neckline.front_arc, places=2)}",
            accepted=f"lengths of {length(LEAST_ARC, places=SHORT, rounding=UP)} and more",
            advice="Tape both on the seam line, darts closed.",
        )
    ]


def stand_problems(neckline: Neckline, shape: StandShape) -> list[Problem]:
    """Everything that makes a stand impossible, each with what would do. Keys are those of the
    parameters ``rise`` and ``stand_back``."""
    if problems := arc_problems(neckline):
        return problems
    bent = neckline.half - shape.straight
    most = most_rise(bent)
    if shape.rise > most:
        return [
            Problem(
                f"this rise is more than {length(bent)} of neck seam can carry",
                key="collar.rise",
                got=length(shape.rise),
                accepted=span(0.0, most),
                advice="Take less rise, or let it begin farther back.",
            )
        ]
    tightest = bend_with_rise(shape.straight, neckline.half, shape.rise).most_curvature
    height = max(shape.back, shape.front)
    if height * tightest > 1.0 - LEAST_RADIUS_SHARE:
        return [
            Problem(
                "the stand is too high for how its neck seam bends: its top edge would close up",
                key="collar.stand_back" if shape.back >= shape.front else "collar.stand_front",
                got=length(height),
                accepted=f"up to {length((1.0 - LEAST_RADIUS_SHARE) / tightest, rounding=DOWN)}",
                advice="Take a lower stand or less rise.",
            )
        ]
    return []


def draw_stand(neckline: Neckline, shape: StandShape) -> Stand:
    """Draw a stand whose neck seam is exactly half the neckline and rises exactly as asked.

    Raises :class:`DraftError` when the neck seam cannot carry the rise; ask
    :func:`stand_problems` first for the rest.
    """
    bend, neck = drawn(shape.straight, neckline.half, shape.rise)
    s = bend.stations(3)
    rows = bend.parallel(s, heights_at(shape, s / bend.length))
    rows[-1] = tuple(neck.end + neck.end_heading.left * shape.front)
    top = through(
        [Point(float(x), float(y)) for x, y in rows],
        start=Point(1.0, 0.0),
        end=neck.end_heading,
    )
    return Stand(shape, neckline, bend, neck, top)


def heights_at(shape: StandShape, share: FloatArray) -> FloatArray:
    """Height of the stand at shares of the neck seam from centre back: level at both ends; for one
    stand or, bends as the last axis, for many."""
    return shape.back + (shape.front - shape.back) * share**2 * (3.0 - 2.0 * share)


def top_length(neckline: Neckline, shape: StandShape) -> float:
    """Length of the top edge, centre back to centre front, reckoned without drawing it: height
    times curvature off the neck seam, and the slope of the height. Raises :class:`DraftError`."""
    return _top_length(bend_with_rise(shape.straight, neckline.half, shape.rise), shape)


def _top_length(bend: Bend, shape: StandShape, upto: float = inf) -> float:
    """Length of the top edge above the neck seam from 0 to ``upto``."""
    ends = bend.stations()
    if upto < inf:
        ends = np.unique(np.minimum(ends, upto))
    return float(reckoned_top(bend, shape, ends))


def reckoned_top(bend: Bend, shape: StandShape, ends: FloatArray) -> FloatArray:
    """Length of the top edge above a neck seam from the first to the last of the arc lengths
    ``ends``; for one stand or, bends as the last axis, for many."""
    leant, slope, half = _along_top(bend, shape, ends)
    return np.asarray((np.tensordot(_WEIGHTS, np.hypot(1.0 - leant, slope), 1) * half).sum(axis=0))


def _along_top(
    bend: Bend, shape: StandShape, ends: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What the length of the top edge is summed up from, between ``ends``: height times curvature,
    the slope of the height, and half the lengths of the stretches."""
    half = 0.5 * np.diff(ends, axis=0)
    s = 0.5 * (ends[:-1] + ends[1:]) + np.multiply.outer(_NODES, half)
    share = s / bend.length
    slope = (shape.front - shape.back) * 6.0 * share * (1.0 - share) / bend.length
    return heights_at(shape, share) * bend.curvature(s), slope, half


def rise_for_top(neckline: Neckline, shape: StandShape, top: float, most: float) -> float | None:
    """The rise with which the half top edge is ``top`` (cm); ``None`` if none from 0 to ``most``
    and within what the stand can be drawn with does it."""
    level = bend_with_rise(shape.straight, neckline.half, 0.0)
    turned = replace(level, angle=1.0)
    leant, slope, half = _along_top(turned, shape, turned.stations())
    weights = np.multiply.outer(_WEIGHTS, half)

    def over(turn: float) -> float:
        return float((np.hypot(1.0 - turn * leant, slope) * weights).sum()) - top

    tightest = (1.0 - LEAST_RADIUS_SHARE) / max(shape.back, shape.front) / turned.most_curvature
    reached = min(most, most_rise(level.bent))
    high = min(bend_with_rise(shape.straight, neckline.half, reached).angle, tightest)
    if over(0.0) < 0.0 or over(high) > 0.0:
        return None
    return replace(level, angle=root_between(over, 0.0, high, xtol=1e-12)).rise


# ---- A drawn stand made up into a piece: edges, notches, button, grain. Centimetres

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


# ---- Settled values of a collar put into the shapes that are drawn. Centimetres

#: Cloth up to this thickness has interfacing in both layers when nothing else is asked.
THIN_CLOTH = 0.1


def drop_hairline(length: float) -> float:
    """A length, or 0 for one too short to be seen, so that no edge is a mere hair."""
    return length if length >= SEAM else 0.0


def stand_shape(
    neckline: Neckline, values: Values, *, beyond: float | None = None, past_front: bool = False
) -> StandShape:
    """The stand that is asked for by ``stand_back``, ``stand_front``, ``rise``, ``straight_back``,
    ``end_round`` and ``button_stand`` (or ``beyond`` in its place). Its corner is not rounded
    farther than centre front unless ``past_front``."""
    front = values.number("stand_front")
    beyond = drop_hairline(values.number("button_stand") if beyond is None else beyond)
    radius = values.number("end_round") * front
    return StandShape(
        back=values.number("stand_back"),
        front=front,
        rise=values.number("rise"),
        straight=values.number("straight_back") * neckline.back_arc,
        button_stand=beyond,
        radius=drop_hairline(radius if past_front else min(radius, beyond)),
    )


def interfaced(values: Values) -> int:
    """How many of two layers have interfacing, by ``interfacing`` and ``cloth_thickness``."""
    word = values.word("interfacing")
    if word == "by cloth":
        word = "both" if values.number("cloth_thickness") <= THIN_CLOTH else "one"
    return {"both": 2, "one": 1, "none": 0}[word]


# ---- What is looked at in every stand, whether a fall is sewn to it or not: checks, numbers
# worth knowing, notes. Every check measures the finished piece. Centimetres and radians


def stand_checks(piece: Piece, stand: Stand, *, top_runs_on: bool = True) -> tuple[Check, ...]:
    """The stand against what was asked of it; its lines run on smoothly, that of the top edge only
    where it is to (``top_runs_on``)."""
    shape, where = stand.shape, f"{piece.code}, "
    _, front, *rest = piece.named(EdgeName.NECK_SEAM)
    end = piece.place(EdgeName.COLLAR_END)
    smooth = [(0, 1)] + ([(1, 2)] if rest else [])
    if top_runs_on and (rest or shape.radius > SAME_POINT):
        smooth.append((end, end + 1))
    at_front = [mark.curve for mark in piece.marks if mark.kind is MarkKind.CENTRE_FRONT]
    if not (at_front or rest) and shape.radius <= SAME_POINT:
        at_front = [piece.edges[end].curve]
    return (
        matches_request("rise at centre front", front.curve.end.y, shape.rise, where + "neck seam"),
        matches_request(
            "stand at centre back",
            piece.length(EdgeName.CENTRE_BACK),
            shape.back,
            where + "centre back",
        ),
        *(
            matches_request(
                "stand at centre front", found.length, shape.front, where + "centre front line"
            )
            for found in at_front
        ),
        matches_request(
            "button stand",
            sum(edge.length for edge in rest),
            shape.button_stand,
            where + "neck seam",
        ),
        smooth_check(
            piece,
            "neck seam and top edge run on smoothly"
            if top_runs_on
            else "neck seam runs on smoothly",
            *smooth,
        ),
    )


def stand_numbers(stand: Stand) -> dict[str, float]:
    """Lengths (cm) and angles (radians) of a stand: edges are half ones, girths and
    ``top_shortening`` whole."""
    half, top = stand.neckline.half, stand.top.length
    return {
        "neck_seam": half,
        "top_edge": top,
        "closed_neck_girth": 2 * half,
        "closed_top_girth": 2 * top,
        "top_shortening": 2 * (half - top),
        "turning_angle": stand.bend.angle,
        "lean_angle": lean(stand.bend.angle),
        "end_radius": stand.shape.radius,
    }


def stand_notes(stand: Stand, values: Values) -> tuple[str, ...]:
    """What the maker should know of the stand besides."""
    said, shape = [], stand.shape
    if values.number("end_round") * shape.front > shape.radius + SAME_POINT:
        corner = f"has a radius of {length(shape.radius)}" if shape.radius else "is square"
        said.append(f"The stand's corner {corner}, so that it does not reach past centre front.")
    if SAME_POINT < shape.button_stand < BUTTON_NEEDS:
        said.append(
            f"A button stand of {length(shape.button_stand)} has no room for a button: close it "
            "with a hook or a stud."
        )
    if shape.front > shape.back + SAME_POINT:
        said.append("The stand is higher in front than at the back: unusual, it may press.")
    return tuple(said)
