"""The neck edge of a collar that lies on the shoulders: one fair line through the traced neckline,
a little inside it at centre back and below it at centre front, so that the seam rolls under.

In the coordinates of :mod:`collars.laid_shoulders`. Centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collars.fairing import evenly, fair_line
from collars.laid_shoulders import Laid
from drafting.curves import Curve, joined, line
from drafting.points import FloatArray, Point
from drafting.tolerances import SAME_POINT

#: The traced line is pricked through this often (cm).
_PRICKED = 0.1


@dataclass(frozen=True, slots=True)
class NeckShape:
    """What is asked of a neck edge: how far it is raised above the neckline at centre back and
    drawn below it at centre front. ``adjusted``: its front end is moved along its own line until
    it is longer than the neckline by ``ease`` (shorter when negative)."""

    back_raise: float
    front_drop: float
    adjusted: bool = True
    ease: float = 0.0


@dataclass(frozen=True, slots=True)
class NeckEdge:
    """A drawn neck edge. ``back`` runs from centre back to the shoulder notch, ``front`` from there
    to centre front; ``traced`` is how long the line was before its end was moved by ``moved`` (cm,
    negative when it was cut off)."""

    back: Curve
    front: Curve
    traced: float
    moved: float

    @property
    def whole(self) -> Curve:
        """Both as one line."""
        return joined([self.back, self.front])

    @property
    def length(self) -> float:
        """From centre back to centre front."""
        return self.back.length + self.front.length


def draw_neck_edge(laid: Laid, shape: NeckShape) -> NeckEdge:
    """The neck edge on front and back laid together."""
    points = _traced(laid, shape)
    curve = fair_line(points, laid.back.start_heading, laid.front.end_heading)
    traced, moved = curve.length, 0.0
    if shape.adjusted:
        moved = laid.neck.length + shape.ease - traced
        if moved > SAME_POINT:
            curve = joined([curve, line(curve.end, curve.end + curve.end_heading * moved)])
        elif moved < -SAME_POINT:
            curve = curve.part(0.0, traced + moved)
    # what is to be eased is shared by both sides of the shoulder
    notch = laid.shoulder_at + (curve.length - laid.neck.length) / 2.0
    back, front = curve.split_at_length(notch)
    return NeckEdge(back, front, traced, moved)


def _traced(laid: Laid, shape: NeckShape) -> FloatArray:
    """Points of the traced neckline, drawn in at centre back and down at centre front."""
    back, at_back = _pricked(laid.back)
    front, at_front = _pricked(laid.front)
    up, down = _across(laid.back.start_heading.right), _across(laid.down_front)
    back = back + up * (shape.back_raise * (1.0 - _eased(at_back)))[:, None]
    front = front + down * (shape.front_drop * _eased(at_front))[:, None]
    return np.vstack((back, front[1:]))


def _pricked(curve: Curve) -> tuple[FloatArray, FloatArray]:
    """Points evenly along a curve, and their shares of its length."""
    t, lengths = evenly(curve, _PRICKED)
    return curve.xy(t), lengths / lengths[-1]


def _across(step: Point) -> FloatArray:
    return np.array([[step.x, step.y]])


def _eased(share: FloatArray) -> FloatArray:
    return np.asarray(share * share * (3.0 - 2.0 * share), dtype=np.float64)
