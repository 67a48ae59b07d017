"""Shapes of a style neckline's front: V, square and boat. (The round one is the frame's own.)

Each runs from the side neck point to the front neck point, both already moved to where the style
wants them. x from centre back, y up, centimetres; radians. Figures: ``data/neckline.toml``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import atan2, pi
from types import MappingProxyType

from drafting.curves import Curve, bezier, corner, polyline
from drafting.library import read_data
from drafting.points import Point, direction
from drafting.sentences import Sentence

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
