"""The front laid on the back at the side neck points, shoulders overlapping: the ground on which
collars are drawn that lie on the shoulders.

As the collar comes to be cut: back neck point at the origin, x from centre back, y down the back.
The neckline runs from there over the shoulder to centre front, bending to the right, and the
collar lies on its left. Centimetres and radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, degrees, pi, radians, sin

from blocks.neckline.neckline import Neckline
from drafting import sentences
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line
from drafting.geometry.points import Move, Point
from drafting.parameters import lies_within

#: Shoulders overlapping by more than this angle leave no neckline to trace.
MOST_ANGLE = radians(40.0)


@dataclass(frozen=True, slots=True)
class Laid:
    """Back and front laid together. ``back`` and ``front`` are the necklines as they lie, ``neck``
    both as one (with a break where the shoulders meet), ``shoulder_at`` the place of the shoulder
    on it (cm from centre back). ``back_shoulder`` and ``front_shoulder`` run from the side neck
    point outwards, apart by ``overlap`` at the length of the front one, which is ``angle``.
    ``down_front`` leads down the centre front line."""

    back: Curve
    front: Curve
    neck: Curve
    shoulder_at: float
    back_shoulder: Curve
    front_shoulder: Curve
    down_front: Point
    overlap: float
    angle: float

    @property
    def side_neck(self) -> Point:
        """Where the shoulders meet the neckline."""
        return self.back.end


def lay_front_on_back(neckline: Neckline, overlap: float) -> Laid:
    """Lay the front on the back, shoulders overlapping by ``overlap`` (cm) at the shoulder point.

    Raises :class:`DraftError` when the neckline was only taped, or when the shoulder is too short
    for the overlap.
    """
    if (
        neckline.back is None
        or neckline.front is None
        or neckline.back_tip is None
        or neckline.front_tip is None
    ):
        raise DraftError(
            Problem(
                "this collar is traced from front and back laid together: a tape is not enough",
                key="neckline",
                got="arcs taped on a paper block",
                advice="Give the client's measurements, or choose a collar with a stand.",
            )
        )
    angle = overlap_angle(neckline, overlap)
    side = neckline.back.end
    back_out, front_out = neckline.back_tip - side, neckline.front_tip - neckline.front.start
    turn = back_out.angle - angle - front_out.angle
    on_back = Move(turn, side - neckline.front.start.turned(turn))
    # y from the nape down the back: mirrored in x and turned by half, which mirrors in y
    nape = neckline.back.start
    over = Move(pi, Point(-nape.x, nape.y), mirrored=True)
    lay = on_back.then(over)
    back, front = neckline.back.moved(over), neckline.front.moved(lay)
    return Laid(
        back=back,
        front=front,
        neck=joined([back, front]),
        shoulder_at=back.length,
        back_shoulder=line(back.end, over(neckline.back_tip)),
        front_shoulder=line(back.end, lay(neckline.front_tip)),
        down_front=lay.step(Point(0.0, -1.0)),
        overlap=overlap,
        angle=angle,
    )


def overlap_angle(neckline: Neckline, overlap: float) -> float:
    """The angle between the shoulders when they overlap by so much at the shoulder point.

    Raises :class:`DraftError` when the shoulder is too short for it.
    """
    length = shoulder_length(neckline)
    most = most_overlap(neckline)
    if not lies_within(overlap, 0.0, most):
        raise DraftError(
            Problem(
                f"a shoulder of {sentences.length(length)} cannot overlap that much: "
                f"more than {degrees(MOST_ANGLE):.0f} degrees leave no neckline to trace",
                key="collar.overlap",
                got=sentences.length(overlap, places=2),
                accepted=sentences.span(0.0, most),
                advice="Take less overlap, or widen the neckline less.",
            )
        )
    return 2.0 * asin(overlap / (2.0 * length))


def shoulder_length(neckline: Neckline) -> float:
    """The sewn shoulder: that of the front. Raises ``ValueError`` for a taped neckline."""
    if neckline.front is None or neckline.front_tip is None:
        raise ValueError("a taped neckline has no shoulder")
    return neckline.front.start.to(neckline.front_tip)


def most_overlap(neckline: Neckline) -> float:
    """The greatest overlap a neckline's shoulder carries. Raises ``ValueError`` with a tape."""
    return 2.0 * shoulder_length(neckline) * sin(MOST_ANGLE / 2.0)


def overlap_of(neckline: Neckline, angle: float) -> float:
    """The overlap at the shoulder point that turns the shoulders by an angle."""
    return 2.0 * shoulder_length(neckline) * sin(angle / 2.0)
