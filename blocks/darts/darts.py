"""Darts where the maker wants them: the bust dart, the back shoulder dart, the waist darts.

Works on made-up pieces without allowances. Nothing is lost: what one seam gives up another takes.
Centimetres.
"""

from __future__ import annotations

from itertools import pairwise
from math import degrees, radians

from blocks.darts.moves import BUST_DART, back_moved, front_moved, waist_darts, waist_left_open
from blocks.darts.wish import Arranged, DartWish, check_wish, limits
from blocks.edges import EdgeName
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, angle_between
from drafting.pieces.checks import Check, Verdict, within
from drafting.pieces.piece import Dart, Piece
from drafting.sentences import length
from drafting.tolerances import DART_LEG, SEAM, SMOOTH

# ---- The checks of moved darts: the new pieces measured against the old ones

#: Openings may differ by this: 0.2 mm over a dart's leg.
_OPENING = radians(0.05)
#: A waist drawn through its open darts is a little shorter than seam and openings laid in a row.
_WAIST = 0.5
_UNSEWN = (EdgeName.DART_MOUTH, EdgeName.BUTTON_STAND_END, EdgeName.FRONT_EDGE)


def check_darts(plain_back: Piece, plain_front: Piece, arranged: Arranged) -> tuple[Check, ...]:
    """The checks of pieces with moved darts against the plain ones; none for the default wish."""
    if arranged.wish == DartWish():
        return ()
    checks: list[Check] = []
    pairs = ((plain_back, arranged.back), (plain_front, arranged.front))
    for plain, piece in pairs:
        if piece is not plain:
            checks += [*_seams(plain, piece, arranged), *_legs(plain, piece), *_smooth(piece)]
    if arranged.front is not plain_front:
        checks += _bust(plain_front, arranged)
    return tuple(checks)


def _seams(plain: Piece, piece: Piece, arranged: Arranged) -> list[Check]:
    """Every seam as long as before; what was let out on purpose, as said."""
    left_open = arranged.wish.waist == "left open" and bool(waist_darts(plain))
    eased = arranged.wish.back == "ease" and piece is arranged.back
    checks = []
    for name in dict.fromkeys(edge.name for edge in plain.edges):
        before, now = plain.length(name), piece.length(name)
        said, tolerance = f"{name}: as long as before the darts were moved", SEAM
        if name in _UNSEWN:
            continue
        if name is EdgeName.WAIST and left_open:
            before += sum(dart.width for dart in waist_darts(plain))
            said, tolerance = "waist: as long as with the openings of its darts", _WAIST
        elif name is EdgeName.SHOULDER and eased:
            before += arranged.shoulder_ease
            said = "shoulder: as long as before, and the ease"
        elif name is EdgeName.SCYE and eased:
            checks.append(_fullness(before, now, piece.title))
            continue
        checks.append(
            within(
                said,
                now,
                before,
                tolerance,
                where=piece.title,
                advice="Do not cut: moving a dart must not change a seam.",
            )
        )
    return checks


def _fullness(before: float, now: float, title: str) -> Check:
    most = limits()["scye_fullness"]
    good = now - before <= most
    return Check(
        "armhole: fullness from the back shoulder dart",
        now - before,
        0.0,
        most,
        Verdict.PASS if good else Verdict.NOTE,
        "" if good else "More than a back armhole takes up: leave the dart in the shoulder.",
        title,
        source="common practice",
    )


def _legs(plain: Piece, piece: Piece) -> list[Check]:
    return [
        within(
            f"{dart.name}, moved: stitched legs equal",
            dart.tip.to(dart.first),
            dart.tip.to(dart.second),
            DART_LEG,
            where=piece.title,
            advice="Do not cut: the legs would not sew to each other.",
        )
        for dart in piece.darts
        if dart not in plain.darts
    ]


def _smooth(piece: Piece) -> list[Check]:
    """Seams in which a dart opens, and the scye, folded shut: no corner, no gap."""
    names = {piece.edges[dart.mouth - 1].name for dart in piece.darts} | {EdgeName.SCYE}
    checks = []
    for name in (name for name in EdgeName if name in names):
        curves = piece.seam_closed(name)
        pairs = tuple(pairwise(curves))
        checks += [
            within(
                f"{name}, darts folded: the ends meet",
                max((a.end.to(b.start) for a, b in pairs), default=0.0),
                0.0,
                SEAM,
                where=piece.title,
                advice="Do not cut: the seam would have a step here.",
            ),
            within(
                f"{name}, darts folded: runs on smoothly",
                degrees(max((_turn(a, b) for a, b in pairs), default=0.0)),
                0.0,
                degrees(SMOOTH),
                unit="deg",
                where=piece.title,
                advice="The line shows a corner here once sewn: redraw it by hand before cutting.",
            ),
        ]
    return checks


def _turn(before: Curve, after: Curve) -> float:
    return abs(angle_between(before.end_heading, after.start_heading))


def _bust(plain: Piece, arranged: Arranged) -> list[Check]:
    front, wish = arranged.front, arranged.wish
    old = next(dart for dart in plain.darts if dart.name == BUST_DART)
    moved = [dart for dart in front.darts if dart.name.startswith(BUST_DART)]
    kept = {dart.name for dart in front.darts}
    gone: list[Dart] = []
    if wish.waist == "taken in":  # a waist dart that is gone is part of the bust dart now
        gone = [dart for dart in waist_darts(plain) if dart.name not in kept]
    checks = [
        within(
            "opening at the bust point as before",
            degrees(sum(dart.angle for dart in moved)),
            degrees(old.angle + sum(dart.angle for dart in gone)),
            degrees(_OPENING),
            unit="deg",
            where=front.title,
            advice="Do not cut: cloth for the bust was lost or added.",
        )
    ]
    checks += [
        within(
            f"{dart.name}: held back from the bust point",
            dart.tip.to(old.apex),
            wish.held_back,
            SEAM,
            where=front.title,
            advice="Mark the point by hand before sewing.",
        )
        for dart in moved
        if wish.moves_bust_dart
    ]
    return checks


__all__ = ["Arranged", "DartWish", "arrange_darts", "check_darts"]


def arrange_darts(back: Piece, front: Piece, wish: DartWish) -> Arranged:
    """Back and front of :func:`blocks.bodice.making_up.make_up` with their darts as wished; as they
    are with the default wish.

    Raises :class:`DraftError` with everything that cannot be done, each with its key on the card.
    """
    check_wish(wish)
    if wish == DartWish():
        return Arranged(back, front, 0.0, ())
    notes: list[str] = []
    problems: list[Problem] = []
    shoulder_ease = 0.0
    if wish.waist == "left open":
        plain = (back, front)
        back, at_back = waist_left_open(back)
        front, at_front = waist_left_open(front)
        notes.append(_left_open(2.0 * (at_back + at_front), (back, front) != plain))
    try:
        front, said = front_moved(front, wish)
        notes += said
    except DraftError as error:
        problems += error.problems
    try:
        back, shoulder_ease, said = back_moved(back, wish)
        notes += said
    except DraftError as error:
        problems += error.problems
    if problems:
        raise DraftError(problems)
    return Arranged(back, front, shoulder_ease, tuple(notes), wish)


def _left_open(wider: float, changed: bool) -> str:
    if not changed:
        return "There are no waist darts to leave open."
    if wider <= 0.0:
        return "Waist darts left out."
    return f"Waist darts left open: the whole waist is {length(wider)} wider than with them."
