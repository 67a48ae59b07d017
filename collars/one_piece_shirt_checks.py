"""What is looked at in a drafted one-piece collar: the pieces against what was asked, and how the
collar will come to lie. Centimetres and radians; angles in checks in degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import pi

from blocks.neckline import Neckline
from collars.fall import FallShape
from collars.fall_limits import COVER, COVER_SOURCE, deeper_fall, point_check
from collars.lying import line_on_garment, neckline_turning, stand_of
from collars.neckroom import line_room
from collars.one_piece_seam import SeamShape, turning_of
from collars.parameters import Values
from collars.sewing import (
    asked,
    fold_checks,
    neck_seam_checks,
    noted,
    smooth_check,
    tape_notes,
)
from drafting.checks import Check, Verdict, at_least, within
from drafting.curves import Curve, angle_between
from drafting.pieces import EdgeName, MarkKind, Piece
from drafting.points import crossing
from drafting.roots import root_between
from drafting.sentences import DOWN, SHORT, length, span
from drafting.tolerances import SEAM

#: The stand reckoned from the neck seam is known to about this: cloth stretches at the edge.
STAND_NEAR = 0.5
#: Points that open by less than this each are not spoken of.
OPEN_SEEN = 0.3
#: A collar is not raised more than this; common practice is 1 to 3.
MOST_RAISE = 6.0
_RAISE_STEP = 0.5
UPPER, UNDER = "UPPER", "UNDER"
_LAW = (
    "computed: lines round a neckline (J. Steiner, 1840); a straight strip folds half and half in "
    "Zhou L. 2015, turn-down collar structure"
)


def piece_checks(
    pieces: tuple[Piece, Piece], neckline: Neckline, values: Values, seam: Curve, fall: FallShape
) -> tuple[Check, ...]:
    """Both layers against the neckline and against what was asked; ``seam`` and ``fall`` are what
    they were drawn from."""
    upper, under = pieces
    stand, turn = _stand(upper), values.number("turn_of_cloth")
    back, front, *_ = upper.named(EdgeName.NECK_SEAM)
    width = upper.length(EdgeName.CENTRE_BACK)
    checks = [
        *(check for piece in pieces for check in neck_seam_checks(piece, neckline)),
        asked(
            "raise at centre back",
            back.curve.start.y - front.curve.end.y,
            values.number("raise_back"),
            f"{UPPER}, neck seam",
        ),
        asked("stand at centre back", stand, values.number("stand_back"), f"{UPPER}, roll line"),
        asked(
            "fall at centre back", width - stand, values.number("fall_back"), f"{UPPER}, roll line"
        ),
        asked(
            "under collar smaller at centre back by",
            width - under.length(EdgeName.CENTRE_BACK),
            turn if turn >= SEAM else 0.0,
            f"{UNDER}, centre back",
        ),
        at_least(
            "the fall hides the neck seam by",
            round(width - 2 * stand, 6),  # lengths are known to SAME_POINT
            round(COVER + turn, 6),
            advice=deeper_fall(stand, turn),
            where=f"{UPPER}, centre back",
            source=COVER_SOURCE,
        ),
        smooth_check(upper, "neck seam runs on smoothly", (0, 1)),
    ]
    if values.word("point") == "rounded":
        checks += [
            smooth_check(piece, f"{piece.title.lower()}'s corner is round", (2, 3))
            for piece in pieces
        ]
    else:
        checks += _point(upper, values, seam, fall)
    return (*checks, *(check for piece in pieces for check in fold_checks(piece)))


def _point(upper: Piece, values: Values, seam: Curve, fall: FallShape) -> tuple[Check, ...]:
    end, outer = upper.edges[2], upper.edges[3]
    angle = pi - angle_between(end.curve.end_heading, outer.curve.start_heading)
    return (
        asked(
            "length of the front edge",
            end.length,
            values.number("point_length"),
            f"{UPPER}, collar end",
        ),
        point_check(angle, seam, fall, f"{UPPER}, point"),
    )


def lie_checks(upper: Piece, values: Values, known: Mapping[str, float]) -> tuple[Check, ...]:
    """How it will come to lie, from the numbers of the draft: the stand its neck seam gives, how
    far the fall then hides the seam, and whether the outer edge is long enough where it is to
    lie; notes, since cloth has its own mind. Room for the neck alone stops cutting."""
    stand, width = _stand(upper), known["collar_width"]
    where = f"{UPPER}, neck seam"
    if "stand_given" not in known:
        advice = "Not checked: the slope of the shoulders is not known. See it on the toile."
        name = "stand that the neck seam gives"
        return (Check(name, stand, stand, 0.0, Verdict.NOTE, advice, where, source=_LAW),)
    given, cover = known["stand_given"], COVER + values.number("turn_of_cloth")
    cure = _cure(known)
    edge, needed = known["outer_edge"], known["outer_edge_needed"]
    slack = 2 * STAND_NEAR * known["neckline_turning_angle"]
    long_enough = Check(
        "outer edge where it is to lie",
        edge,
        needed,
        slack,
        Verdict.PASS if edge >= needed - slack else Verdict.NOTE,
        ""
        if edge >= needed - slack
        else f"Too short by {length(needed - edge)} each half: worn closed, the points open. "
        "A point that leans farther forward (point_lean) or more raise takes it up.",
        f"{UPPER}, outer edge",
        source=_LAW,
        least=True,
    )
    return tuple(
        check if check.verdict is Verdict.PASS else noted(check)
        for check in (
            within(
                "stand that the neck seam gives",
                given,
                stand,
                STAND_NEAR,
                where=where,
                advice=f"It will stand at about {length(given)}. {cure}",
                source=_LAW,
            ),
            at_least(
                "as it will lie, the fall hides the neck seam by",
                round(width - 2 * given, 6),
                round(cover, 6),
                where=f"{UPPER}, outer edge",
                advice=f"Over the back the seam may show. {cure}",
                source=_LAW,
            ),
            long_enough,
        )
    )


def room_check(neckline: Neckline, known: Mapping[str, float], ease: float) -> Check:
    """Room for the neck in the closed roll line."""
    return line_room(
        neckline,
        "closed roll line round the neck",
        known["closed_roll_girth"],
        ease,
        f"{UPPER}, roll line",
        "Lay the neckline farther out.",
    )


def _cure(known: Mapping[str, float]) -> str:
    raised = known.get("raise_for_stand")
    if raised is None:
        return (
            f"No raise up to {length(MOST_RAISE, places=SHORT)} gives the stand asked for: "
            "a separate stand, or a stand nearer to half the width, does."
        )
    cure = f"A raise of {length(raised, rounding=DOWN)} gives the stand asked for"
    if raised > 3.0:
        cure += (
            f"; published drafts stay at {span(1.0, 3.0, places=0)} and let the front edges open"
        )
    return cure + ". To be seen on the toile."


def _stand(upper: Piece) -> float:
    """Height of the roll line at centre back, on the piece."""
    roll = next(mark.curve for mark in upper.marks if mark.kind is MarkKind.ROLL)
    return roll.start.y - upper.edges[0].curve.start.y


def numbers(neckline: Neckline, upper: Piece, turning: float, shape: SeamShape) -> dict[str, float]:
    """Lengths (cm) and angles (radians) worth knowing; edges are half ones, girths whole;
    ``outer_edge`` runs up to where it meets the front edge, rounded or not. With the
    slope of the shoulders known: ``stand_given`` by the neck seam, ``outer_edge_needed`` to lie
    where it should, ``raise_for_stand`` that would give the stand asked for."""
    stand, width = _stand(upper), upper.length(EdgeName.CENTRE_BACK)
    roll = next(mark.curve for mark in upper.marks if mark.kind is MarkKind.ROLL)
    known = {
        "neck_seam": upper.length(EdgeName.NECK_SEAM),
        "collar_width": width,
        "roll_line": roll.length,
        "closed_roll_girth": 2 * roll.length,
        "outer_edge": upper.length(EdgeName.OUTER_EDGE) + _rounded_off(upper),
        "turning_angle": turning,
    }
    whole = neckline_turning(neckline)
    needed = line_on_garment(neckline, width - 2 * stand)
    if whole is None or needed is None:
        return known
    known["neckline_turning_angle"] = whole
    known["stand_given"] = stand_of(width, turning, whole)
    known["outer_edge_needed"] = needed
    raised = _raise_for(shape, whole * (1.0 - 2.0 * stand / width))
    if raised is not None:
        known["raise_for_stand"] = raised
    return known


def _rounded_off(upper: Piece) -> float:
    """How much longer the outer edge would be if it met the front edge in a point."""
    end, outer = upper.edges[2].curve, upper.edges[3].curve
    tip = crossing(end.start, end.start_heading, outer.start, outer.start_heading)
    return 0.0 if tip is None else tip.to(outer.start)


def _raise_for(shape: SeamShape, turning: float) -> float | None:
    """The raise with which the seam turns down so far, ``None`` when none up to the most does."""

    def turns(rise: float) -> float | None:
        return turning_of(replace(shape, rise=rise))

    high = low = shape.rise
    while high < MOST_RAISE and turns(min(high + _RAISE_STEP, MOST_RAISE)) is not None:
        high = min(high + _RAISE_STEP, MOST_RAISE)
    while low > 0.0 and turns(max(low - _RAISE_STEP, 0.0)) is not None:
        low = max(low - _RAISE_STEP, 0.0)
    if not (turns(low) or 0.0) <= turning <= (turns(high) or 0.0):
        return None
    return root_between(lambda rise: (turns(rise) or 0.0) - turning, low, high, xtol=1e-6)


def notes(neckline: Neckline, known: Mapping[str, float]) -> tuple[str, ...]:
    """What the maker should know besides."""
    said = [
        "The collar ends at centre front; the button stand of the front lies beyond it. Worn "
        "open, the front needs a facing."
    ]
    opening = known.get("outer_edge_needed", 0.0) - known["outer_edge"]
    if opening > OPEN_SEEN:
        said.append(
            f"Worn closed, each point opens by about {length(opening)}: an estimate, to be seen on "
            "the toile."
        )
    elif opening < -OPEN_SEEN and "outer_edge_needed" in known:
        said.append(
            "Worn closed, the points may lie over each other: an estimate, to be seen on the toile."
        )
    return (*said, *tape_notes(neckline))
