"""The neckline as a collar needs it: arcs, and where they come from."""

from __future__ import annotations

from dataclasses import dataclass

from blocks.neck.measures import NeckShape
from drafting.geometry.curves import Curve
from drafting.geometry.points import Point


@dataclass(frozen=True, slots=True)
class Neckline:
    """Half a neckline, centimetres.

    ``back_arc`` runs from the back neck point to the side neck point, ``front_arc`` from there to
    the front neck point (centre front, not the edge of the button stand). ``back`` and ``front``
    are the drafted curves in that order of travel, ``None`` when only a tape was used.
    ``shoulders_slope`` is the sum of front and back shoulder slopes (radians), ``neck_girth`` the
    client's neck higher up, each ``None`` when not known. ``back_tip`` and ``front_tip`` are the
    shoulder points in the places of the curves, the back shoulder dart folded on its neck side, so
    that from the side neck points both shoulders run straight to them; ``None`` with a tape.
    ``shape`` is that of a style neckline (``round``, ``v``, ``square``, ``boat``). ``neck`` is the
    neck itself, from its base up; ``None`` with a tape. ``beyond`` is how far the neckline runs on
    over the button stand, from centre front to the front edge: straight on, so that a V ends lower
    on the edge than on centre front; ``None`` with a tape.
    """

    back_arc: float
    front_arc: float
    back: Curve | None = None
    front: Curve | None = None
    shoulders_slope: float | None = None
    neck_girth: float | None = None
    neck_girth_estimated: bool = False
    back_tip: Point | None = None
    front_tip: Point | None = None
    shape: str = "round"
    neck: NeckShape | None = None
    beyond: float | None = None

    @property
    def half(self) -> float:
        """Half the neckline, back neck point to front neck point."""
        return self.back_arc + self.front_arc

    @property
    def from_tape(self) -> bool:
        """Whether the arcs were taken with a tape from a paper block."""
        return self.back is None
