"""What is known of a client's neck: its girths, its height, its lean, and how the ring at its base
lies over the shoulders. Centimetres and radians."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import cos, pi

from blocks.body.body import Body
from drafting.library import read_figures


def neck_figures() -> Mapping[str, float]:
    """The figures of ``data/neck.toml`` in centimetres, radians and shares."""
    return read_figures("neck")


@dataclass(frozen=True, slots=True)
class NeckShape:
    """What is known of a neck (cm, radians).

    ``base_girth`` and ``girth`` are whole, ``height`` the way up the skin between them, ``lean``
    how far it leans forward of upright. ``back_share`` is the part of the half ring behind the
    side neck point, ``front_drop`` how far the front neck point lies below the side one,
    ``side_rise`` the side one above the back one, ``half_width`` how far it lies from the middle,
    ``shoulder_slope`` how far the shoulder falls below level. ``estimated`` names the measurements
    that were not taken.
    """

    base_girth: float
    girth: float
    height: float
    lean: float
    back_share: float
    front_drop: float
    half_width: float
    side_rise: float = 0.0
    shoulder_slope: float = 0.0
    estimated: tuple[str, ...] = ()


def neck_of(body: Body, back_arc: float, front_arc: float, front_depth: float) -> NeckShape:
    """The neck of a body under a fitted round neckline: girths, height and lean are the body's,
    the parting at the shoulder (by both arcs) and the front neck depth the block's."""
    figures = neck_figures()
    keys = ("neck_base_girth", "neck_girth", "neck_height", "neck_lean")
    return NeckShape(
        base_girth=body["neck_base_girth"],
        girth=body["neck_girth"],
        height=body["neck_height"],
        lean=body["neck_lean"],
        back_share=back_arc / (back_arc + front_arc),
        front_drop=front_depth * cos(figures["chest_lean"]),
        half_width=_half_width(body["neck_base_girth"]),
        side_rise=figures["side_rise"],
        shoulder_slope=body["shoulder_slope"],
        estimated=tuple(key for key in keys if body.is_estimated(key)),
    )


#: The measurements that a neck on a body is as.
NECK_READS = frozenset({"neck_base_girth", "neck_girth", "neck_height", "neck_lean"})


def neck_on(shape: NeckShape, body: Mapping[str, float]) -> NeckShape:
    """The same neck on another body (cm, radians): what was measured as that body has it, what
    the block tells of the ring as it was."""
    return replace(
        shape,
        base_girth=body["neck_base_girth"],
        girth=body["neck_girth"],
        height=body["neck_height"],
        lean=body["neck_lean"],
        half_width=_half_width(body["neck_base_girth"]),
    )


def _half_width(base_girth: float) -> float:
    return neck_figures()["half_width"] * base_girth / (2.0 * pi)
