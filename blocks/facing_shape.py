"""The shape of a front facing, traced on the front. x from centre back, y up, centimetres."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from blocks.front_edge import figures
from drafting.curves import Curve, corner, joined, line, tangent_cubic
from drafting.errors import DraftError, Problem
from drafting.parameters import lies_within
from drafting.pieces import EdgeName, MarkKind, Piece
from drafting.points import FloatArray, Point, crossing
from drafting.roots import root_between
from drafting.sentences import DOWN, length, span
from drafting.tolerances import SAME_POINT

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
