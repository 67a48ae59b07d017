"""The outer edge of a neckline facing. Centimetres and radians."""

from __future__ import annotations

import numpy as np

from blocks.neckline_trace import SewnNeckline
from drafting.curves import Curve, angle_between, joined, line, through
from drafting.cutting import smooth_parts
from drafting.points import Point, crossing
from drafting.tolerances import SAME_POINT, SQUARE

#: Guide points of a parallel stand about this far apart: it then lies within a tenth of a
#: millimetre (computed).
_STEP = 0.8


def outer_edge(half: SewnNeckline, width: float, along: float, *, square: bool = False) -> Curve:
    """A facing's outer edge, shoulder to centre: parallel to the neckline at ``width``, starting
    ``along`` the shoulder in the neckline's direction or ``square`` to it, its corners mitred,
    square to the fold or front edge."""
    side, end = half.side, half.neck.start + half.out * along
    parts = [_parallel(part, side * width) for part in smooth_parts(half.path)]
    first, bend = parts[0], half.inward if square else half.neck.start_heading
    if first.degree == 1:
        parts[0] = line(end, first.end)
    else:
        parts[0] = _from_shoulder(half, first, end, bend)
    run = [parts[0]]
    for part in parts[1:]:
        meet = crossing(run[-1].end, run[-1].end_heading, part.start, part.start_heading)
        if meet is None:
            meet = run[-1].end
        run[-1:] = _to(run[-1], meet)
        run.extend(_on(meet, part))
    foot = half.down.at_length(width)
    level = half.down.start_heading.left * side
    meet = crossing(run[-1].end, run[-1].end_heading, foot, level)
    if abs(angle_between(run[-1].end_heading, level)) > SQUARE and meet is not None:
        run[-1:] = _to(run[-1], meet)  # the point of a V is cut off level
        run.append(line(meet, foot))
    elif run[-1].end.to(foot) > SAME_POINT:
        run[-1] = ending_at(run[-1], foot)
    return joined(run)


def _parallel(curve: Curve, distance: float) -> Curve:
    """The parallel of a smooth curve, positive to the right."""
    if curve.degree == 1:
        step = curve.start_heading.right * distance
        return line(curve.start + step, curve.end + step)
    count = max(round(curve.length / _STEP), 6)
    stops = []
    for s in np.linspace(0.0, curve.length, count + 1):
        t = curve.t_at_length(float(s))
        stops.append(curve.at(t) + curve.heading(t).right * distance)
    return through(stops, curve.start_heading, curve.end_heading)


def _from_shoulder(half: SewnNeckline, parallel: Curve, end: Point, heading: Point) -> Curve:
    """A parallel drawn to start on the shoulder at ``end``, in the neckline's own direction."""
    clear = 0.35 * half.neck.start.to(end)
    stops = [end]
    for s in np.linspace(0.0, parallel.length, max(round(parallel.length / _STEP), 6) + 1):
        p = parallel.at_length(float(s))
        if (p - end).dot(half.inward) > min(clear, 0.5 * parallel.length):
            stops.append(p)
    return through(stops, heading, parallel.end_heading)


def _to(curve: Curve, meet: Point) -> list[Curve]:
    """A curve drawn on along its end, or cut back, to a point on that line."""
    if curve.degree == 1:
        return [line(curve.start, meet)]
    if (meet - curve.end).dot(curve.end_heading) > SAME_POINT:
        return [curve, line(curve.end, meet)]
    if meet.to(curve.end) <= SAME_POINT:
        return [curve]
    t, _ = curve.nearest(meet)
    return [ending_at(curve.split(t)[0], meet)]


def _on(meet: Point, part: Curve) -> list[Curve]:
    if part.degree == 1:
        return [line(meet, part.end)]
    if (part.start - meet).dot(part.start_heading) > SAME_POINT:
        return [line(meet, part.start), part]
    return [ending_at(part.reversed(), meet).reversed()]


def ending_at(curve: Curve, end: Point) -> Curve:
    """A curve whose end is laid exactly on a point beside it (a hair away)."""
    controls = np.array(curve.controls)
    controls[-1] = (end.x, end.y)
    return Curve(curve.degree, curve.knots, controls)
