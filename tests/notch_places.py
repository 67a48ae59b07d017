"""Where a piece's notches lie, measured on its drawn lines and not as they were placed: the outer
end of each snip against the cut line; and the place of the sew line nearest to it, which is what a
maker reads a snip for, against the marked place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from drafting.pieces.cutting import NotchMark, cut_line, notch_marks
from drafting.pieces.piece import Piece

#: A snip starts within this of the cut line (cm); the lines are drawn to a hundredth of that.
ON_LINE = 0.003
#: A notch tells its place within this (cm).
AT_PLACE = 0.2
#: Where some place of the cut line tells a corner better than this (cm) it is to be snipped.
_CLEARLY = 0.15
_FINE, _STEP = 1e-4, 0.01


@dataclass(frozen=True)
class Lies:
    """Where one notch lies, in centimetres. ``off``: the farthest of its snips' outer ends from the
    cut line. ``along``: the way along the sew line from what it marks to the place it tells; a
    drill hole's distance from what it marks. ``sound``: its snips lie in the cloth and stop short
    of the sew line; its hole lies in the allowance, and no place of the cut line would have told
    what it marks."""

    piece: str
    name: str
    hole: bool
    off: float
    along: float
    sound: bool

    @property
    def good(self) -> bool:
        """Whether a maker can find it and trust it."""
        return self.sound and self.off <= ON_LINE and self.along <= AT_PLACE


def lies(piece: Piece) -> Iterator[Lies]:
    """Where the notches of a piece lie, measured on its drawn lines."""
    cut = cut_line(piece)
    drawn = [edge.curve.flatten(_FINE) for edge in piece.edges]
    ends = np.cumsum([0.0, *(shapely.LineString(edge).length for edge in drawn)])
    sewn = shapely.LinearRing(np.vstack([edge[:-1] for edge in drawn]))
    for mark in notch_marks(piece, cut):
        marked = (float(ends[mark.notch.edge]) + mark.notch.at) % sewn.length
        yield _measured(piece, mark, sewn, marked, shapely.Polygon(cut.points))


def _measured(piece: Piece, mark: NotchMark, sewn: Any, marked: float, cloth: Any) -> Lies:
    place = sewn.interpolate(marked)
    if mark.hole is not None:
        hole = shapely.Point(*mark.hole)
        hidden = bool(cloth.contains(hole)) and not shapely.Polygon(sewn).contains(hole)
        sound = hidden and _best_told(sewn, place, cloth.exterior) > _CLEARLY
        return Lies(piece.code, mark.notch.name, True, 0.0, float(hole.distance(place)), sound)
    starts = [shapely.Point(*stroke.start) for stroke in mark.strokes]
    told = [float(sewn.project(start)) - marked for start in starts]
    half = sewn.length / 2
    along = abs(float(np.mean([(t + half) % sewn.length - half for t in told])))
    drawn = [shapely.LineString([tuple(s.start), tuple(s.end)]) for s in mark.strokes]
    raw = piece.edges[mark.notch.edge].allowance == 0.0
    finished = shapely.Polygon(sewn)
    sound = all(cloth.buffer(ON_LINE).covers(one) for one in drawn) and (
        raw or not any(finished.intersects(one) for one in drawn)
    )
    off = max(float(cloth.exterior.distance(start)) for start in starts)
    return Lies(piece.code, mark.notch.name, False, off, along, sound)


def _best_told(sewn: Any, place: Any, border: Any) -> float:
    """How near to a place of the sew line any place of the cut line tells."""
    around = shapely.line_interpolate_point(border, np.arange(0.0, border.length, _STEP))
    told = shapely.line_interpolate_point(sewn, shapely.line_locate_point(sewn, around))
    return float(shapely.distance(told, place).min())
