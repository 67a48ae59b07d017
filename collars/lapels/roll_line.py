"""The roll line of a lapel collar, and the back part that is drawn on to it.

From the break point on the front edge the roll line runs straight to the shoulder line, which is
drawn on beyond the side neck point by the stand less a little; from there it swings outward over
the back neck. The neck seam goes from the side neck point to centre back, exactly as long as the
back neckline; square to its end stand and fall make centre back. Centimetres and radians; the front
on the table with centre front to the right, the collar growing on above it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import degrees, radians

from blocks.neckline.neckline import Neckline
from collars.falls.fall import covering
from collars.lapels.front import LapelFront
from collars.lying import neckline_turning
from collars.parameters import Values
from drafting.errors import Problem
from drafting.geometry.curves import Curve, bezier, line
from drafting.geometry.points import Move, Point, direction
from drafting.pieces.piece import Piece
from drafting.sentences import DOWN, length, span

#: The roll line passes the side neck point this much nearer than the stand is high: the collar goes
#: up beside the neck before it turns (studopedia.ru/26_91401; M. Müller & Sohn, double stand
#: collar).
WITHIN_STAND = 0.5
#: The break point lies this far above the first button (studopedia.ru/26_91401: 0.5 to 1).
ABOVE_BUTTON = 0.75
#: No collar is swung further than this: beyond, the neck seam would be bent back on itself.
MOST_SWING = radians(70.0)
#: Shares of the bent neck seam before and after the place where its end directions cross.
_BEFORE, _AFTER = 0.35, 0.65


@dataclass(frozen=True, slots=True)
class RollLine:
    """A drawn roll line with the back part of its collar.

    ``break_at`` lies on the front edge, ``below`` (cm) above its foot; ``top`` is where the roll
    line meets the shoulder line, ``up`` its direction there. ``swing`` (cm over the back neck) and
    ``angle`` turn it outward. ``neck`` runs from the side neck point to ``foot`` at centre back,
    ``back`` is the roll line from ``top`` to centre back, ``outer`` the end of the fall there;
    ``along`` is the direction in which the neck seam reaches centre back.
    """

    break_at: Point
    below: float
    top: Point
    up: Point
    swing: float
    angle: float
    stand: float
    fall: float
    neck: Curve
    back: Curve
    outer: Point
    along: Point

    @property
    def side_neck(self) -> Point:
        """The side neck point."""
        return self.neck.start

    @property
    def foot(self) -> Point:
        """Where the neck seam meets centre back."""
        return self.neck.end

    @property
    def front(self) -> Curve:
        """The straight roll line from the break point to the shoulder line."""
        return line(self.break_at, self.top)

    @property
    def extension(self) -> float:
        """Length of the roll line over the back, from the shoulder line to centre back."""
        return self.back.length

    def beside(self, p: Point) -> float:
        """How far a point lies to the right of the straight roll line: on the lapel's side."""
        return (p - self.break_at).dot(self.up.right)

    def along_roll(self, p: Point) -> float:
        """How far up the straight roll line a point lies, from the break point."""
        return (p - self.break_at).dot(self.up)

    def turned_over(self, curve: Curve) -> Curve:
        """A curve of the lapel as it lies on the front once turned over the roll line."""
        turn = Move(2.0 * self.up.angle - radians(180.0), mirrored=True)
        shift = self.break_at - turn(self.break_at)
        return curve.moved(Move(turn.angle, shift, mirrored=True))


def swing_by_law(neckline: Neckline, stand: float, fall: float) -> float:
    """The swing (cm over the back neck) with which a collar comes to lie at its stand.

    The neck seam of a strip ``stand + fall`` wide that is to stand ``stand`` high turns by the
    neckline's own turning less twice the stand's share of it; over the back neck that is the
    swing. Computed, from the lengths of parallel curves (J. Steiner, 1840).
    """
    return neckline.back_arc * _turning(neckline) * (1.0 - 2.0 * stand / (stand + fall))


def _turning(neckline: Neckline) -> float:
    turning = neckline_turning(neckline)
    if turning is None:
        raise ValueError("the swing cannot be worked out without the shoulder slope")
    return turning


def roll_problems(front: LapelFront, neckline: Neckline, values: Values) -> list[Problem]:
    """All that makes the roll line or the back part impossible."""
    problems = []
    low, high = front.break_range
    y = break_height(front.piece, values)
    if not low <= y <= high:
        problems.append(
            Problem(
                _break_off(y, low, high),
                key="collar.break_height",
                got=length(y, places=2),
                accepted=f"{span(low, high)} from the bust line" if low <= high else "",
                advice=f"Up to {length(3.0, places=0)} below the front neck point, and with "
                f"{length(2.5)} of front edge left below for the button.",
            )
        )
    stand, fall = values.number("stand_back"), values.number("fall_back")
    if fall < stand:
        problems.append(
            Problem(
                f"this fall cannot cover a stand {length(stand)} high",
                key="collar.fall_back",
                got=length(fall),
                accepted=f"{covering(stand, values.number('turn_of_cloth'))} or more",
                advice="Take a deeper fall or a lower stand.",
            )
        )
        return problems
    swing = swing_of(neckline, values)
    most = MOST_SWING * neckline.back_arc
    if swing > most:
        advice = "Take less swing."
        key, got, accepted = "swing", swing, most
        if "swing" not in values.wished:
            advice = "Take a shallower fall or a higher stand."
            deepest = 2.0 * stand / (1.0 - MOST_SWING / _turning(neckline)) - stand
            key, got, accepted = "fall_back", fall, deepest
        problems.append(
            Problem(
                f"the collar would swing by {degrees(swing / neckline.back_arc):.0f} degrees: so "
                "flat a collar cannot roll",
                key=f"collar.{key}",
                got=length(got),
                accepted=f"up to {length(accepted, places=2, rounding=DOWN)}",
                advice=advice,
            )
        )
    return problems


def break_height(front: Piece, values: Values) -> float:
    """The height of the break point above the bust line: as asked, else so that the button below
    it sits at the fullest part of the bust, where the bust dart points; on the bust line when the
    front has no such dart."""
    usual = values.number("break_height")
    if "break_height" in values.wished:
        return usual
    dart = next((dart for dart in front.darts if dart.name.startswith("bust dart")), None)
    return usual + (dart.apex.y if dart else 0.0)


def _break_off(y: float, low: float, high: float) -> str:
    """What is wrong with a break point outside its range."""
    if low > high:
        return "this front is too short for a lapel"
    if y > high:
        return "the break point lies above the neck of this front, or too near to it"
    return "the break point lies below the waist of this front, or leaves no room for a button"


def swing_of(neckline: Neckline, values: Values) -> float:
    """The swing asked for, or the one by the law when none is."""
    if "swing" in values.wished:
        return values.number("swing")
    return swing_by_law(neckline, values.number("stand_back"), values.number("fall_back"))


def draw_roll_line(
    front: LapelFront, neckline: Neckline, values: Values, leaves: Point | None = None
) -> RollLine:
    """Draw it; ask :func:`roll_problems` first. ``leaves`` is the direction in which the neck seam
    starts from the side neck point, square to the shoulder when left out."""
    stand, fall = values.number("stand_back"), values.number("fall_back")
    break_at, below = front.break_at(break_height(front.piece, values))
    top = front.side_neck - front.out * (stand - WITHIN_STAND)
    up = (top - break_at).unit
    swing = swing_of(neckline, values)
    angle = swing / neckline.back_arc
    along = direction(up.angle + angle)
    neck = _neck_seam(
        front.side_neck,
        leaves or front.out.right,
        along,
        neckline.back_arc + values.number("neck_ease"),
    )
    across = along.right
    end = neck.end + across * stand
    reach = top.to(end) / 3.0
    return RollLine(
        break_at=break_at,
        below=below,
        top=top,
        up=up,
        swing=swing,
        angle=angle,
        stand=stand,
        fall=fall,
        neck=neck,
        back=bezier(top, top + up * reach, end - along * reach, end),
        outer=end + across * fall,
        along=along,
    )


def _neck_seam(start: Point, leaving: Point, along: Point, length: float) -> Curve:
    """One cubic of a length whose bend dies away towards centre back, where it is straight."""
    unit = _bent(start, leaving, along, 1.0)
    return _bent(start, leaving, along, length / unit.length)


def _bent(start: Point, leaving: Point, along: Point, size: float) -> Curve:
    crossing = start + leaving * (_BEFORE * size)
    last = along * (_AFTER * size)
    return bezier(start, crossing, crossing + last * 0.5, crossing + last)
