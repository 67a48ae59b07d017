"""The facing of a front edge: cut on to the front and folded under, or a piece of its own.

Either way it is the front itself, traced from hem to shoulder between the front edge and an inner
edge, so that it lies under the front exactly. x from centre back, y up, centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

import numpy as np
from shapely.geometry import LineString, Polygon

from blocks.edges import EdgeName
from blocks.finishing.front_edge import figures
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, corner, joined, line, tangent_cubic
from drafting.geometry.points import FloatArray, Move, Point, crossing
from drafting.geometry.roots import root_between
from drafting.parameters import lies_within
from drafting.pieces.checks import Check, Verdict, within
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Notch, Piece, Seam, Stretch
from drafting.sentences import DOWN, SHORT, keep_values, length, span
from drafting.tolerances import SAME_POINT, SEAM

# ---- The shape of a front facing, traced on the front. x from centre back, y up, centimetres

_UP, _DOWN = Point(0.0, 1.0), Point(0.0, -1.0)
#: The handles that make a corner of equal sides nearly an arc of a circle.
_ARC = 0.65
_FRONT = (
    EdgeName.BUTTON_STAND_END,
    EdgeName.FRONT_EDGE,
    EdgeName.LAPEL_EDGE,
    EdgeName.GORGE,
    EdgeName.NECKLINE,
)


@dataclass(frozen=True, slots=True)
class FacingShape:
    """A facing as it lies on the front, walked counter-clockwise: ``bottom`` along hem or waist
    from the inner edge to the button stand (part of the front's edge ``bottom_place``), the front's
    edges ``places`` up to the neckline, ``top`` (part of the edge ``top_place``, shoulder or
    neckline), and the ``inner`` edge down again."""

    bottom: Curve
    bottom_place: int
    places: tuple[int, ...]
    top: Curve
    top_place: int
    inner: Curve
    front_edge: Curve
    sides: tuple[Curve, ...]

    @property
    def to_shoulder(self) -> bool:
        """Whether the facing reaches the shoulder (else it ends in the neckline)."""
        return self.top_place not in self.places

    def outline(self) -> FloatArray:
        """The facing as a closed polyline, last point not repeated."""
        above = (self.top,) if self.to_shoulder else ()
        ring = (self.bottom, *self.sides, *above, self.inner)
        return np.vstack([curve.flatten()[:-1] for curve in ring])


def trace(front: Piece, width_shoulder: float, width_hem: float) -> FacingShape:
    """The facing of a front, ``width_hem`` from the front edge at the hem and ``width_shoulder``
    along the shoulder; 0 there for a straight facing that ends in the neckline.

    Raises :class:`DraftError` listing everything that stands in its way.
    """
    places = _front_run(front)
    bottom_place, shoulder_place = places[0] - 1, places[-1] + 1
    bottom = front.edges[bottom_place].curve
    neckline = front.edges[places[-1]].curve
    shoulder = front.edges[shoulder_place].curve
    edge = front.edges[next(k for k in places if front.edges[k].name is EdgeName.FRONT_EDGE)].curve
    _check_widths(front, bottom, shoulder, edge, width_shoulder, width_hem)
    at = _length_where(bottom, edge.start.x - width_hem)
    foot = bottom.at_length(at)
    if width_shoulder > 0.0:
        top_place, top = shoulder_place, shoulder.part(0.0, width_shoulder)
        inner = _inner(top.end, shoulder.heading(shoulder.t_at_length(width_shoulder)).left, foot)
    else:
        if neckline.end.x > foot.x - SAME_POINT:
            raise DraftError(
                Problem(
                    "a straight facing as wide as this does not end in the neckline",
                    key="width_hem",
                    got=length(width_hem),
                    accepted=f"under {length(edge.start.x - neckline.end.x, rounding=DOWN)}",
                    advice="Make it narrower, or let it reach the shoulder.",
                )
            )
        top_place, top = places[-1], neckline.part(0.0, _length_where(neckline, foot.x))
        inner = line(top.end, foot)
    sides = tuple(front.edges[k].curve for k in places)
    if top_place in places:
        sides = (*sides[:-1], top)
    return FacingShape(
        bottom.part(at, bottom.length),
        bottom_place,
        tuple(places),
        top,
        top_place,
        inner,
        edge,
        sides,
    )


def _front_run(front: Piece) -> list[int]:
    """Places of the edges from the end of hem or waist at the front up to the side neck point."""
    names = [edge.name for edge in front.edges]
    if EdgeName.FRONT_EDGE not in names:
        folded = EdgeName.CENTRE_FRONT in names
        raise DraftError(
            Problem(
                "this front has no front edge to face"
                + (": it lies on the fold" if folded else ""),
                key="facing",
                place=front.title,
                accepted="a front with a button stand that is not yet faced",
                advice="Give the block a button stand, or leave the front unfaced.",
            )
        )
    start = end = names.index(EdgeName.FRONT_EDGE)
    while start > 0 and names[start - 1] in _FRONT:
        start -= 1
    while end + 1 < len(names) and names[end + 1] in _FRONT:
        end += 1
    below = names[start - 1] if start > 0 else None
    above = names[end + 1] if end + 1 < len(names) else None
    if (
        below in (EdgeName.HEM, EdgeName.WAIST)
        and names[end] in (EdgeName.NECKLINE, EdgeName.GORGE)
        and above is EdgeName.SHOULDER
    ):
        return list(range(start, end + 1))
    where = "between hem and shoulder"
    if EdgeName.DART_MOUTH in (below, above):
        in_neck = names[end] is EdgeName.NECKLINE and above is EdgeName.DART_MOUTH
        where = "in the neckline" if in_neck else "in the front edge"
    raise DraftError(
        Problem(
            f"a dart or an edge {where} interrupts the facing",
            key="facing",
            place=front.title,
            accepted="a front edge and a neckline without darts",
            advice="Move the dart elsewhere, or sew it first and trace the facing from the sewn "
            "front.",
        )
    )


def _check_widths(
    front: Piece,
    bottom: Curve,
    shoulder: Curve,
    edge: Curve,
    width_shoulder: float,
    width_hem: float,
) -> None:
    known = figures("facing")
    centre = next((m.curve for m in front.marks if m.kind is MarkKind.CENTRE_FRONT), edge)
    least = edge.start.x - centre.start.x + known["past_centre"]
    most = min(edge.start.x - bottom.start.x - 0.5, known["width_most"])
    dart = front.named(EdgeName.SHOULDER)[1:]
    room = shoulder.length - (0.0 if dart else 0.5)
    problems = []
    if not lies_within(width_hem, least, most):
        problems.append(
            Problem(
                "the facing cannot be this wide at the hem",
                key="width_hem",
                got=length(width_hem),
                accepted=span(least, most),
                advice="It lies under the button stand and the buttonholes and ends before a dart.",
            )
        )
    if width_shoulder != 0.0 and not lies_within(width_shoulder, known["shoulder_least"], room):
        said = "a dart opens into the shoulder there" if dart else "the shoulder ends there"
        problems.append(
            Problem(
                "the facing cannot be this wide at the shoulder"
                + (f": {said}" if width_shoulder > room else ""),
                key="width_shoulder",
                got=length(width_shoulder),
                accepted=f"{span(known['shoulder_least'], room)}, or 0 for a straight facing",
                advice="Make it narrower, or move the dart elsewhere." if dart else "",
            )
        )
    if problems:
        raise DraftError(problems)


def _length_where(curve: Curve, x: float) -> float:
    """Arc length at which a curve that runs one way from left to right or back passes ``x``."""
    if not min(curve.start.x, curve.end.x) <= x <= max(curve.start.x, curve.end.x):
        raise DraftError(
            Problem(
                "the facing's inner edge does not meet the front's edge where it should end",
                key="facing",
                advice="Make the facing narrower.",
            )
        )
    first, last = curve.span
    t = root_between(lambda t: curve.at(t).x - x, first, last, xtol=1e-13)
    return curve.length_to(t)


def _inner(top: Point, leaving: Point, foot: Point) -> Curve:
    """The inner edge: square to the shoulder, one fair bend, then straight down to the hem."""
    apex = crossing(top, leaving, foot, _UP)
    bend = min(figures("facing")["bend_most"], 0.75 * (top.y - foot.y))
    lowest = Point(foot.x, top.y - bend)
    if apex is not None and lowest.y + 0.15 * bend < apex.y < top.y - 0.15 * bend:
        begin = apex + _DOWN * min(top.to(apex), apex.y - lowest.y)
        upper = corner(top, leaving, begin, _DOWN, _ARC)
    else:  # a shoulder too flat, or a hem too wide or narrow, for a bend one way
        begin = lowest
        upper = tangent_cubic(top, leaving, begin, _DOWN, 0.35 * bend, 0.4 * bend)
    return joined([upper, line(begin, foot)])


# ---- The checks of a front facing, measured on the pieces that are cut. Centimetres


def over(fold: Curve) -> Move:
    """The move that folds one side of a straight line on the other."""
    turn = Move(2.0 * (fold.end - fold.start).angle - pi, mirrored=True)
    return replace(turn, shift=fold.start - turn(fold.start))


def same(front: Piece, piece: Piece, name: EdgeName) -> Check:
    """Edges of one name on front and facing."""
    return fits(f"front facing, {name.value}", piece.length(name), front.length(name), piece)


def fits(name: str, measured: float, target: float, piece: Piece) -> Check:
    """A length of the facing against the front's."""
    return within(
        name,
        measured,
        target,
        SEAM,
        where=piece.title,
        advice="Do not cut: the facing does not fit the front.",
    )


def neck_under(neckline: Curve, shape: FacingShape) -> float:
    """The stretch of the front's neckline that the facing lies under."""
    if shape.to_shoulder:
        return neckline.length
    return neckline.length_to(neckline.nearest(shape.inner.start)[0])


def lies_under(grown: Piece) -> Check:
    """How far the facing's neck and hem, folded under along the drawn fold, lie from the front."""
    (fold,) = (m.curve for m in grown.marks if m.kind is MarkKind.FOLD)
    turn = over(fold)
    front = [grown.named(EdgeName.NECKLINE)[0].curve, *_stand_ends(grown, own=True)]
    front += [e.curve for n in (EdgeName.HEM, EdgeName.WAIST) for e in grown.named(n)[-1:]]
    off = 0.0
    for curve in (
        *(edge.curve for edge in grown.named(EdgeName.NECK_SEAM)),
        *_stand_ends(grown, own=False),
    ):
        under = curve.moved(turn)
        xy = under.xy(under.samples(5))
        off = max(off, float(np.min([edge.nearest_to(xy)[1] for edge in front], axis=0).max()))
    return within(
        "facing folded under: off the front at neck and hem",
        off,
        0.0,
        SEAM,
        where=f"{grown.title}, facing",
        advice="Do not cut: the facing does not lie under the front.",
    )


def _stand_ends(grown: Piece, *, own: bool) -> list[Curve]:
    """Lower and upper end of the button stand, or those of the facing beyond the fold."""
    ends = [edge.curve for edge in grown.named(EdgeName.BUTTON_STAND_END)]
    mine = [ends[0], ends[-1]]
    return mine if own else ends[1:-1]


def same_neck(grown: Piece, shape: FacingShape) -> Check:
    """The facing's neck edge against the stretch of the front's that it lies under."""
    stand = grown.named(EdgeName.BUTTON_STAND_END)[-1].length
    under = neck_under(grown.named(EdgeName.NECKLINE)[0].curve, shape)
    name = "facing folded under: neck edge"
    return fits(name, grown.length(EdgeName.NECK_SEAM), stand + under, grown)


def room(front: Piece, shape: FacingShape) -> list[Check]:
    """Cloth behind the neckline, and behind the buttonholes."""
    known = figures("facing")
    inner = LineString(shape.inner.flatten())
    neckline = front.edges[shape.places[-1]].curve
    checks = []
    if shape.to_shoulder:
        width = inner.distance(LineString(neckline.flatten()))
        checks.append(_noted("facing, least width at the neckline", width, "behind_neckline"))
    holes = [mark.curve for mark in front.marks if mark.kind is MarkKind.BUTTONHOLE]
    if holes:
        area = Polygon(shape.outline())
        cloth = min(
            inner.distance(LineString(hole.flatten()))
            * (1.0 if area.contains(LineString(hole.flatten())) else -1.0)
            for hole in holes
        )
        checks.append(_noted("facing beyond the buttonholes", cloth, "past_buttonhole"))
    return [
        replace(check, source=f"common practice: {length(known[key], places=SHORT)}")
        for check, key in checks
    ]


def _noted(name: str, measured: float, key: str) -> tuple[Check, str]:
    least = figures("facing")[key]
    good = measured >= least - SAME_POINT
    return (
        Check(
            name,
            measured,
            least,
            0.0,
            Verdict.PASS if good else Verdict.NOTE,
            "" if good else "Make the facing wider, or it rolls out.",
            where="front facing",
            least=True,
        ),
        key,
    )


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
