"""What is looked at in a drafted lapel collar of any kind. Every check measures the finished
pieces. Centimetres; angles in checks in degrees.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, pi

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.falls.fall import COVER, COVER_SOURCE, deeper_fall
from collars.lapels.front import LapelFront
from collars.lapels.roll_line import ABOVE_BUTTON, WITHIN_STAND, RollLine, break_height
from collars.parameters import Values
from collars.sewing import as_note, matches_request
from drafting.geometry.curves import Curve, angle_between
from drafting.geometry.points import Point, crossing
from drafting.geometry.roots import root_between
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.piece import MarkKind, Piece
from drafting.sentences import SHORT, length, span
from drafting.tolerances import SEAM, SQUARE

# ---- Numbers worth knowing of a lapel collar, and what its maker should be told. Centimetres
# and radians


def lapel_numbers(roll: RollLine, values: Values) -> dict[str, float]:
    """Lengths (cm) and angles (radians); all of half a collar."""
    return {
        "neck_seam": roll.neck.length,
        "roll_line": roll.front.length,
        "roll_line_over_back": roll.extension,
        "swing": roll.swing,
        "swing_angle": roll.angle,
        "stand": roll.stand,
        "fall": roll.fall,
        "break_height": roll.break_at.y,
        "turn_of_cloth": values.number("turn_of_cloth"),
    }


def lapel_notes(roll: RollLine, values: Values, *, grown_on: bool) -> tuple[str, ...]:
    """Notes for the maker; ``grown_on`` when the under collar is one piece with the front."""
    if "swing" in values.wished:
        said = [f"The collar swings {length(roll.swing)} over the back neck, as asked."]
    else:
        said = [
            f"The collar swings {length(roll.swing)} over the back neck, worked out from stand, "
            "fall and neckline; schools differ. Judge it on the toile: less lifts the collar and "
            "bares the neck seam, more makes it lie flatter and at last wrinkle from neck to lapel."
        ]
    said.append(
        "The upper collar's neck seam is sewn to a back neck facing or to the lining, as long as "
        "the back neckline."
    )
    if grown_on:
        said.append(
            "Reinforce the side neck corner of front and facing and snip it to the point before "
            "the neck seam is sewn."
        )
    if values.number("neck_ease") > 0.0:
        said.append(
            f"Ease the neck seam by {length(values.number('neck_ease'))} near the side neck point."
        )
    return tuple(said)


FACING = "FACING"
_AGAIN = "The draft is not what was asked for: do not cut it."


def neck_check(piece: Piece, neckline: Neckline, ease: float) -> Check:
    """The neck seam of a collar, from centre back to the side neck point, to the back neckline."""
    return within(
        f"neck seam of the {piece.title.lower()} to back neckline",
        piece.length(EdgeName.NECK_SEAM),
        neckline.back_arc + ease,
        SEAM,
        where=f"{piece.code}, neck seam",
        advice="Draft the collar again for this neckline.",
        source="scribd.com 19653832, older cutting text: the back neckline and "
        f"{span(0.0, 0.3, places=SHORT)}",
    )


def front_checks(front: Piece, roll: RollLine, values: Values) -> tuple[Check, ...]:
    """Break point and roll line of the changed front."""
    line_on = next(mark.curve for mark in front.marks if mark.kind is MarkKind.ROLL)
    shoulder = front.named(EdgeName.SHOULDER)[0].curve
    passes = crossing(line_on.start, line_on.start_heading, shoulder.start, shoulder.start_heading)
    return (
        matches_request(
            "height of the break point",
            front.named(EdgeName.FRONT_EDGE)[-1].curve.end.y,
            break_height(front, values),
            f"{front.code}, front edge",
        ),
        within(
            "the roll line passes the side neck point at",
            np.inf if passes is None else shoulder.start.to(passes),
            values.number("stand_back") - WITHIN_STAND,
            SEAM,
            where=f"{front.code}, roll line",
            advice=_AGAIN,
            source="studopedia.ru/26_91401; M. Müller & Sohn, double stand collar: the stand less "
            f"{length(WITHIN_STAND, places=SHORT)}",
        ),
    )


def back_checks(upper: Piece, under: Piece, values: Values) -> tuple[Check, ...]:
    """Stand and fall at centre back, measured where the roll line is notched; both ends square."""
    (centre,) = upper.named(EdgeName.CENTRE_BACK)
    place = upper.place(EdgeName.CENTRE_BACK)
    notch = next(n for n in upper.notches if n.name == "roll line" and n.edge == place)
    fall, stand = notch.at, centre.length - notch.at
    turn = values.number("turn_of_cloth")
    return (
        at_least(
            "the fall hides the neck seam by",
            round(fall - stand, 6),
            round(COVER + turn, 6),
            advice=deeper_fall(stand, turn),
            where=f"{upper.code}, centre back",
            source=COVER_SOURCE,
        ),
        matches_request("stand at centre back", stand, values.number("stand_back"), upper.code),
        matches_request("fall at centre back", fall, values.number("fall_back"), upper.code),
        matches_request(
            "under collar smaller at centre back by",
            centre.length - under.length(EdgeName.CENTRE_BACK),
            turn,
            f"{under.code}, centre back",
        ),
        *_square_at_back(upper),
        *_square_at_back(under),
    )


def _square_at_back(piece: Piece) -> Iterator[Check]:
    k, count = piece.place(EdgeName.CENTRE_BACK), len(piece.edges)
    for a, b, other in ((k - 1, k, k - 1), (k, k + 1, k + 1)):
        before, after = piece.edges[a % count].curve, piece.edges[b % count].curve
        yield within(
            f"square at centre back, {piece.edges[other % count].name}",
            degrees(pi - angle_between(before.end_heading, after.start_heading)),
            90.0,
            degrees(SQUARE),
            unit="deg",
            where=f"{piece.code}, centre back",
            advice="Keep the edge square to centre back for its last centimetre.",
            source="clothes-press.net: corners on a fold are right angles",
        )


def width_check(facing: Piece, roll: RollLine, edge: EdgeName, wished: float) -> Check:
    """The lapel's width at its widest, square to the roll line, on the facing."""
    points = np.vstack([e.curve.flatten(1e-5) for e in facing.named(edge)])
    widest = max(roll.beside(Point(float(x), float(y))) for x, y in points)
    return matches_request("width of the lapel", widest, wished, f"{facing.code}, {edge}")


def abreast(roll: RollLine, edge: Curve) -> float:
    """Length along an outer edge, walked towards centre back, to where it lies abreast of the top
    of the straight roll line; 0 when it begins above that."""
    level = roll.along_roll(roll.top)
    first, last = edge.span
    if roll.along_roll(edge.start) >= level or roll.along_roll(edge.end) <= level:
        return 0.0
    t = root_between(lambda t: roll.along_roll(edge.at(t)) - level, first, last, xtol=1e-12)
    return edge.length_to(float(t))


def lie_check(
    edge: Curve, roll: RollLine, front: LapelFront, neckline: Neckline, where: str
) -> Check | None:
    """Whether the outer edge is long enough to lie where the fall puts it.

    At centre back the edge lies fall less stand outside the neck seam; abreast of the top of the
    roll line it lies where the lapel, turned over, puts it on the front. Between the two it must
    be at least as long as the line on the garment. Computed; to be seen on the toile. ``None``
    when the neckline's curve is not known.
    """
    if neckline.back is None:
        return None
    at = abreast(roll, edge)
    turned = roll.turned_over(edge).at_length(at)
    outside = neckline.back.offset_points(max(roll.fall - roll.stand, 1e-6))
    on_back = float(np.hypot(*np.diff(outside, axis=0).T).sum())
    past_shoulder = (turned - front.side_neck).dot(front.out.left)
    check = at_least(
        "outer edge, centre back to the shoulder",
        round(edge.length - at, 6),
        round(on_back + past_shoulder, 6),
        where=where,
        source="computed: the line on the garment it comes to lie on",
    )
    if check.verdict is Verdict.PASS:
        return check
    return as_note(
        check,
        "The edge is short: the collar will ride up and may bare the neck seam. More swing "
        "lengthens it; look at it on the toile.",
    )


def over_check(facing: Piece, roll: RollLine, front: LapelFront, edge: EdgeName) -> Check:
    """How far the lapel, turned over, stays from the scye."""
    piece = front.piece
    body = Polygon(piece.outline()).buffer(SEAM)
    scyes = [LineString(e.curve.flatten()) for e in piece.named(EdgeName.SCYE)]
    nearest = np.inf
    for e in facing.named(edge):
        for x, y in roll.turned_over(e.curve).flatten():
            p = Point(float(x), float(y)) - front.side_neck
            if p.dot(front.out.left) <= 0.0:
                continue  # beyond the shoulder seam it is the collar that lies on the back
            spot = Spot(x, y)
            far = min((s.distance(spot) for s in scyes), default=np.inf)
            beyond = p.dot(front.out) > 0.0 and not body.contains(spot)
            nearest = min(nearest, -far if beyond else far)
    return at_least(
        "the lapel turned over stays clear of the armhole by",
        round(float(nearest), 6),
        0.0,
        where=f"{facing.code}, {edge}",
        advice="Take a narrower lapel or a higher break point.",
        source="common practice",
    )


def first_button(front: LapelFront, roll: RollLine) -> Point:
    """Where the first button sits: on the centre front line, a little below the break point."""
    return Point(front.neck.x, roll.break_at.y - ABOVE_BUTTON)
