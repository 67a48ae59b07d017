"""What is looked at in a drafted shirt collar: checks, numbers worth knowing, notes.

Every check measures the finished pieces. Centimetres and radians; angles in checks in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import asin, degrees, pi

from collars.fall import Fall
from collars.fall_from_shoulders import NEEDS_BLOCK
from collars.fall_limits import COVER, COVER_SOURCE, deeper_fall, point_check
from collars.parameters import Values
from collars.sewing import asked, noted, smooth_check, tape_notes
from collars.stand import Stand
from collars.stand_checks import stand_notes, stand_numbers
from drafting.checks import Check, at_least, within
from drafting.pieces import EdgeName, Piece
from drafting.tolerances import SEAM

#: Codes of the pieces.
STAND, UPPER, UNDER = "STAND", "UPPER", "UNDER"
_TIGHT_FALL = (
    "The fall will lie tight and crease the stand: its seam should rise more than the stand's "
    "(fall_rise more than rise)."
)


def fall_checks(
    pieces: tuple[Piece, ...], stand: Stand, fall: Fall, values: Values
) -> tuple[Check, ...]:
    """The fall against the stand and against what was asked; ``pieces`` are stand, upper and
    under collar."""
    stood, upper, under = pieces
    turn, rounded = values.number("turn_of_cloth"), fall.shape.radius > 0.0
    top = stood.length(EdgeName.STAND_SEAM)
    cover = upper.length(EdgeName.CENTRE_BACK) - stood.length(EdgeName.CENTRE_BACK)
    sewn = [
        within(
            f"{piece.title.lower()} to stand",
            piece.length(EdgeName.STAND_SEAM),
            top,
            SEAM,
            where=f"{piece.code}, stand seam",
            advice="Draft the collar again.",
            source="common practice: walked from centre back",
        )
        for piece in (upper, under)
    ]
    hill, valley = upper.named(EdgeName.STAND_SEAM)[0].curve, stand.neck
    rises = at_least(
        "the fall's seam rises more than the stand's",
        round(hill.start.y - hill.end.y, 6),
        round(valley.end.y - valley.start.y, 6),
        advice=_TIGHT_FALL,
        where=f"{UPPER}, stand seam",
        source="150 Cutting Questions Answered, ishare.iask.sina.com.cn/f/22328100",
    )
    checks = [
        *sewn,
        at_least(
            "the fall hides the neck seam by",
            round(cover, 6),  # lengths are known to SAME_POINT
            round(COVER + turn, 6),
            advice=deeper_fall(values.number("stand_back"), turn),
            where=f"{UPPER}, centre back",
            source=COVER_SOURCE,
        ),
        rises if rises.measured > rises.target else noted(rises, _TIGHT_FALL),
        asked(
            "fall at centre back",
            upper.length(EdgeName.CENTRE_BACK),
            values.number("fall_back"),
            f"{UPPER}, centre back",
        ),
        asked(
            "under collar smaller at centre back by",
            upper.length(EdgeName.CENTRE_BACK) - under.length(EdgeName.CENTRE_BACK),
            turn,
            f"{UNDER}, centre back",
        ),
        point_check(fall.upper.angle, fall.seam, fall.shape, f"{UPPER}, point"),
    ]
    if rounded:
        ends = (1, 2)
        checks += [
            smooth_check(piece, f"{piece.title.lower()}'s corner is round", ends)
            for piece in (upper, under)
        ]
    else:
        checks.append(
            asked(
                "length of the front edge",
                upper.length(EdgeName.COLLAR_END),
                values.number("point_length"),
                f"{UPPER}, collar end",
            )
        )
    return tuple(checks)


def numbers(stand: Stand, fall: Fall) -> dict[str, float]:
    """Lengths (cm) and angles (radians) worth knowing. Edges and seams are half ones, girths and
    ``top_shortening`` whole; ``spread_angle`` (only when the shoulders' slope is known) is an
    estimate."""
    known = {
        **stand_numbers(stand),
        "fall_seam": fall.seam.length,
        "fall_turning_angle": -fall.bend.angle,
        "outer_edge": fall.upper.outer.length,
        "point_angle": fall.upper.angle,
        "turn_of_cloth": fall.turn,
    }
    if stand.neckline.shoulders_slope is not None:
        known["spread_angle"] = _spread(stand, fall, pi - stand.neckline.shoulders_slope)
    return known


def _spread(stand: Stand, fall: Fall, neckline_turning: float) -> float:
    """About how far the two front edges open: what the fall is short of lying flat on the
    shoulders shows as an opening at the front. Computed; to be seen on the toile."""
    depth, height = fall.shape.back, stand.shape.back
    flat = ((depth - height) * neckline_turning + height * stand.bend.angle) / depth
    forward = asin(fall.shape.lean / fall.shape.point)
    return 2 * (flat + fall.bend.angle - forward)


def notes(stand: Stand, values: Values, known: Mapping[str, float]) -> tuple[str, ...]:
    """What the maker should know besides; ``known`` are the draft's numbers."""
    said = list(stand_notes(stand, values))
    if known.get("spread_angle", 0.0) > 0.0:
        said.append(
            f"The front edges open by about {degrees(known['spread_angle']):.0f} degrees when "
            "worn: an estimate, to be seen on the toile."
        )
    elif "spread_angle" in known:
        said.append(
            "The front edges may lie over each other when worn: an estimate, to be seen on the "
            "toile."
        )
    if stand.neckline.from_tape:
        said.append(NEEDS_BLOCK)
    return (*said, *tape_notes(stand.neckline))
