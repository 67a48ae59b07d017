"""The side seam of a bodice that goes on below the waist: one fair curve from the underarm point
through its foot at the waist to the hip. x from centre back, y up, centimetres."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import atan2, degrees, tan
from types import MappingProxyType

import numpy as np

from blocks.bodice import BodiceDraft
from drafting.curves import Curve, joined, line, through
from drafting.errors import DraftError, Problem
from drafting.library import read_data
from drafting.parameters import lies_within
from drafting.points import Point
from drafting.roots import root_between
from drafting.sentences import length, span
from drafting.tolerances import SAME_POINT

_DOWN = Point(0.0, -1.0)
#: The hem turns up to meet a slanting side seam square over this share of its width.
_HEM_TURN = 0.25


@dataclass(frozen=True, slots=True)
class HipSide:
    """The side seam of the back, underarm point to hem; ``foot`` is where it passes the waist,
    ``hip`` where it is to lie at the hip, ``steepest`` its farthest lean below the waist, degrees,
    outwards positive."""

    curve: Curve
    foot: Point
    hip: Point
    steepest: float

    @property
    def to_foot(self) -> float:
        """Arc length from the underarm point to the waist."""
        return self.curve.length_to(self.curve.nearest(self.foot)[0])


@cache
def hip_figures() -> Mapping[str, float]:
    """Usual figures and limits by name; see ``data/hip.toml`` (angles in degrees)."""
    values = read_data("hip").values
    found = {f"ease_{key}": float(row["value"]) for key, row in values["ease"].items()}
    found |= {f"dart_{key}": float(row["value"]) for key, row in values["darts"].items()}
    found |= {key: float(row["value"]) for key, row in values["limits"].items()}
    return MappingProxyType(found)


def hip_side(draft: BodiceDraft, hip_ease: float, reach: float, below: float) -> HipSide:
    """The back's side seam; the front's is its mirror image. ``reach`` from waist to hip, ``below``
    from waist to hem. Raises :class:`DraftError` for a length or an ease that is none and for sides
    that would swing too steeply."""
    figures, q, seam = hip_figures(), draft.quantities, draft.waist.joints[draft.waist.side]
    top, foot = seam.apex, seam.left
    problems = []
    if not lies_within(hip_ease, 0.0, figures["ease_most"]):
        problems.append(
            Problem(
                "a bodice is not cut with this ease at the hip",
                key="hip_ease",
                got=length(hip_ease),
                accepted=span(0.0, figures["ease_most"], places=0),
            )
        )
    if not lies_within(below, figures["length_least"], figures["length_most"]):
        problems.append(
            Problem(
                "a bodice cannot be lengthened by this",
                key="length",
                got=length(below),
                accepted=f"{span(figures['length_least'], figures['length_most'], places=0)} below "
                "the waist",
            )
        )
    if problems:
        raise DraftError(problems)
    half = (draft.body["hip_girth"] + hip_ease) / 2.0
    out = (half - (q["half_width"] - draft.waist.centre_back.x)) / 2.0
    hip = Point(top.x + out, foot.y - reach)
    guide = top.towards(foot, figures["straight_share"])
    shaped = through([top, guide, foot, hip], foot - top, _DOWN)
    headings = [shaped.heading(t) for t in shaped.samples() if shaped.at(t).y < foot.y]
    steepest = max((degrees(atan2(h.x, -h.y)) for h in headings), key=abs)
    if abs(steepest) > figures["steep_stop"]:
        way = "out" if steepest > 0.0 else "in"
        raise DraftError(
            Problem(
                f"below the waist the sides would swing {way} by {abs(steepest):.0f}°",
                key="hip_girth",
                got=f"{length(draft.body['hip_girth'])} and {length(hip_ease)} of ease",
                accepted=f"up to {figures['steep_stop']:.0f}°",
                advice="Take waist, hip and waist to hip again; else end the block at the waist "
                "and cut a peplum or a skirt to it.",
            )
        )
    if below > reach + SAME_POINT:
        return HipSide(
            joined([shaped, line(hip, hip + _DOWN * (below - reach))]), foot, hip, steepest
        )
    if below < reach - SAME_POINT:
        t = _cut_at(shaped, foot, below, top.x)
        shaped = shaped.split(t)[0]
    return HipSide(shaped, foot, hip, steepest)


def _cut_at(shaped: Curve, foot: Point, below: float, half_hem: float) -> float:
    """Where the side seam ends so that a hem square to it still comes out level at the centre."""
    at_foot, _ = shaped.nearest(foot)

    def over(t: float) -> float:
        heading = shaped.heading(t)
        rise = tan(atan2(heading.x, -heading.y)) * _HEM_TURN * half_hem
        return shaped.at(t).y - (foot.y - below + rise)

    places = np.linspace(at_foot, shaped.span[1], 65)[1:]
    above = at_foot
    if over(above) <= 0.0:
        raise DraftError(
            Problem(
                "the sides lean too much where the hem would lie",
                key="length",
                got=f"{length(below)} below the waist",
                advice="Lengthen the bodice more, or end it at the waist.",
            )
        )
    for place in places:
        if over(float(place)) <= 0.0:
            return root_between(over, above, float(place), xtol=1e-12)
        above = float(place)
    return float(shaped.span[1])
