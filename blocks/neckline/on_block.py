"""The neckline on the block: its points, its two curves, and moves of them.

x from centre back, y up, centimetres; radians. Both curves leave the centre square (the V has its
point there) and meet the shoulder at angles that make 180 degrees together, so that neither an
opened half nor a sewn shoulder shows a point.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from math import atan2, pi
from types import MappingProxyType

import numpy as np

from blocks.neckline.shoulder import BackShoulder, true_back_shoulder
from drafting.geometry.curves import Curve, angle_between, bezier, corner, polyline
from drafting.geometry.points import Point, direction
from drafting.library import read_data
from drafting.sentences import Sentence

# ---- Shapes of a style neckline's front: V, square and boat. (The round one is the frame's
# own.)

#: A hollow is at most this share of a V's length, so that a short one is no bow.
_HOLLOW_MOST = 0.04


@dataclass(frozen=True, slots=True)
class Range:
    """The least and most (cm) of one move of a shape, and what to do outside of them."""

    least: float
    most: float
    advice: str


@dataclass(frozen=True, slots=True)
class Shape:
    """A neckline shape: its ``title``, how far it may be moved (``front_lower``, ``side_widen``,
    ``back_lower``), and its own figures by name."""

    key: str
    title: str
    moves: Mapping[str, Range]
    figures: Mapping[str, float]


@cache
def shapes() -> Mapping[str, Shape]:
    """Every shape by its key, as ``data/neckline.toml`` lists them."""
    found = {}
    for key, table in read_data("neckline").values["shapes"].items():
        found[key] = Shape(
            key,
            Sentence(table["title"]),
            {
                move: Range(float(row["least"]), float(row["most"]), Sentence(row["advice"]))
                for move, row in table["moves"].items()
            },
            {name: float(row["value"]) for name, row in table["figures"].items()},
        )
    return MappingProxyType(found)


def v_front(side: Point, neck: Point) -> Curve:
    """A V: from the side neck point to the front neck point in one line, hollowed a little."""
    hollow = _hollow(side, neck)
    down = (neck - side).unit
    bow = down.right * (4.0 * hollow / 3.0)  # the middle of a cubic takes 3/4 of its handles' bow
    return bezier(side, side.towards(neck, 1 / 3) + bow, side.towards(neck, 2 / 3) + bow, neck)


def square_front(side: Point, neck: Point) -> Curve:
    """A square: down from the side neck point, a shade inwards, then straight across."""
    inwards = shapes()["square"].figures["slant"]
    depth = side.y - neck.y
    return polyline([side, Point(side.x + inwards * depth, neck.y), neck])


def boat_front(side: Point, out: Point, neck: Point) -> Curve:
    """A boat: wide and shallow; ``out`` is the direction of the front shoulder, outwards."""
    figures = shapes()["boat"].figures
    leaving = out.turned(_radians(figures["front_angle"]))
    # The level front neck can only be reached from a direction that meets it on the way.
    chord = (neck - side).angle
    leaving = direction(min(leaving.angle, 1.25 * chord))
    return corner(side, leaving, neck, Point(1.0, 0.0), figures["fullness"])


def end_angle(shape: str, side: Point, neck: Point) -> float:
    """How far a shape's front neckline slopes down at the front neck point, from level: nought for
    all but the V, which is to have its corner there."""
    if shape != "v":
        return 0.0
    slope = atan2(side.y - neck.y, neck.x - side.x)
    return slope - atan2(4.0 * _hollow(side, neck), side.to(neck))


def corner_turn(shape: str) -> float | None:
    """By how much a square neckline is to turn at its corner; ``None`` for shapes without one."""
    if shape != "square":
        return None
    return pi / 2 - atan2(shapes()["square"].figures["slant"], 1.0)


def _hollow(side: Point, neck: Point) -> float:
    return min(shapes()["v"].figures["hollow"], _HOLLOW_MOST * side.to(neck))


def _radians(degrees: float) -> float:
    return degrees * pi / 180.0


@dataclass(frozen=True, slots=True)
class NeckChange:
    """A move of the neckline, centimetres: the front neck point up, both side neck points out
    along the shoulder, the back neck point down, both shoulder points out. Negative values go the
    other way."""

    front_raise: float = 0.0
    side_shift: float = 0.0
    back_lower: float = 0.0
    shoulder_shift: float = 0.0

    def plus(self, other: NeckChange) -> NeckChange:
        """Both moves."""
        return NeckChange(
            self.front_raise + other.front_raise,
            self.side_shift + other.side_shift,
            self.back_lower + other.back_lower,
            self.shoulder_shift + other.shoulder_shift,
        )


@dataclass(frozen=True, slots=True)
class NeckFrame:
    """Where the neckline hangs: necks, shoulders and the dart between them; of one body, or of many
    at once when every number is an array.

    ``front_slope`` and the back shoulder's own direction lead out along the shoulders;
    ``guide_share`` and ``front_angle`` shape the round front curve, ``fullness`` and the angle that
    makes both together straight the back one; ``shape`` is one of ``data/neckline.toml``.
    ``shoulder_room`` is how far both shoulder points may come in along the shoulder before the scye
    would have to swing out below them.
    """

    back_neck: Point
    back_side: Point
    back_tip: Point
    front_side: Point
    front_tip: Point
    front_neck: Point
    dart_tip: Point
    dart_leg: Point
    back_ease: float
    back_slope: float
    front_slope: float
    guide_share: float
    front_angle: float
    fullness: float
    shape: str = "round"
    shoulder_room: float = 0.0

    def changed(self, change: NeckChange) -> NeckFrame:
        """The frame after a move."""
        back_out = direction(-self.back_slope)
        return replace(
            self,
            back_neck=self.back_neck + Point(0.0, -change.back_lower),
            back_side=self.back_side + back_out * change.side_shift,
            back_tip=self.back_tip + back_out * change.shoulder_shift,
            front_side=self.front_side + self.front_out * change.side_shift,
            front_tip=self.front_tip + self.front_out * change.shoulder_shift,
            front_neck=self.front_neck + Point(0.0, change.front_raise),
        )

    @property
    def front_out(self) -> Point:
        """Direction of the front shoulder, outwards."""
        return direction(pi + self.front_slope)

    @property
    def front_length(self) -> float:
        """Front shoulder seam."""
        return self.front_side.to(self.front_tip)

    @property
    def width(self) -> float:
        """Front neck width."""
        return self.front_neck.x - self.front_side.x

    @property
    def depth(self) -> float:
        """Front neck depth."""
        return self.front_side.y - self.front_neck.y

    @property
    def run(self) -> float:
        """Front neck width along the slope of the shoulder."""
        return self.width / direction(self.front_slope).x

    def back_shoulder(self) -> BackShoulder:
        """The back shoulder, its dart trued so that it sews to the front."""
        return true_back_shoulder(
            side=self.back_side,
            outer=self.back_tip,
            tip=self.dart_tip,
            leg=self.dart_leg,
            closed_length=self.front_length + self.back_ease,
        )

    def back_curve(self) -> Curve:
        """Back neckline, back neck point to side neck point."""
        return self._back_curve(self.back_shoulder(), self.front_curve())

    def _back_curve(self, shoulder: BackShoulder, front: Curve) -> Curve:
        leaving = shoulder.inner_heading.turned(self._shoulder_angle(front) - pi)
        fair = corner(self.back_side, leaving, self.back_neck, Point(-1.0, 0.0), self.fullness)
        return fair.reversed()

    def front_curve(self) -> Curve:
        """Front neckline, side neck point to front neck point, in the frame's shape."""
        if self.shape == "v":
            return v_front(self.front_side, self.front_neck)
        if self.shape == "square":
            return square_front(self.front_side, self.front_neck)
        if self.shape == "boat":
            return boat_front(self.front_side, self.front_out, self.front_neck)
        leaving, guide = self.round_front()
        return corner(self.front_side, leaving, self.front_neck, Point(1.0, 0.0), guide)

    def round_front(self) -> tuple[Point, Point]:
        """How the round front neckline leaves the side neck point, and the point that it passes
        through on its way to the front neck point; for one body or for many."""
        top = Point(self.front_neck.x, self.front_side.y)
        bottom = Point(self.front_side.x, self.front_neck.y)
        guide = top.towards(bottom, self.guide_share)
        leaving = self.front_out.turned(self.front_angle)
        # No one-way curve can leave steeper than the straight line to its guide point.
        chord = (guide - self.front_side).angle
        steepest = chord - 0.15 * (chord + pi / 2)
        return direction(np.minimum(leaving.angle, steepest)), guide

    def front_end(self, button_stand: float) -> Point:
        """Where the front neckline ends: straight on from the front neck point, over a button stand
        of this width, at the front edge; there a V has its break."""
        on = self.front_curve().end_heading
        return self.front_neck + on * (button_stand / on.x)

    def _shoulder_angle(self, front: Curve) -> float:
        """Angle of the cloth between front shoulder and front neckline; the back takes what is
        left of 180 degrees, so that the sewn neckline runs on without a corner."""
        return angle_between(self.front_out, front.start_heading)

    def half(self) -> float:
        """Half the neckline."""
        shoulder, front = self.back_shoulder(), self.front_curve()
        return self._back_curve(shoulder, front).length + front.length
