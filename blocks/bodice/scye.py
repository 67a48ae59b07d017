"""The scye (armhole): drawn with the bust dart folded, then opened again.

x from centre back, y up from the bust line, centimetres. Square to the shoulder at both shoulder
points and square to the side seam at the underarm point, so that no corner shows across either
seam once it is sewn (a level end, as drafted by hand, leaves one when the side seam slants).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from blocks.bodice.methods import Quantities
from blocks.neckline.shoulder import BackShoulder
from drafting.geometry.curves import Curve, through
from drafting.geometry.points import Move, Point

#: The back width line may come this near to the upright below the shoulder point; a scye that has
#: to swing out below the shoulder is not one a cutter would accept. The same in front, where a
#: neckline is narrowed. Common practice.
SHOULDER_OVER_BACK = 0.4
#: How far up between bust dart and shoulder point the front scye touches the front width line;
#: the height is free (common practice).
FRONT_TOUCH = 0.35


@dataclass(frozen=True, slots=True)
class BackScye:
    """Back scye, shoulder point to underarm point; ``pitch`` where it is narrowest by plan,
    ``eased`` how far (cm) that lies inside the back width line for want of shoulder."""

    curve: Curve
    pitch: Point
    guide: Point
    eased: float


@dataclass(frozen=True, slots=True)
class FrontScye:
    """Front scye: ``upper`` from the shoulder point to the bust dart, ``lower`` on to the underarm
    point. ``touches`` tells whether it touches the front width line (else the dart's leg)."""

    upper: Curve
    lower: Curve
    guide: Point
    dart_upper: Point
    dart_lower: Point
    touches: bool


def back_scye(q: Quantities, shoulder: BackShoulder, side_slant: float) -> BackScye:
    """The back scye of a method's quantities; ``side_slant`` in radians, in to the waist."""
    underarm = Point(q["side_x"], q["underarm_y"])
    width = q["back_width"]
    most = shoulder.point.x - SHOULDER_OVER_BACK
    eased = max(0.0, width - most)
    step = q["back_scye_corner"] / sqrt(2.0)
    pitch = Point(width - eased, q["back_pitch_y"])
    guide = Point(width + step, underarm.y + step)
    arriving = Point(1.0, 0.0).turned(-side_slant)
    curve = through(
        [shoulder.point, pitch, guide, underarm], shoulder.outer_heading.right, arriving
    )
    return BackScye(curve, pitch, guide, eased)


def front_scye(
    q: Quantities, shoulder_point: Point, shoulder_out: Point, side_slant: float
) -> FrontScye:
    """The front scye; ``shoulder_out`` is the direction of the front shoulder, outwards."""
    bust_point = Point(q["bust_point_x"], q["bust_point_y"])
    opening = q["bust_dart_angle"]
    lower = Point(q["scye_dart_x"], q["scye_dart_y"])
    upper = lower.turned(-opening, bust_point)
    folding = Move.about(bust_point, opening)
    step = q["front_scye_corner"] / sqrt(2.0)
    guide = Point(lower.x - step, q["underarm_y"] + step)
    touch_x = q["front_touch_x"]
    touches = touch_x > upper.x and touch_x > shoulder_point.x
    stops = [folding(shoulder_point)]
    if touches:
        touch_y = upper.y + FRONT_TOUCH * (shoulder_point.y - upper.y)
        stops.append(folding(Point(touch_x, touch_y)))
    stops += [lower, guide, Point(q["side_x"], q["underarm_y"])]
    arriving = Point(-1.0, 0.0).turned(side_slant)
    folded = through(stops, folding.step(shoulder_out.left), arriving)
    at_dart = float(folded.knots[folded.degree + (2 if touches else 1)])
    above, below = folded.split(at_dart)
    return FrontScye(above.moved(folding.back), below, guide, upper, lower, touches)
