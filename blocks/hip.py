"""The bodice lengthened from the waist to the hip, or to any length below the waist.

The side seam is one fair curve from the underarm point through the foot it had at the waist to the
hip; the waist darts run out to a lower point; hem and centres go on square. x from centre back,
y up, centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from shapely.geometry import Polygon

from blocks.bodice import BodiceDraft
from blocks.hip_checks import hip_checks
from blocks.hip_darts import end_darts, lower_depths
from blocks.hip_side import HipSide, hip_figures, hip_side
from blocks.making_up import BACK
from drafting.checks import Check
from drafting.curves import Curve, joined, line, tangent_cubic
from drafting.errors import DraftError, Problem
from drafting.pieces import Drill, Edge, EdgeName, Mark, MarkKind, Notch, Piece
from drafting.points import Move, Point
from drafting.sentences import keep_values, length, span
from drafting.tolerances import SAME_POINT

_DOWN = Point(0.0, -1.0)


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
    down = _DOWN * below
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
        grain=(foot + _DOWN * below, top),
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
                advice="Take waist, hip and waist to hip again, or end the block at the waist.",
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
            notes.append(f"{said} was estimated: take it before cutting.")
    return tuple(notes)
