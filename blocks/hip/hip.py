"""The bodice lengthened from the waist to the hip, or to any length below the waist.

The side seam is one fair curve from the underarm point through the foot it had at the waist to the
hip; the waist darts run out to a lower point; hem and centres go on square. x from centre back,
y up, centimetres.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import atan2, degrees, tan
from types import MappingProxyType

import numpy as np
from shapely.geometry import Polygon

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.making_up import BACK
from blocks.edges import EdgeName
from blocks.hip.checks import hip_checks
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line, polyline, tangent_cubic, through
from drafting.geometry.points import Move, Point
from drafting.geometry.roots import root_between
from drafting.library import read_data
from drafting.parameters import lies_within
from drafting.pieces.checks import Check
from drafting.pieces.piece import Dart, Drill, Edge, Mark, MarkKind, Notch, Piece
from drafting.sentences import keep_values, length, span
from drafting.tolerances import SAME_POINT

# ---- Waist darts of a bodice that goes on below the waist: pointed at both ends. Centimetres


def lower_depths(
    darts: Iterable[Dart], reach: float, below: float, figures: Mapping[str, float]
) -> tuple[dict[str, float], tuple[str, ...]]:
    """How far below the waist each waist dart ends, by the dart's name, with notes.

    The usual depth, but never beyond the usual share of the way to the hip (``reach``) nor too near
    the hem, ``below`` the waist.
    """
    depths: dict[str, float] = {}
    shortened = []
    for dart in darts:
        if not dart.name.endswith("waist dart"):
            continue
        usual = figures["dart_" + dart.name.removesuffix(" waist dart").replace(" ", "_")]
        by_hip = figures["dart_share"] * reach
        by_hem = below - figures["dart_above_hem"]
        depths[dart.name] = min(usual, by_hip, by_hem)
        if depths[dart.name] < usual - 0.05:
            shortened.append(f"the {dart.name} {length(depths[dart.name])}")
    if not shortened:
        return depths, ()
    return depths, (
        f"Shorter than usual below the waist, to end above hip and hem: {', '.join(shortened)}.",
    )


def end_darts(
    darts: Iterable[Dart], depths: Mapping[str, float]
) -> tuple[tuple[Mark, ...], tuple[Drill, ...]]:
    """The stitch lines of waist darts with their lower points, and drills at both points and at
    both feet on the waist."""
    marks: list[Mark] = []
    drills: list[Drill] = []
    for dart in darts:
        waist = dart.first.towards(dart.second, 0.5)
        low = Point(dart.apex.x, waist.y - depths[dart.name])
        corners = (dart.tip, dart.first, low, dart.second)
        marks.append(Mark(MarkKind.STITCH, polyline((*corners, dart.tip)), dart.name))
        drills += [Drill(at, dart.name) for at in corners]
    return tuple(marks), tuple(drills)


# ---- The side seam of a bodice that goes on below the waist: one fair curve from the underarm
# point through its foot at the waist to the hip. x from centre back, y up, centimetres

_DOWN = Point(0.0, -1.0)
#: The hem turns up to meet a slanting side seam square over this share of its width.
_HEM_TURN = 0.25


@dataclass(frozen=True, slots=True)
class HipSide:
    """The side seam of the back, underarm point to hem; ``foot`` is where it passes the waist,
    ``hip`` where it is to lie at the hip, ``steepest`` its farthest lean below the waist, degrees,
    outwards positive."""

    curve: Curve
    foot: Point
    hip: Point
    steepest: float

    @property
    def to_foot(self) -> float:
        """Arc length from the underarm point to the waist."""
        return self.curve.length_to(self.curve.nearest(self.foot)[0])


@cache
def hip_figures() -> Mapping[str, float]:
    """Usual figures and limits by name; see ``data/hip.toml`` (angles in degrees)."""
    values = read_data("hip").values
    found = {f"ease_{key}": float(row["value"]) for key, row in values["ease"].items()}
    found |= {f"dart_{key}": float(row["value"]) for key, row in values["darts"].items()}
    found |= {key: float(row["value"]) for key, row in values["limits"].items()}
    return MappingProxyType(found)


def hip_side(draft: BodiceDraft, hip_ease: float, reach: float, below: float) -> HipSide:
    """The back's side seam; the front's is its mirror image. ``reach`` from waist to hip, ``below``
    from waist to hem. Raises :class:`DraftError` for a length or an ease that is none and for sides
    that would swing too steeply."""
    figures, q, seam = hip_figures(), draft.quantities, draft.waist.joints[draft.waist.side]
    top, foot = seam.apex, seam.left
    problems = []
    if not lies_within(hip_ease, 0.0, figures["ease_most"]):
        problems.append(
            Problem(
                "a bodice is not cut with this ease at the hip",
                key="hip_ease",
                got=length(hip_ease),
                accepted=span(0.0, figures["ease_most"], places=0),
            )
        )
    if not lies_within(below, figures["length_least"], figures["length_most"]):
        problems.append(
            Problem(
                "a bodice cannot be lengthened by this",
                key="length",
                got=length(below),
                accepted=f"{span(figures['length_least'], figures['length_most'], places=0)} below "
                "the waist",
            )
        )
    if problems:
        raise DraftError(problems)
    half = (draft.body["hip_girth"] + hip_ease) / 2.0
    out = (half - (q["half_width"] - draft.waist.centre_back.x)) / 2.0
    hip = Point(top.x + out, foot.y - reach)
    guide = top.towards(foot, figures["straight_share"])
    shaped = through([top, guide, foot, hip], foot - top, _DOWN)
    headings = [shaped.heading(t) for t in shaped.samples() if shaped.at(t).y < foot.y]
    steepest = max((degrees(atan2(h.x, -h.y)) for h in headings), key=abs)
    if abs(steepest) > figures["steep_stop"]:
        way = "out" if steepest > 0.0 else "in"
        raise DraftError(
            Problem(
                f"below the waist the sides would swing {way} by {abs(steepest):.0f}°",
                key="hip_girth",
                got=f"{length(draft.body['hip_girth'])} and {length(hip_ease)} of ease",
                accepted=f"up to {figures['steep_stop']:.0f}°",
                advice="Measure waist, hip and waist to hip again; else end the block at the waist "
                "and cut a peplum or a skirt to it.",
            )
        )
    if below > reach + SAME_POINT:
        return HipSide(
            joined([shaped, line(hip, hip + _DOWN * (below - reach))]), foot, hip, steepest
        )
    if below < reach - SAME_POINT:
        t = _cut_at(shaped, foot, below, top.x)
        shaped = shaped.split(t)[0]
    return HipSide(shaped, foot, hip, steepest)


def _cut_at(shaped: Curve, foot: Point, below: float, half_hem: float) -> float:
    """Where the side seam ends so that a hem square to it still comes out level at the centre."""
    at_foot, _ = shaped.nearest(foot)

    def over(t: float) -> float:
        heading = shaped.heading(t)
        rise = tan(atan2(heading.x, -heading.y)) * _HEM_TURN * half_hem
        return shaped.at(t).y - (foot.y - below + rise)

    places = np.linspace(at_foot, shaped.span[1], 65)[1:]
    above = at_foot
    if over(above) <= 0.0:
        raise DraftError(
            Problem(
                "the sides lean too much where the hem would lie",
                key="length",
                got=f"{length(below)} below the waist",
                advice="Lengthen the bodice more, or end it at the waist.",
            )
        )
    for place in places:
        if over(float(place)) <= 0.0:
            return root_between(over, above, float(place), xtol=1e-12)
        above = float(place)
    return float(shaped.span[1])


_HIP_DOWN = Point(0.0, -1.0)


@dataclass(frozen=True, slots=True)
class Lengthened:
    """Back and front lengthened below the waist, without seam allowances."""

    back: Piece
    front: Piece
    checks: tuple[Check, ...]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")


def to_hip(
    draft: BodiceDraft, back: Piece, front: Piece, *, hip_ease: float, length: float | None = None
) -> Lengthened:
    """Back and front as made up, lengthened to the hip line, or to ``length`` below the waist.

    ``hip_ease`` is the ease in the whole hip girth. The hem replaces the waist edge; each waist
    dart becomes a closed stitch line with a lower point, and the waist line stays as a mark.
    Raises :class:`DraftError` when the pieces no longer have the waist they were made up with, when
    length or ease are none a bodice has, or when the sides would have to swing out or in more
    steeply than cloth lies.
    """
    reach = draft.body["waist_to_hip"]
    below = reach if length is None else length
    _check_pieces(back, front)
    side = hip_side(draft, hip_ease, reach, below)
    depths, notes = lower_depths((*back.darts, *front.darts), reach, below, hip_figures())
    mirror = _mirror(draft)
    new_back = _back(back, side, depths, below)
    new_front = _front(front, side, mirror, depths, below)
    for piece in (new_back, new_front):
        _check_sound(piece)
    said = (*_notes(draft, side, hip_ease, reach, below), *notes)
    checks = hip_checks(draft, new_back, new_front, hip_ease=hip_ease, to_hip=below >= reach)
    return Lengthened(new_back, new_front, checks, said)


def _check_pieces(back: Piece, front: Piece) -> None:
    problems = []
    for piece in (back, front):
        names = [edge.name for edge in piece.edges]
        plain = (
            names[0] is EdgeName.WAIST
            and names.count(EdgeName.SIDE_SEAM) == 1
            and piece.edges[piece.place(EdgeName.SIDE_SEAM)].curve.degree == 1
            and all(
                dart.name.endswith("waist dart")
                for dart in piece.darts
                if dart.mouth < _run_end(piece)
            )
        )
        if not plain:
            problems.append(
                Problem(
                    "this piece has no longer the waist and the side seam it was made up with",
                    place=piece.title,
                    accepted="back and front as made up to the waist",
                    advice="Lengthen the block first, then move its darts.",
                )
            )
    if problems:
        raise DraftError(problems)


def _run_end(piece: Piece) -> int:
    """How many edges the waist has, dart mouths counted: they stand first in the ring."""
    return 1 + max(k for k, edge in enumerate(piece.edges) if edge.name is EdgeName.WAIST)


def _mirror(draft: BodiceDraft) -> Move:
    """Lays the back's side seam on the front's: they are mirror images about the side line."""
    return Move(0.0, Point(2.0 * draft.waist.joints[draft.waist.side].apex.x, 0.0), mirrored=True)


# ---- the pieces -------------------------------------------------------------------------------


def _back(piece: Piece, side: HipSide, depths: Mapping[str, float], below: float) -> Piece:
    last = piece.edges[-1]
    waist, hem_y = last.curve.end, last.curve.end.y - below
    centre = Point(waist.x, hem_y)
    ends_side = side.curve.end
    hem = _hem(centre, Point(1.0, 0.0), ends_side, side.curve.end_heading.left)
    straight = abs(last.curve.start.x - waist.x) < SAME_POINT
    run = _run_end(piece)
    edges = [
        Edge(EdgeName.HEM, hem),
        Edge(EdgeName.SIDE_SEAM, side.curve.reversed()),
        *piece.edges[run + 1 : -1],
    ]
    if straight:
        edges.append(replace(last, curve=line(last.curve.start, centre)))
    else:
        edges += [last, replace(last, curve=line(waist, centre))]
    whole = side.curve.length
    return _remade(piece, edges, run, 1, whole - side.to_foot, depths, below)


def _front(
    piece: Piece, side: HipSide, mirror: Move, depths: Mapping[str, float], below: float
) -> Piece:
    run = _run_end(piece)
    down = _HIP_DOWN * below
    seam = side.curve.moved(mirror)
    old = piece.edges[run - 1].curve.end
    centre = old + down
    hem = _hem(seam.end, seam.end_heading.left, centre, Point(1.0, 0.0))
    edges: list[Edge] = [Edge(EdgeName.HEM, hem)]
    for edge in piece.edges[run:-1]:
        curve = edge.curve
        if curve.start.y < old.y + SAME_POINT or curve.end.y < old.y + SAME_POINT:
            curve = _lowered(curve, old.y, down)
        edges.append(replace(edge, curve=curve))
    edges.append(Edge(EdgeName.SIDE_SEAM, seam))
    marks = tuple(
        replace(mark, curve=_lowered(mark.curve, old.y, down))
        if mark.kind is MarkKind.CENTRE_FRONT
        else mark
        for mark in piece.marks
    )
    remade = _remade(
        replace(piece, marks=marks),
        edges,
        run,
        len(edges) - 1,
        side.to_foot,
        depths,
        below,
    )
    edge_at = next((k for k, e in enumerate(edges) if e.name is EdgeName.FRONT_EDGE), None)
    if edge_at is None:
        return remade
    return replace(remade, notches=(*remade.notches, Notch("waist", edge_at, below)))


def _lowered(curve: Curve, level: float, down: Point) -> Curve:
    """A straight line whose ends at the waist of the centre front go down."""
    ends = [p + down if p.y < level + SAME_POINT else p for p in (curve.start, curve.end)]
    return line(ends[0], ends[1])


def _hem(start: Point, leaving: Point, end: Point, arriving: Point) -> Curve:
    """A fair hem, square at both ends: straight when they lie on one level."""
    width = start.to(end)
    along = (end - start).unit
    if abs(along.cross(leaving)) < 1e-9 and abs(along.cross(arriving)) < 1e-9:
        return line(start, end)
    return tangent_cubic(start, leaving, end, arriving, 0.4 * width, 0.4 * width)


def _remade(
    piece: Piece,
    edges: list[Edge],
    run: int,
    side_at: int,
    waist_at: float,
    depths: Mapping[str, float],
    below: float,
) -> Piece:
    """The piece on its new ring: notches and darts find their edges, the waist darts their points,
    the waist line is drawn in."""
    fewer = run - 1
    darts = tuple(
        replace(dart, mouth=dart.mouth - fewer) for dart in piece.darts if dart.mouth >= run
    )
    ending = tuple(dart for dart in piece.darts if dart.mouth < run)
    notches = []
    for notch in piece.notches:
        here = max(notch.edge - fewer, 0)
        at = notch.at
        if notch.edge < run:
            at = edges[0].length
        elif here == side_at:
            # the waist notch does above the waist; this one goes half-way from there to the hem
            hem_end = 0.0 if side_at == 1 else edges[here].length
            at = (waist_at + hem_end) / 2
        notches.append(replace(notch, edge=here, at=at))
    notches.append(Notch("waist", side_at, waist_at))
    stitched, drills = end_darts(ending, depths)
    waist = [edge.curve for edge in piece.edges[:run]]
    for dart in ending:
        waist[dart.mouth] = line(dart.first, dart.second)
    kept: tuple[Drill, ...] = tuple(
        drill for drill in piece.drills if drill.label not in {dart.name for dart in ending}
    )
    foot, top = piece.grain
    return replace(
        piece,
        edges=tuple(edges),
        darts=darts,
        notches=tuple(notches),
        marks=(*piece.marks, *stitched, Mark(MarkKind.CONSTRUCTION, joined(waist), "waist")),
        drills=(*kept, *drills),
        grain=(foot + _HIP_DOWN * below, top),
    )


def _check_sound(piece: Piece) -> None:
    """The outline is simple and the waist darts lie inside it, apart from each other."""
    area = Polygon(piece.outline())
    problems = []
    if not area.is_valid:
        problems.append("the outline would cross itself")
    else:
        darts = [Polygon(m.curve.controls) for m in piece.marks if m.kind is MarkKind.STITCH]
        if not all(area.contains(dart) for dart in darts):
            problems.append("a waist dart would run out of the piece")
        if any(a.intersects(b) for k, a in enumerate(darts) for b in darts[k + 1 :]):
            problems.append("two waist darts would run into each other")
    if problems:
        raise DraftError(
            Problem(
                f"below the waist {' and '.join(problems)}",
                place="Back" if piece.code == BACK else "Front",
                advice="Measure waist, hip and waist to hip again, or end the block at the waist.",
            )
        )


def _notes(
    draft: BodiceDraft, side: HipSide, hip_ease: float, reach: float, below: float
) -> tuple[str, ...]:
    figures, body = hip_figures(), draft.body
    notes = []
    low, high = figures["ease_usual_least"], figures["ease_usual_most"]
    if not low <= hip_ease <= high and not draft.ease.named:  # a named ease says it itself
        notes.append(
            f"{length(hip_ease)} of ease at the hip is {'little' if hip_ease < low else 'much'} "
            f"for a blouse: {span(low, high, places=0)} is usual."
        )
    if body["hip_girth"] < body["waist_girth"]:
        notes.append(
            "The hips are narrower than the waist: such a bodice hangs better straight from the "
            "fullest part. Make a toile first."
        )
    gone_in = side.foot.x - side.hip.x
    if gone_in > 0.05:
        notes.append(
            f"The sides go in by {length(gone_in)} each from the waist to the hip, because the "
            "block is full for these hips; with "
            f"{length(hip_ease + 4.0 * gone_in)} of ease at the hip "
            "they would hang straight."
        )
    if side.steepest > figures["steep_note"]:
        notes.append(
            f"The sides swing out by {side.steepest:.0f}° below the waist, more than the usual "
            f"{figures['steep_note']:.0f}°: stretch the back side seam at the waist with the iron, "
            "and try a toile."
        )
    if below < reach - SAME_POINT:
        notes.append(
            f"The hem lies {length(reach - below)} above the hip: try the width there on the body."
        )
    for key in ("hip_girth", "waist_to_hip"):
        if body.is_estimated(key):
            said = "The hip girth" if key == "hip_girth" else "The length from waist to hip"
            notes.append(f"{said} is estimated: measure it before cutting.")
    return tuple(notes)
