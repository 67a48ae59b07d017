"""The checks a careful cutter makes on the bodice, before cloth is cut.

Lengths in centimetres; angles are reported in degrees.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import degrees, pi

from blocks.bodice.bodice import BodiceDraft
from blocks.bodice.making_up import BACK, FRONT, seams
from blocks.body.body import Body, rules_used
from blocks.edges import EdgeName
from blocks.neckline.fit import limits
from blocks.neckline.neckline import Neckline
from blocks.neckline.on_block import corner_turn, end_angle, shapes
from drafting.geometry.curves import angle_between
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.cutting import smooth_parts
from drafting.pieces.piece import Piece, seam_mismatch
from drafting.sentences import length
from drafting.tolerances import (
    DART_LEG,
    GIRTH,
    NECKLINE_GOOD,
    NECKLINE_STOP,
    SEAM,
    SMOOTH,
    SQUARE,
)

#: The least ease left in the bust line once the darts that cross it are sewn; common practice.
LEAST_BUST_EASE = 4.0
#: Less than this and she cannot breathe deeply in woven cloth; common practice. What lies between
#: is a matter of taste once an ease was asked for.
BREATHING_EASE = 2.5
#: A style neckline may come this far inside the fitted one before it is said; common practice.
INSIDE_MOST = 0.6
#: A shoulder this near to hers is not spoken of; common practice.
SHOULDER_NEAR = 0.5
#: A front neck point less than this above the bust point is low; common practice.
ABOVE_BUST_LEAST = 5.0


#: What the checks of girths and neckline are called.
BUST_LINE = "bust line, before the darts"
BUST_EASE_LEFT = "bust line, darts sewn: ease left"
WAIST = "waist, darts sewn"
NECKLINE = "neckline against neck base girth"


def check_bodice(draft: BodiceDraft, back: Piece, front: Piece) -> tuple[Check, ...]:
    """Every check of a bodice, in the order of sewing."""
    return (
        *_darts(back, front),
        *_seams(draft, back, front),
        *_girths(draft, back, front),
        *_joins(draft, back, front),
        *_widths(draft),
        *_shoulder(draft),
        *_neckline(draft, back, front),
    )


def _darts(*pieces: Piece) -> list[Check]:
    return [
        within(
            f"{dart.name}: legs equal",
            dart.legs[0],
            dart.legs[1],
            DART_LEG,
            where=piece.title,
            advice="Do not cut: the legs would not sew to each other.",
        )
        for piece in pieces
        for dart in piece.darts
    ]


def _seams(draft: BodiceDraft, back: Piece, front: Piece) -> list[Check]:
    checks = []
    for seam in seams(draft):
        off = seam_mismatch((back, front), seam)
        length = front.length(seam.second.edge)
        checks.append(
            within(
                f"{seam.name}: back on front, darts closed",
                length + off,
                length,
                SEAM,
                where=f"{back.title} and {front.title}",
                advice="Do not cut: the seam does not walk.",
            )
        )
    return checks


def _girths(draft: BodiceDraft, back: Piece, front: Piece) -> list[Check]:
    ease, body = draft.ease, draft.body
    centre_front = front.named(EdgeName.NECKLINE)[0].curve.start
    centre_back = back.named(EdgeName.NECKLINE)[0].curve.end
    width = 2.0 * (centre_front.x - centre_back.x)
    taken_in = 2.0 * (_taken_in(back) + _taken_in(front) + _centre_back_in(draft))
    waist = 2.0 * (back.length(EdgeName.WAIST) + front.length(EdgeName.WAIST))
    advice = "Measure bust and waist girth again."
    return [
        within(
            BUST_LINE,
            width,
            body["bust_girth"] + ease.bust,
            GIRTH,
            advice=advice,
        ),
        _bust_ease_left(draft, width - taken_in - body["bust_girth"]),
        within(
            WAIST,
            waist,
            body["waist_girth"] + ease.waist,
            GIRTH,
            advice=advice,
        ),
    ]


def _bust_ease_left(draft: BodiceDraft, left: float) -> Check:
    check = at_least(
        BUST_EASE_LEFT,
        left,
        LEAST_BUST_EASE,
        advice="The waist darts take too much of the bust line: shorten them.",
        source="common practice",
    )
    if check.verdict is Verdict.FAIL and draft.ease.chosen and left >= BREATHING_EASE:
        return replace(
            check,
            verdict=Verdict.NOTE,
            advice="Very close, as asked: make a toile and have her breathe and reach in it.",
        )
    return check


def _taken_in(piece: Piece) -> float:
    """What the waist darts that reach above the bust line take from it."""
    total = 0.0
    for dart in piece.darts:
        if dart.name.endswith("waist dart") and dart.apex.y > 0.0:
            total += dart.width * dart.apex.y / (dart.apex.y - dart.first.y)
    return total


def _centre_back_in(draft: BodiceDraft) -> float:
    q = draft.quantities
    top = q["waist_centre_back_y"]
    return q["waist_centre_back"] * top / (top + q["waist_depth"]) if top > 0.0 else 0.0


def _joins(draft: BodiceDraft, back: Piece, front: Piece) -> list[Check]:
    back_neck = back.named(EdgeName.NECKLINE)[0].curve.reversed()
    front_neck = front.named(EdgeName.NECKLINE)[0].curve.reversed()
    level = Point(1.0, 0.0)
    back_shoulder = back.named(EdgeName.SHOULDER)
    back_out = -back_shoulder[-1].curve.end_heading
    back_outer = -back_shoulder[0].curve.start_heading
    front_out = front.named(EdgeName.SHOULDER)[0].curve.start_heading
    back_scye = back.named(EdgeName.SCYE)[0].curve
    upper, lower = (edge.curve for edge in front.named(EdgeName.SCYE))
    back_side = back.named(EdgeName.SIDE_SEAM)[0].curve
    front_side = front.named(EdgeName.SIDE_SEAM)[0].curve
    at_level = angle_between(level, front_neck.end_heading)
    folded = [curve.heading for curve in front.seam_closed(EdgeName.SCYE)]
    scye = front.seam_closed(EdgeName.SCYE)
    shape, frame = draft.frame.shape, draft.frame
    at_front = end_angle(shape, frame.front_side, frame.front_neck)
    at_dart = angle_between(
        folded[0](scye[0].span[1]),
        folded[1](scye[1].span[0]),
    )
    angles = [
        (
            "neckline square at centre back",
            angle_between(level, back_neck.start_heading),
            0.0,
            SQUARE,
            "back neckline",
        ),
        (
            "neckline square at centre front"
            if at_front == 0.0
            else "neckline at centre front, down to its V",
            -angle_between(level, front_neck.end_heading) if at_front else at_level,
            at_front,
            SQUARE,
            "front neckline",
        ),
        (
            "neckline, shoulders together",
            abs(angle_between(back_out, -back_neck.end_heading))
            + abs(angle_between(front_out, front_neck.start_heading)),
            pi,
            SMOOTH,
            "side neck point",
        ),
        (
            "armhole, shoulders together",
            abs(angle_between(-back_outer, -back_scye.end_heading))
            + abs(angle_between(-front_out, upper.start_heading)),
            pi,
            SMOOTH,
            "shoulder point",
        ),
        (
            "armhole, side seams together",
            abs(angle_between(-back_side.end_heading, back_scye.start_heading))
            + abs(angle_between(front_side.start_heading, -lower.end_heading)),
            pi,
            SMOOTH,
            "underarm point",
        ),
        ("armhole, bust dart folded", at_dart, 0.0, SMOOTH, "bust dart"),
    ]
    stand_end = front.edges[front.place(EdgeName.NECKLINE) - 1]
    if stand_end.name is EdgeName.BUTTON_STAND_END:
        on = angle_between(stand_end.curve.end_heading, -front_neck.end_heading)
        angles.append(("neckline, straight on to the front edge", on, 0.0, SMOOTH, "button stand"))
    asked = corner_turn(shape)
    if asked is not None:
        turns = [
            angle_between(one.end_heading, other.start_heading)
            for one, other in pairwise(smooth_parts(front_neck))
        ]
        corner = max(turns, default=0.0)
        angles.append(("corner of the square neckline", corner, asked, SQUARE, "front neckline"))
    return [
        within(
            name,
            degrees(angle),
            degrees(target),
            degrees(tolerance),
            unit="deg",
            where=where,
            advice="The line shows a corner here once sewn: redraw it by hand before cutting.",
        )
        for name, angle, target, tolerance, where in angles
    ]


def _widths(draft: BodiceDraft) -> list[Check]:
    eased = draft.back_scye.eased
    if eased <= 0.0:
        return []
    planned, wished = draft.quantities["back_width"], draft.ease.back_width > 0.0
    return [
        Check(
            "half across back",
            planned - eased,
            planned,
            0.0,
            Verdict.NOTE,
            "The shoulder is short for this back: measure shoulder length and across back again, "
            + (
                "or lengthen it or give less back width in the ease."
                if wished
                else "or lengthen the shoulder."
            ),
            where=BACK,
        )
    ]


def _shoulder(draft: BodiceDraft) -> list[Check]:
    """The shoulder before any style neckline against hers, where it was taken: a method may draw
    its own, and fitting the neckline at the side may move it."""
    if draft.body.is_estimated("shoulder_length"):
        return []
    style = draft.fit.style
    drawn = draft.frame.front_length + (0.0 if style is None else style.side_shift)
    hers = draft.body["shoulder_length"] + draft.ease.shoulder
    if abs(drawn - hers) <= SHOULDER_NEAR:
        return []
    more = draft.ease.shoulder + hers - drawn
    return [
        Check(
            "shoulder against her shoulder length",
            drawn,
            hers,
            SHOULDER_NEAR,
            Verdict.NOTE,
            f"{length(abs(drawn - hers))} {'shorter' if drawn < hers else 'longer'} than hers: set "
            f"the shoulder ease to {length(more)}.",
            where=FRONT,
            source="common practice",
        )
    ]


def _neckline(draft: BodiceDraft, back: Piece, front: Piece) -> tuple[Check, ...]:
    """The pieces' neckline against the client's neck, and a style neckline called by its name."""
    fit = draft.fit
    whole = 2.0 * (back.length(EdgeName.NECKLINE) + front.length(EdgeName.NECKLINE))
    close = whole if fit.style is None and fit.toile is None else fit.fitted
    estimated = draft.body.is_estimated("neck_base_girth")
    checks = [
        _against_neck(close, fit.target, estimated, neckline_advice(draft)),
        within(
            "neckline of the pieces against the draft",
            whole,
            fit.finished,
            SEAM,
            where="whole neckline",
            advice="Do not cut: the collar was drafted to another neckline.",
        ),
    ]
    if fit.toile is not None:
        checks.append(_toile(draft))
    if fit.style is not None:
        checks += _style(draft, whole, front)
    return tuple(checks)


def _against_neck(whole: float, target: float, estimated: bool, advice: str) -> Check:
    """A whole neckline against the neck base girth with its ease."""
    check = within(
        NECKLINE + guessed(estimated),
        whole,
        target,
        NECKLINE_GOOD,
        where="whole neckline",
        advice=advice,
        source="common practice",
    )
    return replace(check, verdict=neckline_verdict(check.off))


def check_taped(neckline: Neckline, body: Body, ease: float, *, styled: bool) -> tuple[Check, ...]:
    """A neckline taped on a maker's own block against the neck base girth of a body with ``ease``
    (cm) over it; nothing when neither that girth was taken nor the neck girth, from which it is
    estimated. An estimate stops cutting only where it is off by more than twice what women spread
    about it. ``styled``: it was taped on a style neckline, which may be longer."""
    taken = [key for key in ("neck_base_girth", "neck_girth") if not _guess(body, key)]
    if not taken:
        return ()
    whole, target = 2.0 * neckline.half, body["neck_base_girth"] + ease
    off = whole - target
    wrong = f"{length(abs(off), places=2)} too {'long' if off > 0.0 else 'short'}. "
    move = abs(off) / (pi / 2.0)
    way, most = ("Raise", "front_raise_most") if off > 0.0 else ("Lower", "front_lower_most")
    cure = (
        f"{way} the front neck point of the paper block by about {length(move)}, true its line and "
        "tape it again."
        if move <= limits()[most]
        else "That is more than a front neck point can move: tape both arcs again, each of them "
        "half the neckline."
    )
    estimated = body.is_estimated("neck_base_girth")
    check = _against_neck(whole, target, estimated, wrong + cure)
    spread = (rules_used(body.taken)["neck_base_girth"].residual or 0.0) if estimated else 0.0
    if NECKLINE_STOP < abs(off) <= NECKLINE_STOP + 2.0 * spread:
        check = replace(check, verdict=Verdict.NOTE)
    if styled and off > NECKLINE_GOOD:
        said = f"{length(off, places=2)} longer, as a style neckline may be."
        check = replace(check, verdict=Verdict.NOTE, advice=said)
    return (check,)


def _guess(body: Body, key: str) -> bool:
    return key not in body or body.is_estimated(key)


def guessed(estimated: bool) -> str:
    """What is put behind the name of a check against a measurement that may be estimated."""
    return " (estimated: measure it)" if estimated else ""


def neckline_verdict(off: float) -> Verdict:
    """What is said of a whole neckline that is so far (cm) from the neck base with its ease."""
    if abs(off) <= NECKLINE_GOOD:
        return Verdict.PASS
    return Verdict.NOTE if abs(off) <= NECKLINE_STOP else Verdict.FAIL


def _toile(draft: BodiceDraft) -> Check:
    """The neckline moved after a fitting: no longer the neck as measured, as was seen on her."""
    fit = draft.fit
    much = fit.toiled - fit.fitted
    way = "longer" if much >= 0.0 else "shorter"
    return Check(
        "neckline as corrected at the fitting",
        fit.toiled,
        fit.fitted,
        0.0,
        Verdict.NOTE,
        f"{length(abs(much), places=2)} {way} than the neckline fitted to the neck base girth, "
        "after the fitting. Try it on again.",
        where="whole neckline",
    )


def _style(draft: BodiceDraft, whole: float, front: Piece) -> list[Check]:
    """What a maker should know of a style neckline: one longer than the neck is what was asked for,
    a shorter one is to be looked at."""
    fit, title = draft.fit, shapes()[draft.frame.shape].title
    much = whole - fit.toiled
    longer = much >= 0.0
    ways = "longer by design" if longer else "shorter than the fitted one"
    advice = (
        f"{length(-much, places=2)} shorter than the fitted neckline. If it presses on her neck in "
        "the toile, lower or widen it."
    )
    checks = [
        Check(
            f"style neckline, {ways}",
            whole,
            fit.toiled,
            0.0,
            Verdict.PASS if longer else Verdict.NOTE,
            "" if longer else advice,
            where="whole neckline",
            least=True,
        )
    ]
    if fit.inside > INSIDE_MOST:
        checks.append(
            Check(
                f"{title} neckline inside the fitted one",
                fit.inside,
                INSIDE_MOST,
                0.0,
                Verdict.NOTE,
                "It comes up on the side of her neck: widen each side by about as much.",
                where="front neckline",
                source="common practice",
            )
        )
    above = front.named(EdgeName.NECKLINE)[0].curve.start.y - draft.points["bust point"].y
    if above < ABOVE_BUST_LEAST:
        checks.append(
            Check(
                "front neck point above the bust point",
                above,
                ABOVE_BUST_LEAST,
                0.0,
                Verdict.NOTE,
                "A neckline this low shows what is worn below and gapes when she bends: stay its "
                "edge with tape, and try the toile sitting and bending.",
                where=FRONT,
                source="common practice",
                least=True,
            )
        )
    return checks


_WAYS = {"front": "at the front", "side": "at the side", "both": "in proportion"}


def neckline_advice(draft: BodiceDraft) -> str:
    """Each single cure with its exact amount, and those this body does not allow."""
    cures = [c.said for c in draft.fit.corrections if c.change is not None]
    refused = [
        f"not {_WAYS[c.key]}: {c.refused}" for c in draft.fit.corrections if c.change is None
    ]
    off = draft.fit.fitted - draft.fit.target
    wrong = "long" if off > 0 else "short"
    cured = "; or ".join(cures + refused)
    return f"{length(abs(off), places=2)} too {wrong}. Choose one: {cured}."
