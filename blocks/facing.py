"""The facing of a front edge: cut on to the front and folded under, or a piece of its own.

Either way it is the front itself, traced from hem to shoulder between the front edge and an inner
edge, so that it lies under the front exactly. x from centre back, y up, centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from shapely.geometry import LineString, Polygon

from blocks.facing_checks import fits, lies_under, neck_under, over, room, same, same_neck
from blocks.facing_shape import FacingShape, trace
from blocks.front_edge import figures
from drafting.checks import Check
from drafting.curves import Curve
from drafting.errors import DraftError, Problem
from drafting.pieces import (
    CutPlan,
    Edge,
    EdgeName,
    Mark,
    MarkKind,
    Notch,
    Piece,
    Seam,
    Stretch,
)
from drafting.points import Point
from drafting.sentences import keep_values
from drafting.tolerances import SAME_POINT

FACING = "FRONT-FACING"
#: Ways to face a front edge.
KINDS = "none", "cut on", "separate"


@dataclass(frozen=True, slots=True)
class Faced:
    """A front with its facing: ``front`` may have grown, ``pieces`` are new ones."""

    front: Piece
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    checks: tuple[Check, ...]
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")


def faced_front(
    front: Piece,
    *,
    kind: str,
    width_shoulder: float | None = None,
    width_hem: float | None = None,
) -> Faced:
    """The front with its edge faced.

    ``kind``: ``none``; ``cut on``, the facing goes on beyond the front edge, which becomes a fold;
    ``separate``, a piece of its own. ``width_hem`` is measured from the front edge at the hem,
    ``width_shoulder`` along the shoulder from the side neck point; with 0 the facing is straight
    and ends in the neckline. Left out, a separate facing takes the usual widths, one cut on is
    straight. Raises :class:`DraftError` for a front without a front edge, for widths that do not
    fit, and for darts that open into the facing.
    """
    if kind not in KINDS:
        raise DraftError(
            Problem(
                "a front edge is not faced this way",
                key="facing",
                got=kind,
                accepted=", ".join(KINDS),
            )
        )
    if kind == "none":
        return Faced(front, (), (), (), ())
    known = figures("facing")
    if width_shoulder is None:
        width_shoulder = known["width_shoulder"] if kind == "separate" else 0.0
    if width_hem is None:
        width_hem = known["width_hem"]
    shape = trace(front, width_shoulder, width_hem)
    faced = _separate(front, shape) if kind == "separate" else _cut_on(front, shape)
    return replace(faced, checks=(*faced.checks, *room(front, shape)))


# ---- a piece of its own -----------------------------------------------------------------------


def _separate(front: Piece, shape: FacingShape) -> Faced:
    places = list(shape.places)
    edges = [
        Edge(front.edges[shape.bottom_place].name, shape.bottom),
        *(replace(front.edges[k], allowance=0.0) for k in places),
    ]
    if shape.top_place in places:
        edges[-1] = Edge(front.edges[shape.top_place].name, shape.top)
    else:
        edges.append(Edge(EdgeName.SHOULDER, shape.top))
    edges.append(Edge(EdgeName.FACING_EDGE, shape.inner))
    notches = []
    for notch in front.notches:
        if notch.edge == shape.bottom_place:
            at = notch.at - (front.edges[notch.edge].length - shape.bottom.length)
            here = 0
        elif notch.edge in places:
            at, here = notch.at, 1 + places.index(notch.edge)
        else:
            continue
        if -SAME_POINT <= at <= edges[here].length + SAME_POINT:
            notches.append(replace(notch, edge=here, at=max(at, 0.0)))
    foot = shape.bottom.start
    edge_x, top = shape.front_edge.start.x, shape.front_edge.end.y
    grain_x = (foot.x + edge_x) / 2.0
    rise = (top - foot.y) * 0.15
    piece = Piece(
        code=FACING,
        title="Front facing",
        edges=tuple(edges),
        cut=CutPlan(cloth=2, interfacing=2, mirrored_pair=True),
        grain=(Point(grain_x, foot.y + rise), Point(grain_x, top - rise)),
        notches=tuple(notches),
        marks=tuple(mark for mark in front.marks if mark.kind is MarkKind.CENTRE_FRONT),
        label_at=Point(grain_x, (foot.y + top) / 2.0),
    )
    _check_sound(piece, shape, front)
    last = front.edges[shape.places[-1]].name
    whole = [n for n in _SEWN if piece.named(n) and (n is not last or shape.to_shoulder)]
    checks = [same(front, piece, name) for name in whole]
    seams = [Seam(f"front facing, {n.value}", _side(front, n), _side(piece, n)) for n in whole]
    if not shape.to_shoulder:
        under = neck_under(front.edges[shape.places[-1]].curve, shape)
        checks.append(fits(f"front facing, {last.value}", piece.length(last), under, piece))
        seams.append(
            Seam(
                f"front facing, {last.value}",
                Stretch(front.code, last, end=under),
                Stretch(FACING, last),
            )
        )
    return Faced(front, (piece,), tuple(seams), tuple(checks), ())


def _side(piece: Piece, name: EdgeName) -> Stretch:
    """One side of a seam of the facing. Of a button stand's ends it is the upper one: the lower
    one is turned up with the hem."""
    upper = len(piece.named(name)) - 1 if name is EdgeName.BUTTON_STAND_END else None
    return Stretch(piece.code, name, upper)


#: Edges along which a facing is sewn to its front.
_SEWN = (
    EdgeName.FRONT_EDGE,
    EdgeName.LAPEL_EDGE,
    EdgeName.GORGE,
    EdgeName.BUTTON_STAND_END,
    EdgeName.NECKLINE,
)


# ---- cut on -----------------------------------------------------------------------------------


def _cut_on(front: Piece, shape: FacingShape) -> Faced:
    names = [front.edges[k].name for k in shape.places]
    end, edge = EdgeName.BUTTON_STAND_END, EdgeName.FRONT_EDGE
    if names != [end, edge, end, EdgeName.NECKLINE] or shape.front_edge.degree != 1:
        raise DraftError(
            Problem(
                "this front edge cannot be a fold: it is not one straight line from hem to "
                "neckline",
                key="facing",
                got="cut on",
                accepted="separate",
            )
        )
    low, fold_at, high, _ = shape.places
    turn = over(shape.front_edge)

    def turned(name: EdgeName, curve: Curve) -> Edge:
        return Edge(name, curve.moved(turn).reversed())

    top = [turned(EdgeName.NECK_SEAM, shape.top)]
    if shape.to_shoulder:
        neckline = front.edges[shape.places[-1]].curve
        top = [turned(EdgeName.FACING_EDGE, shape.top), turned(EdgeName.NECK_SEAM, neckline)]
    beyond = [
        turned(end, front.edges[low].curve),
        turned(end, shape.bottom),
        turned(EdgeName.FACING_EDGE, shape.inner),
        *top,
        turned(EdgeName.NECK_SEAM, front.edges[high].curve),
    ]
    more = len(beyond) - 1
    edges = [*front.edges[:fold_at], *beyond, *front.edges[high:]]
    notches = [
        replace(notch, edge=notch.edge + (more if notch.edge > fold_at else 0))
        for notch in front.notches
        if notch.edge != fold_at
    ]
    notches += [Notch("fold", fold_at, 0.0), Notch("fold", fold_at + more + 1, 0.0)]
    notches.append(Notch("centre front", fold_at + more, 0.0))  # on the facing's own neck edge
    grown = replace(
        front,
        edges=tuple(edges),
        darts=tuple(
            replace(dart, mouth=dart.mouth + (more if dart.mouth > fold_at else 0))
            for dart in front.darts
        ),
        notches=tuple(notches),
        marks=(*front.marks, Mark(MarkKind.FOLD, shape.front_edge, "front edge, fold")),
    )
    _check_sound(grown, shape, front)
    return Faced(grown, (), _folded_under(grown), (lies_under(grown), same_neck(grown, shape)), ())


def _folded_under(grown: Piece) -> tuple[Seam, ...]:
    """The neck edge of a facing cut on, to the neckline and button stand it is folded under."""
    code, neck, end = grown.code, EdgeName.NECK_SEAM, EdgeName.BUTTON_STAND_END
    facing = grown.named(neck)[0]
    return (
        Seam(
            "facing folded under, neckline",
            Stretch(code, neck, 0),
            Stretch(code, EdgeName.NECKLINE, end=facing.length),
        ),
        Seam(
            "facing folded under, button stand",
            Stretch(code, neck, 1),
            Stretch(code, end, len(grown.named(end)) - 1),
        ),
    )


def _check_sound(piece: Piece, shape: FacingShape, front: Piece) -> None:
    """The outline is simple, and the facing nowhere reaches beyond the front."""
    inside = Polygon(front.outline()).buffer(1e-3)
    if Polygon(piece.outline()).is_valid and inside.contains(LineString(shape.inner.flatten())):
        return
    raise DraftError(
        Problem(
            "the facing would run out of the front or across itself",
            key="facing",
            advice="Make it narrower at the hem or wider at the shoulder.",
        )
    )
