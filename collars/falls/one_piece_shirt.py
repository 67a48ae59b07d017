"""The one-piece shirt collar (convertible): stand and fall in one, worn closed or open.

Pieces: upper and under collar, each half on the fold, with the roll line drawn where the stand
turns over into the fall. All from half a neckline's arcs, so it can be drafted to a paper block
with a tape alone. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import pi

import numpy as np

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft
from collars.falls.fall import (
    COVER,
    COVER_SOURCE,
    FallShape,
    Outline,
    corner_problems,
    cover_problems,
    deeper_fall,
    free_edges,
    lean_problems,
    point_check,
)
from collars.falls.one_piece_seam import SeamShape, draw_seam, seam_problems, turning_of
from collars.lying import line_on_garment, neckline_turning, standing_height
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import (
    as_note,
    fold_checks,
    layer_seams,
    matches_request,
    neck_seam_checks,
    neck_seams,
    smooth_check,
    tape_notes,
)
from collars.stands.neck_room import line_room
from collars.stands.stand import arc_problems, drop_hairline, interfaced
from drafting.errors import Problem
from drafting.geometry.curves import Curve, angle_between, line, through
from drafting.geometry.points import Point, crossing
from drafting.geometry.roots import root_between
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Notch, Piece, ring
from drafting.sentences import DOWN, SHORT, length, span
from drafting.tolerances import SEAM

# ---- What is looked at in a drafted one-piece collar: the pieces against what was asked, and
# how the collar will come to lie. Centimetres and radians; angles in checks in degrees

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
        matches_request(
            "raise at centre back",
            back.curve.start.y - front.curve.end.y,
            values.number("raise_back"),
            f"{UPPER}, neck seam",
        ),
        matches_request(
            "stand at centre back", stand, values.number("stand_back"), f"{UPPER}, roll line"
        ),
        matches_request(
            "fall at centre back", width - stand, values.number("fall_back"), f"{UPPER}, roll line"
        ),
        matches_request(
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
        matches_request(
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
        "Lean the point farther forward, or raise the collar more.",
        f"{UPPER}, outer edge",
        source=_LAW,
        least=True,
    )
    return tuple(
        check if check.verdict is Verdict.PASS else as_note(check)
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
        ROOM,
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
    return cure + ". Judge it on the toile."


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
    known["stand_given"] = standing_height(width, turning, whole)
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
            f"Worn closed, each point opens by about {length(opening)}: an estimate, judge it on "
            "the toile."
        )
    elif opening < -OPEN_SEEN and "outer_edge_needed" in known:
        said.append(
            "Worn closed, the points may lie over each other: an estimate, judge it on the toile."
        )
    return (*said, *tape_notes(neckline))


KIND = "one-piece shirt"
#: The check of what it closes at.
ROOM = "closed roll line round the neck"
_STATIONS = 24


@dataclass(frozen=True, slots=True)
class _Drawn:
    """What is drawn: the neck seam from centre back to its front end, the roll line alike, and the
    free edges of both layers."""

    seam: Curve
    roll: Curve
    upper: Outline
    under: Outline


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft upper and under collar to a neckline.

    ``wishes`` are parameters of ``data/collars/one-piece-shirt.toml`` in centimetres, radians and
    words; what is left out stands at its default. Raises :class:`DraftError` listing everything
    that cannot be drafted, each with what can.
    """
    values, problems = resolve_parameters(KIND, wishes)
    refuse(problems, _impossible(neckline, values))
    seam_shape = _seam_shape(neckline, values)
    seam, turning = draw_seam(seam_shape)
    turn = drop_hairline(values.number("turn_of_cloth"))
    fall = _fall_shape(neckline, values)
    drawn = _Drawn(
        seam, _roll_line(seam, values.number("stand_back")), *free_edges(seam, fall, turn)
    )
    pieces = _pieces(neckline, drawn, interfaced(values))
    known = numbers(neckline, pieces[0], turning, seam_shape)
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=pieces,
        seams=(
            *neck_seams(neckline, UNDER),
            *layer_seams(
                "upper to under collar",
                *pieces,
                (EdgeName.NECK_SEAM, EdgeName.COLLAR_END, EdgeName.OUTER_EDGE),
            ),
        ),
        checks=(
            *piece_checks(pieces, neckline, values, seam, fall),
            *lie_checks(pieces[0], values, known),
            room_check(neckline, known, values.number("finger_ease")),
        ),
        numbers=known,
        notes=notes(neckline, known),
        laid_on=True,
    )


def _seam_shape(neckline: Neckline, values: Values) -> SeamShape:
    return SeamShape(
        back=neckline.back_arc,
        front=neckline.front_arc,
        straight=values.number("straight_back") * neckline.back_arc,
        rise=values.number("raise_back"),
        dip=values.number("dip") if values.word("neck_seam") == "shaped" else 0.0,
    )


def _fall_shape(neckline: Neckline, values: Values) -> FallShape:
    rounded = values.word("point") == "rounded"
    return FallShape(
        back=values.number("stand_back") + values.number("fall_back"),
        rise=values.number("raise_back"),
        level=neckline.back_arc,
        point=values.number("point_length"),
        lean=values.number("point_lean"),
        radius=values.number("point_radius") if rounded else 0.0,
    )


def _impossible(neckline: Neckline, values: Values) -> list[Problem]:
    fall_shape = _fall_shape(neckline, values)
    found = cover_problems(
        values.number("fall_back"), values.number("stand_back"), values.number("turn_of_cloth")
    )
    leaning = lean_problems(fall_shape)
    on_seam = arc_problems(neckline) or seam_problems(_seam_shape(neckline, values))
    if not (leaning or on_seam):
        on_seam = corner_problems(draw_seam(_seam_shape(neckline, values))[0], fall_shape)
    return found + leaning + on_seam


def _roll_line(seam: Curve, stand: float) -> Curve:
    """Where the stand turns over: at its height at centre back, square to the fold, running out
    at the front end of the neck seam ever faster, as the square of the way."""
    share = np.linspace(0.0, 1.0, _STATIONS)[:-1]
    t = seam.ts_at_lengths(share * seam.length)
    way = seam.headings(t)
    left = np.column_stack((-way[:, 1], way[:, 0]))
    xy = seam.xy(t) + left * (stand * (1.0 - share**2))[:, None]
    return through([*(Point(x, y) for x, y in xy.tolist()), seam.end], start=Point(1.0, 0.0))


def _pieces(neckline: Neckline, drawn: _Drawn, layers: int) -> tuple[Piece, Piece]:
    plans = (
        (UPPER, "Upper collar", drawn.upper, int(layers == 2)),
        (UNDER, "Under collar", drawn.under, int(layers >= 1)),
    )
    upper, under = (
        _piece(neckline, drawn, outline, code, title, CutPlan(1, fused, on_fold=True))
        for code, title, outline, fused in plans
    )
    return upper, under


def _piece(
    neckline: Neckline, drawn: _Drawn, outline: Outline, code: str, title: str, cut: CutPlan
) -> Piece:
    back, front = drawn.seam.split_at_length(neckline.back_arc)
    low, high = back.start, outline.outer.end
    width, x = high.y - low.y, 0.15 * neckline.half
    return Piece(
        code=code,
        title=title,
        edges=ring(
            Edge(EdgeName.NECK_SEAM, back),
            Edge(EdgeName.NECK_SEAM, front),
            Edge(EdgeName.COLLAR_END, outline.front),
            Edge(EdgeName.OUTER_EDGE, outline.outer),
            Edge(EdgeName.CENTRE_BACK, line(high, low), on_fold=True),
        ),
        cut=cut,
        grain=(Point(x, low.y + 0.12 * width), Point(x, high.y - 0.12 * width)),
        notches=(
            Notch("centre back", 0, 0.0),
            Notch("shoulder", 1, 0.0),
            Notch("centre back", 3, outline.outer.length),
        ),
        marks=(Mark(MarkKind.ROLL, drawn.roll, "roll line"),),
        label_at=Point(0.3 * neckline.half, low.y + 0.55 * width),
    )
