"""The drafted bodice made up into pieces: closed outlines of named edges, darts, notches, marks.

Back and front lie as on the table; outlines run counter-clockwise. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from shapely.geometry import Polygon

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.waist import WaistJoint, dart_opening
from blocks.edges import EdgeName
from blocks.finishing.front_edge import figures
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, line
from drafting.geometry.points import Point
from drafting.pieces.assembly import carried_on
from drafting.pieces.piece import (
    CutPlan,
    Dart,
    Drill,
    Edge,
    EdgeKind,
    Mark,
    MarkKind,
    Notch,
    NotchKind,
    Piece,
    Seam,
    Stretch,
    ring,
)
from drafting.sentences import DOWN, length

BACK, FRONT = "BACK", "FRONT"
#: The bust dart is stitched to this far from the bust point (common practice: 1.5 to 2.5).
BUST_DART_HELD_BACK = 2.0
#: Scye notches from the underarm point (common practice); double at the back, single at the front.
SCYE_NOTCH = 7.0


def make_up(draft: BodiceDraft) -> tuple[Piece, Piece]:
    """Back and front piece of a draft, without seam allowances.

    Raises :class:`DraftError` when an outline would cross itself: no body has such measurements.
    """
    back, front = _back(draft), _front(draft)
    for piece in (back, front):
        if not Polygon(piece.outline()).is_valid:
            raise DraftError(
                Problem(
                    f"the outline of the {piece.title.lower()} would cross itself",
                    advice="These measurements do not go together on one body: measure them again, "
                    "shoulder, across front and bust point first.",
                )
            )
    return back, front


def seams(draft: BodiceDraft) -> tuple[Seam, ...]:
    """The seams of the bodice itself."""
    centre = Stretch(BACK, EdgeName.CENTRE_BACK)
    return (
        *((Seam("centre back", centre, centre),) if _has_back_seam(draft) else ()),
        Seam(
            "shoulder",
            Stretch(BACK, EdgeName.SHOULDER),
            Stretch(FRONT, EdgeName.SHOULDER),
            draft.frame.back_ease,
        ),
        Seam("side seam", Stretch(BACK, EdgeName.SIDE_SEAM), Stretch(FRONT, EdgeName.SIDE_SEAM)),
    )


def _has_back_seam(draft: BodiceDraft) -> bool:
    """Whether a waist dart lies in centre back, which is then no fold."""
    return draft.waist.centre_back.x > 1e-6


def _back(draft: BodiceDraft) -> Piece:
    waist, shoulder = draft.waist, draft.shoulder
    at_side = waist.joints[waist.side]
    edges, darts = _waist_run(
        waist.panels[: waist.side + 1], waist.joints[: waist.side], folds_to_first=True
    )
    edges.append(Edge(EdgeName.SIDE_SEAM, line(at_side.left, at_side.apex)))
    side_place = len(edges) - 1
    edges.append(Edge(EdgeName.SCYE, draft.back_scye.curve.reversed()))
    scye_place = len(edges) - 1
    if shoulder.has_dart:
        edges.append(Edge(EdgeName.SHOULDER, line(shoulder.point, shoulder.outer)))
        cap = dart_opening(
            shoulder.outer,
            shoulder.inner,
            shoulder.tip,
            -shoulder.inner_heading,
            folds_to_first=False,
        )
        edges.append(Edge(EdgeName.DART_MOUTH, cap))
        darts.append(
            Dart(
                "shoulder dart",
                shoulder.tip,
                shoulder.tip,
                shoulder.outer,
                shoulder.inner,
                len(edges) - 1,
            )
        )
        edges.append(Edge(EdgeName.SHOULDER, line(shoulder.inner, shoulder.side)))
    else:
        edges.append(Edge(EdgeName.SHOULDER, line(shoulder.point, shoulder.side)))
    edges.append(Edge(EdgeName.NECKLINE, draft.back_neck.reversed()))
    seamed = _has_back_seam(draft)
    blade = Point(0.0, draft.quantities["waist_centre_back_y"])
    centre = [draft.frame.back_neck, waist.centre_back]
    if seamed and blade.y < draft.frame.back_neck.y - 0.5:
        centre.insert(1, blade)
    edges.extend(
        Edge(EdgeName.CENTRE_BACK, line(a, b), on_fold=not seamed) for a, b in pairwise(centre)
    )
    middle = draft.quantities["back_width"] * 0.28
    top, foot = draft.frame.back_neck.y - 4.0, waist.centre_back.y + 4.0
    scye = edges[scye_place].length
    return Piece(
        code=BACK,
        title="Back bodice",
        edges=ring(edges),
        cut=CutPlan(cloth=2, mirrored_pair=True) if seamed else CutPlan(cloth=1, on_fold=True),
        grain=(Point(middle, foot), Point(middle, top)),
        darts=tuple(darts),
        notches=(
            Notch("side seam", side_place, edges[side_place].length / 2),
            Notch("armhole back", scye_place, min(SCYE_NOTCH, 0.4 * scye), NotchKind.DOUBLE),
        ),
        drills=tuple(Drill(dart.tip, dart.name) for dart in darts),
        label_at=Point(draft.quantities["back_width"] * 0.5, 1.0),
    )


def _front(draft: BodiceDraft) -> Piece:
    waist, q = draft.waist, draft.quantities
    at_side = waist.joints[waist.side]
    centre_front = Point(q["half_width"], waist.panels[-1].end.y)
    neck = draft.frame.front_neck
    edges, darts = _waist_run(
        waist.panels[waist.side + 1 :], waist.joints[waist.side + 1 :], folds_to_first=False
    )
    stand = draft.wish.button_stand
    marks: tuple[Mark, ...] = ()
    waist_place = len(edges) - 1
    notches = []
    if stand > 0.0:
        out, top = Point(stand, 0.0), _front_top(draft, centre_front)
        edges += [
            Edge(EdgeName.BUTTON_STAND_END, line(centre_front, centre_front + out)),
            Edge(EdgeName.FRONT_EDGE, line(centre_front + out, top)),
            Edge(EdgeName.BUTTON_STAND_END, line(top, neck)),
        ]
        marks = (Mark(MarkKind.CENTRE_FRONT, line(centre_front, neck), "centre front"),)
        notches.append(Notch("centre front", waist_place, edges[waist_place].length))
    else:
        edges.append(Edge(EdgeName.CENTRE_FRONT, line(centre_front, neck), on_fold=True))
    edges.append(Edge(EdgeName.NECKLINE, draft.front_neck.reversed()))
    if stand > 0.0:
        notches.append(Notch("centre front", len(edges) - 1, 0.0))
    edges.append(Edge(EdgeName.SHOULDER, line(draft.frame.front_side, draft.frame.front_tip)))
    scye = draft.front_scye
    bust_point = draft.points["bust point"]
    edges.append(Edge(EdgeName.SCYE, scye.upper))
    cap = dart_opening(
        scye.dart_upper,
        scye.dart_lower,
        bust_point,
        scye.lower.start_heading,
        folds_to_first=False,
    )
    edges.append(Edge(EdgeName.DART_MOUTH, cap))
    middle = ((scye.dart_upper - bust_point).unit + (scye.dart_lower - bust_point).unit).unit
    tip = bust_point + middle * min(BUST_DART_HELD_BACK, 0.3 * bust_point.to(scye.dart_lower))
    darts.append(
        Dart("bust dart", bust_point, tip, scye.dart_upper, scye.dart_lower, len(edges) - 1)
    )
    edges.append(Edge(EdgeName.SCYE, scye.lower))
    lower = edges[-1].length
    notches.append(Notch("armhole front", len(edges) - 1, lower - min(SCYE_NOTCH, 0.7 * lower)))
    edges.append(Edge(EdgeName.SIDE_SEAM, line(at_side.apex, at_side.right)))
    notches.append(Notch("side seam", len(edges) - 1, edges[-1].length / 2))
    grain_x = (bust_point.x + q["half_width"]) / 2 + 1.0
    return Piece(
        code=FRONT,
        title="Front bodice",
        edges=ring(edges),
        cut=CutPlan(cloth=2, mirrored_pair=True) if stand > 0.0 else CutPlan(cloth=1, on_fold=True),
        grain=(Point(grain_x, centre_front.y + 4.0), Point(grain_x, neck.y - 4.0)),
        darts=tuple(darts),
        notches=tuple(notches),
        marks=marks,
        drills=tuple(Drill(dart.tip, dart.name) for dart in darts),
        label_at=Point(bust_point.x - 1.0, bust_point.y + 6.0),
    )


def _front_top(draft: BodiceDraft, waist: Point) -> Point:
    """The upper end of the front edge, where the neckline meets it. Raises :class:`DraftError`
    when a V would run out so low that no button is left above the waist."""
    frame, stand = draft.frame, draft.wish.button_stand
    top = frame.front_end(stand)
    room = frame.front_neck.y - waist.y - figures("buttonholes")["above_waist"]
    drop = frame.front_neck.y - top.y
    if drop <= room:
        return top
    most = max(stand * room / drop, 0.0)
    raise DraftError(
        Problem(
            "the V meets the front edge so low that no button is left above the waist",
            key="garment.button_stand",
            got=length(stand),
            accepted=f"up to {length(most, rounding=DOWN)} with a V this deep",
            advice="Take a narrower button stand, or lower the front neck less.",
        )
    )


def _waist_run(
    panels: Sequence[Curve], joints: Sequence[WaistJoint], *, folds_to_first: bool
) -> tuple[list[Edge], list[Dart]]:
    """Waist panels and the mouths between them, left to right, with their darts."""
    edges = [Edge(EdgeName.WAIST, panels[0])]
    darts = []
    for joint, before, after in zip(joints, panels[:-1], panels[1:], strict=True):
        away = -before.end_heading if folds_to_first else after.start_heading
        cap = dart_opening(joint.left, joint.right, joint.apex, away, folds_to_first=folds_to_first)
        edges.append(Edge(EdgeName.DART_MOUTH, cap))
        darts.append(
            Dart(
                f"{joint.name} waist dart",
                joint.apex,
                joint.apex,
                joint.left,
                joint.right,
                len(edges) - 1,
            )
        )
        edges.append(Edge(EdgeName.WAIST, after))
    return edges, darts


def with_allowances(piece: Piece, widths: Mapping[EdgeKind, float], otherwise: float) -> Piece:
    """Seam allowances by edge; the ends of a button stand take those of the edges they go on, up
    to the front edge: hem or waist below, neckline above."""
    done = piece.with_allowances(widths, otherwise)
    edges = list(done.edges)
    for k in range(len(edges)):
        name = carried_on(edges, k)
        if name is not None:
            edges[k] = replace(edges[k], allowance=widths.get(name, otherwise))
    for k, edge in enumerate(edges):
        if edge.is_dart_mouth:
            edges[k] = replace(edge, allowance=edges[k - 1].allowance)
    return replace(done, edges=tuple(edges))
