"""The lines of a notched collar on its front: gorge, lapel, step and the collar's own edges.

The neck part of the front runs from the side neck point down to the gorge; the gorge is one
straight line from there across the roll line to the point of the lapel. The collar takes up the
same lines from the other side. Centimetres and radians; see :mod:`collars.roll_line`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, pi

from blocks.neckline import Neckline
from collars.lapel_front import LapelFront
from collars.parameters import Values
from collars.roll_line import RollLine, draw_roll_line
from drafting.curves import Curve, bezier, line
from drafting.errors import Problem
from drafting.points import Point, crossing, direction
from drafting.sentences import DOWN, length

#: The gorge must cross the roll line at least this far above the break point, and the point of the
#: lapel lie at least so far up; less is no lapel.
LEAST_LAPEL = 6.0
#: So much of the gorge at least is sewn beyond the roll line, and so far the collar's point lies
#: outside it: else the collar has no front.
LEAST_GORGE = 1.0
#: The corner of the gorge keeps at least this share of the side neck point's distance from the
#: roll line, so that the neck part never reaches the fold.
LEAST_INSIDE = 0.4


@dataclass(frozen=True, slots=True)
class Gorge:
    """The drawn lines. ``corner`` is where neck part and gorge meet, ``crosses`` where the gorge
    crosses the roll line, ``point`` that of the lapel, ``end`` where the collar ends on the gorge
    line, ``collar_point`` the collar's own. ``lapel`` runs from the break point to ``point``,
    ``outer`` from ``collar_point`` to centre back."""

    roll: RollLine
    corner: Point
    crosses: Point
    point: Point
    end: Point
    collar_point: Point
    lapel: Curve
    outer: Curve

    @property
    def step(self) -> Curve:
        """From the lapel's point along the gorge line to the collar's end."""
        return line(self.point, self.end)

    @property
    def front(self) -> Curve:
        """The collar's front edge, from the gorge to its point."""
        return line(self.end, self.collar_point)


def draw_gorge(
    front: LapelFront, neckline: Neckline, values: Values
) -> tuple[Gorge | None, list[Problem]]:
    """Roll line, gorge and lapel, or every reason why they cannot be; ask
    :func:`collars.roll_line.roll_problems` first."""
    plain = draw_roll_line(front, neckline, values)
    up, width = plain.up, values.number("lapel_width")
    drop = values.number("gorge_drop")
    crosses = plain.top - up * drop
    # worn, the line is the mirror image over the roll line of the one on the table
    slope = values.number("gorge_slope")
    run = direction(2.0 * up.angle - (pi + slope))
    lean = up.right.dot(run)
    point = crosses + run * (width / lean) if lean > 0.2 else crosses
    problems = _impossible(plain, values, crosses, point, lean)
    if problems:
        return None, problems
    end = point - run * values.number("notch_step")
    inside = front.out.left
    corner = crossing(front.side_neck, inside, crosses, run)
    nearest = LEAST_INSIDE * -plain.beside(front.side_neck)
    if corner is None or -plain.beside(corner) < nearest:
        corner = crosses - run * (nearest / lean)
    away = -plain.beside(corner)
    if plain.along_roll(corner) > plain.along_roll(front.side_neck) - 1.0 or away > 3.0 * nearest:
        corner = crosses - run * (-plain.beside(front.side_neck) / lean)
    if plain.along_roll(corner) > plain.along_roll(front.side_neck) - 1.0:
        return None, [
            Problem(
                "the gorge would lie at the side neck point itself",
                key="collar.gorge_drop",
                got=length(drop),
                advice="Draw the gorge lower or less sloping.",
            )
        ]
    roll = draw_roll_line(front, neckline, values, (front.side_neck - corner).unit)
    to_point = run.turned(values.number("notch_angle"))
    collar_point = end + to_point * values.number("collar_front")
    if roll.beside(collar_point) < LEAST_GORGE:
        return None, [
            Problem(
                "the point of the collar would lie beyond the roll line",
                key="collar.notch_angle",
                got=f"{degrees(values.number('notch_angle')):.0f} degrees",
                advice="Open the notch less, or take a shorter front edge of the collar.",
            )
        ]
    return (
        Gorge(
            roll=roll,
            corner=corner,
            crosses=crosses,
            point=point,
            end=end,
            collar_point=collar_point,
            lapel=_lapel(roll.break_at, point, values.number("lapel_belly")),
            outer=_outer(collar_point, roll),
        ),
        [],
    )


def _impossible(
    roll: RollLine, values: Values, crosses: Point, point: Point, lean: float
) -> list[Problem]:
    drop, width, step = (values.number(key) for key in ("gorge_drop", "lapel_width", "notch_step"))
    problems = []
    most = roll.along_roll(roll.top) - LEAST_LAPEL
    if drop > most or roll.along_roll(point) < LEAST_LAPEL:
        problems.append(
            Problem(
                f"the gorge lies so low that it leaves no lapel on a roll line of "
                f"{length(roll.along_roll(roll.top))}",
                key="collar.gorge_drop",
                got=length(drop),
                accepted=f"up to {length(most, rounding=DOWN)}" if drop > most else "",
                advice="Draw the gorge higher or less steep, or take a lower break point.",
            )
        )
    if lean <= 0.2:
        problems.append(
            Problem(
                "the gorge would run along the roll line",
                key="collar.gorge_slope",
                got=f"{degrees(values.number('gorge_slope')):.0f} degrees",
                advice="Let it slope less.",
            )
        )
    elif width - step * lean < LEAST_GORGE:
        problems.append(
            Problem(
                "the step leaves nothing of the gorge to sew beyond the roll line",
                key="collar.notch_step",
                got=length(step),
                accepted=f"up to {length((width - LEAST_GORGE) / lean, rounding=DOWN)}",
                advice="Take a shorter step or a wider lapel.",
            )
        )
    return problems


def _lapel(start: Point, point: Point, belly: float) -> Curve:
    """From the break point to the lapel's point, rounded outwards by ``belly`` at its middle."""
    out = (point - start).unit.right * (4.0 / 3.0 * belly)
    return bezier(
        start, start.towards(point, 1 / 3) + out, start.towards(point, 2 / 3) + out, point
    )


def _outer(start: Point, roll: RollLine) -> Curve:
    """From the collar's point to centre back, which it meets square; straight at both ends, one
    bend between."""
    reach = start.to(roll.outer)
    handle = roll.outer - roll.along * (0.45 * reach)
    return bezier(start, start.towards(handle, 0.5), handle, roll.outer)
