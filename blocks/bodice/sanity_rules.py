"""Whether a method's quantities are those of a bodice at all, before anything is drawn of them.

Each rule is worked out for one body or for an array of bodies. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from drafting.errors import Problem
from drafting.sentences import DOWN, UP, length

Quantity = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sense:
    """One rule: ``holds`` tells whether quantities keep it, ``problem`` what is said of a body
    whose do not. ``key`` is a few words for tables."""

    key: str
    holds: Callable[[Quantity], Any]
    problem: Callable[[Quantity], Problem]


def _at_least(said: str, value: Callable[[Quantity], Any], least: float, advice: str) -> Sense:
    return Sense(
        said,
        lambda q: value(q) >= least,
        lambda q: Problem(
            f"{said}: {length(value(q))}",
            accepted=f"{length(least, places=0, rounding=UP)} or more",
            advice=advice,
        ),
    )


def _upper_leg_x(q: Quantity) -> Any:
    """Where the bust dart's upper leg meets the scye, across."""
    across, up = q["scye_dart_x"] - q["bust_point_x"], q["scye_dart_y"] - q["bust_point_y"]
    turn = q["bust_dart_angle"]
    return q["bust_point_x"] + np.cos(turn) * across + np.sin(turn) * up


def _slope_holds(q: Quantity) -> Any:
    slopes = (q["front_shoulder_slope"], q["back_shoulder_slope"])
    front, back = ((slope > -0.35) & (slope < 0.8) for slope in slopes)
    return front & back


#: All rules, in the order in which they are told.
SENSE: tuple[Sense, ...] = (
    _at_least(
        "armhole too narrow between back and front width lines",
        lambda q: q["scye_dart_x"] - q["back_width"],
        4.0,
        "Measure across back, across front and bust again.",
    ),
    _at_least(
        "front neck too narrow",
        lambda q: q["front_neck_width"],
        3.0,
        "Measure the neck base girth again.",
    ),
    _at_least(
        "front neck too shallow",
        lambda q: q["front_neck_depth"],
        3.0,
        "Measure the neck base girth again.",
    ),
    _at_least(
        "shoulder too short",
        lambda q: q["front_shoulder_length"],
        4.0,
        "Measure the shoulder length again.",
    ),
    _at_least(
        "bust dart's lower leg too near the bust point",
        lambda q: q["bust_point_x"] - q["scye_dart_x"],
        2.0,
        "Measure bust point width and across front again.",
    ),
    _at_least(
        "bust point too near centre front",
        lambda q: q["half_width"] - q["bust_point_x"],
        4.0,
        "Measure the bust point width again.",
    ),
    _at_least(
        "bust point too near the waist line",
        lambda q: q["waist_depth"] + q["front_waist_drop"] + q["bust_point_y"],
        4.0,
        "Measure side neck to bust point and back waist length again.",
    ),
    _at_least(
        "bust dart's upper leg too near the bust point's upright",
        lambda q: q["bust_point_x"] - _upper_leg_x(q),
        1.0,
        "Measure bust girth, bust point width and side neck to bust point again.",
    ),
    _at_least(
        "armhole too shallow above the bust dart",
        lambda q: q["side_neck_height"] - q["scye_dart_y"],
        6.0,
        "Measure the armhole depth again.",
    ),
    Sense(
        "the shoulder's slope is not one a body has",
        _slope_holds,
        lambda q: Problem(
            "the shoulder's slope is not one a body has",
            advice="Measure shoulder length and armhole depth again.",
        ),
    ),
    Sense(
        "front waist too far off the waist line",
        lambda q: abs(q["front_waist_drop"]) <= 8.0,
        lambda q: Problem(
            f"the front waist would lie {length(q['front_waist_drop'])} off the waist line",
            accepted=f"{length(8.0, places=0, rounding=DOWN)} either way",
            advice="Take side neck to waist (front) and side neck to bust point again.",
        ),
    ),
)
