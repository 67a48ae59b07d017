"""What is known of a client's neck: its girths and how they fall with the height, its lean, and how
the ring at its base lies over the shoulders.

**How the girth falls.** Heights are over the neck base, square to it all round, as the top edge of
an even strip lies that is sewn to it. The girth falls fast at first and then hardly: it comes near
its least as an exponential does (``data/neck.toml``, from sectioned bodies). Where it was taped at
a height, it is what was taped there. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import cos, exp, pi

from blocks.body.body import Body
from drafting.library import read_figures


def neck_figures() -> Mapping[str, float]:
    """The figures of ``data/neck.toml`` in centimetres, radians and shares."""
    return read_figures("neck")


@dataclass(frozen=True, slots=True)
class NeckShape:
    """What is known of a neck (cm, radians).

    ``base_girth`` is whole, ``top_girth`` so too at ``top_height`` over the base, taped there or
    estimated; ``lean`` is how far it leans forward of upright. ``back_share`` is the part of the
    half ring behind the side neck point, ``front_drop`` how far the front neck point lies below the
    side one, ``side_rise`` the side one above the back one, ``half_width`` how far it lies from the
    middle, ``shoulder_slope`` how far the shoulder falls below level. ``estimated`` names the
    measurements that were not taken.
    """

    base_girth: float
    top_girth: float
    top_height: float
    lean: float
    back_share: float
    front_drop: float
    half_width: float
    side_rise: float = 0.0
    shoulder_slope: float = 0.0
    estimated: tuple[str, ...] = ()

    @property
    def taped(self) -> bool:
        """Whether its girth was taped at ``top_height``."""
        return "collar_top_girth" not in self.estimated

    @property
    def reads(self) -> frozenset[str]:
        """The measurements that a neck on a body is as."""
        keys = {"neck_base_girth", "collar_top_girth", "neck_lean"}
        return frozenset(keys | {"collar_top_height"} if self.taped else keys)

    def girth_at(self, height: float) -> float:
        """The whole girth (cm) so high over the base."""
        flare = neck_figures()["flare"]
        share = (1.0 - exp(-height / flare)) / (1.0 - exp(-self.top_height / flare))
        return self.base_girth - (self.base_girth - self.top_girth) * share

    def astray_at(self, height: float) -> float:
        """The standard deviation (cm) of real necks about :meth:`girth_at` so high, over and above
        what their measurements are off by: none at the height of the tape. Where nothing was taped
        it lies in the estimated girth."""
        return neck_figures()["astray"] * abs(height - self.top_height) if self.taped else 0.0


def neck_of(body: Body, back_arc: float, front_arc: float, front_depth: float) -> NeckShape:
    """The neck of a body under a fitted round neckline: girths and lean are the body's, the parting
    at the shoulder (by both arcs) and the front neck depth the block's. Raises :class:`DraftError`
    when the girth at the collar's top was taped without its height."""
    figures = neck_figures()
    keys = ("neck_base_girth", "neck_girth", "collar_top_girth", "neck_lean")
    guessed = body.is_estimated("collar_top_girth")
    return NeckShape(
        base_girth=body["neck_base_girth"],
        top_girth=body["collar_top_girth"],
        top_height=figures["top_height"] if guessed else body["collar_top_height"],
        lean=body["neck_lean"],
        back_share=back_arc / (back_arc + front_arc),
        front_drop=front_depth * cos(figures["chest_lean"]),
        half_width=_half_width(body["neck_base_girth"]),
        side_rise=figures["side_rise"],
        shoulder_slope=body["shoulder_slope"],
        estimated=tuple(key for key in keys if body.is_estimated(key)),
    )


def neck_on(shape: NeckShape, body: Mapping[str, float]) -> NeckShape:
    """The same neck on another body (cm, radians): what was measured as that body has it, what
    the block tells of the ring as it was."""
    return replace(
        shape,
        base_girth=body["neck_base_girth"],
        top_girth=body["collar_top_girth"],
        top_height=body["collar_top_height"] if shape.taped else shape.top_height,
        lean=body["neck_lean"],
        half_width=_half_width(body["neck_base_girth"]),
    )


def _half_width(base_girth: float) -> float:
    return neck_figures()["half_width"] * base_girth / (2.0 * pi)
