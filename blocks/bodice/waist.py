"""The waist: darts, and a waist line trued with every dart and the side seam closed.

Each dart is folded about its upper end, the side seam about the underarm point; one smooth curve
is drawn through the feet, square to both centres, cut at the feet and opened again. Legs therefore
stay equal and the sewn waist is one line.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2

import numpy as np

from blocks.bodice.methods import Quantities
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, line, polyline, through
from drafting.geometry.points import Many, Move, Point, crossing
from drafting.sentences import UP, length
from drafting.tolerances import SOLVED

#: A dart narrower than this is left out: a thread's width.
LEAST_DART = 0.05
#: The least cloth between two darts at the waist that can still be sewn. Common practice.
LEAST_PANEL = 1.0
#: The shortest dart that still runs out to nothing without a pucker. Common practice.
LEAST_DART_LENGTH = 1.0
#: A waist nearer below the bust line is none.
LEAST_DEPTH = 4.0
#: Each truing leaves a hundredth of the excess before; three are enough.
TRUINGS = 12


#: Every dart there may be at the waist, and which quantities are its width, its place and the
#: height of its upper end.
DARTS = {
    "back": ("waist_back", "waist_back_x", "waist_back_y"),
    "back side": ("waist_back_side", "waist_back_side_x", "waist_back_side_y"),
    "front side": ("waist_front_side", "waist_front_side_x", "waist_front_side_y"),
    "front": ("waist_front", "bust_point_x", "waist_front_y"),
}


@dataclass(frozen=True, slots=True)
class WaistJoint:
    """A dart at the waist, or the side seam: it closes about ``apex``, laying ``right`` on
    ``left``."""

    name: str
    apex: Point
    left: Point
    right: Point

    def closing(self) -> Move:
        """The move that lays the right foot on the left one."""
        turn = (self.left - self.apex).angle - (self.right - self.apex).angle
        return Move.about(self.apex, turn)


@dataclass(frozen=True, slots=True)
class Waist:
    """The trued half waist, centre back to centre front: ``panels`` between the ``joints``."""

    centre_back: Point
    joints: tuple[WaistJoint, ...]
    panels: tuple[Curve, ...]
    closed: Curve

    @property
    def side(self) -> int:
        """Which of the joints is the side seam."""
        return next(k for k, joint in enumerate(self.joints) if joint.name == "side")

    @property
    def side_slant(self) -> float:
        """How far each side seam leans from upright, radians, inwards to the waist."""
        seam = self.joints[self.side]
        return atan2((seam.right.x - seam.left.x) / 2.0, seam.apex.y - seam.left.y)


def draw_waist(q: Quantities) -> Waist:
    """The waist of a method's quantities.

    A trued waist is a little longer than the straight lines between its darts; the side seam takes
    that in, so that the sewn waist is body plus ease. Raises :class:`DraftError` when darts run
    into each other or the waist lies above the bust line.
    """
    level = -q["waist_depth"]
    if level > -LEAST_DEPTH:
        raise DraftError(
            Problem(
                f"the waist comes only {length(-level)} below the bust line",
                advice="Measure the back waist length and the armhole depth again.",
            )
        )
    darts = [dart_joint(q, name) for name, (width, *_) in DARTS.items() if q[width] >= LEAST_DART]
    for dart in darts:
        if dart.apex.y - dart.left.y < LEAST_DART_LENGTH:
            raise DraftError(
                Problem(
                    f"the {dart.name} waist dart would be only {length(dart.apex.y - dart.left.y)} "
                    "long",
                    accepted=f"{length(LEAST_DART_LENGTH, places=0, rounding=UP)} or more",
                    advice="Measure back waist length and side neck to bust point again.",
                )
            )
    start, end, square = waist_ends(q)
    planned = planned_waist(q, darts)
    side = q["waist_side"]
    for _ in range(TRUINGS):
        joints = sorted((*darts, side_joint(q, side)), key=lambda joint: joint.apex.x)
        _check_room(start, joints, end)
        waist = _true(start, joints, end, square)
        excess = waist.closed.length - planned
        if abs(excess) < SOLVED:
            break
        side += excess
    return waist


# What follows, as far as ``folded``, is worked out for one body or, with arrays, for many.


def dart_joint(q: Mapping[str, float], name: str) -> WaistJoint:
    """A dart at the waist as it is planned; ``name`` is one of ``DARTS``."""
    width, x, top = (q[key] for key in DARTS[name])
    y = _level_at(q, x)
    return WaistJoint(name, Point(x, top), Point(x - width / 2, y), Point(x + width / 2, y))


def side_joint(q: Mapping[str, float], taken_in: float) -> WaistJoint:
    """The side seam when it takes in so much at the waist."""
    foot, step = Point(q["side_x"], -q["waist_depth"]), Point(taken_in / 2.0, 0.0)
    return WaistJoint("side", Point(q["side_x"], q["underarm_y"]), foot - step, foot + step)


def waist_ends(q: Mapping[str, float]) -> tuple[Point, Point, Point]:
    """The waist at centre back and at centre front, and the direction it leaves centre back in."""
    start = Point(q["waist_centre_back"], -q["waist_depth"])
    end = Point(q["half_width"], _level_at(q, q["half_width"]))
    return start, end, (start - Point(0.0, q["waist_centre_back_y"])).left


def planned_waist(q: Mapping[str, float], darts: Sequence[WaistJoint]) -> float:
    """What the half waist is to measure once its darts are closed."""
    whole = q["half_width"] - q["waist_centre_back"] - q["waist_side"]
    for dart in darts:
        whole -= dart.right.x - dart.left.x
    return whole


def rooms(start: Point, joints: Sequence[WaistJoint], end: Point) -> list[float]:
    """The cloth between neighbours at the waist, from centre back to centre front."""
    lefts = [*(joint.left.x for joint in joints), end.x]
    rights = [start.x, *(joint.right.x for joint in joints)]
    return [left - right for left, right in zip(lefts, rights, strict=True)]


def folded(
    start: Point, joints: Sequence[WaistJoint], end: Point
) -> tuple[list[Point], list[Move]]:
    """The feet with every joint closed, both centres among them, and the move that closes up each
    panel."""
    moves = [Move()]
    stops = [start]
    for joint in joints:
        stops.append(moves[-1](joint.left))
        moves.append(joint.closing().then(moves[-1]))
    stops.append(moves[-1](end))
    return stops, moves


def _level_at(q: Mapping[str, float], x: float) -> Many:
    """The waist line's height at ``x``: it drops from the side to the bust point."""
    share = (x - q["side_x"]) / (q["bust_point_x"] - q["side_x"])
    return -q["waist_depth"] - q["front_waist_drop"] * np.minimum(np.maximum(share, 0.0), 1.0)


def _check_room(start: Point, joints: Sequence[WaistJoint], end: Point) -> None:
    names = ["centre back", *(joint.name for joint in joints), "centre front"]
    for (one, other), room in zip(pairwise(names), rooms(start, joints, end), strict=True):
        if room < LEAST_PANEL:
            raise _crowded(one, other, room)


def _crowded(one: str, other: str, room: float) -> DraftError:
    return DraftError(
        Problem(
            f"only {length(room)} of cloth is left at the waist between {one} and {other}",
            accepted=f"{length(LEAST_PANEL, places=0, rounding=UP)} or more",
            advice="Measure bust and waist girth again, or choose the other method.",
        )
    )


def _true(start: Point, joints: Sequence[WaistJoint], end: Point, square: Point) -> Waist:
    stops, moves = folded(start, joints, end)
    closed = through(stops, square, moves[-1].step(Point(1.0, 0.0)))
    panels: list[Curve] = []
    rest = closed
    for t in closed.knots[closed.degree + 1 : -closed.degree - 1]:
        done, rest = rest.split(float(t))
        panels.append(done)
    panels.append(rest)
    opened = tuple(panel.moved(move.back) for panel, move in zip(panels, moves, strict=True))
    return Waist(start, tuple(joints), opened, closed)


def dart_opening(
    first: Point, second: Point, apex: Point, under: Point, *, folds_to_first: bool
) -> Curve:
    """The trued cap of a dart from its first foot to its second.

    ``under`` is the direction, at the foot the dart is folded towards, in which the seam runs away
    from the dart. The cap is that seam mirrored on the leg, so that the folded dart ends on it.
    """
    near = first if folds_to_first else second
    leg = (apex - near).unit
    mirrored = leg * (2.0 * under.dot(leg)) - under
    middle = ((first - apex).unit + (second - apex).unit).unit
    tip = crossing(near, mirrored, apex, middle)
    if tip is None or (tip - near).dot(mirrored) <= 0:
        return line(first, second)
    return polyline([first, tip, second])
