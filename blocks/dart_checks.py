"""The checks of moved darts: the new pieces measured against the old ones.

Lengths in centimetres; angles are reported in degrees.
"""

from __future__ import annotations

from itertools import pairwise
from math import degrees, radians

from blocks.dart_moves import BUST_DART
from blocks.dart_wish import Arranged, DartWish, limits
from blocks.let_out import waist_darts
from drafting.checks import Check, Verdict, within
from drafting.curves import Curve, angle_between
from drafting.pieces import Dart, EdgeName, Piece
from drafting.tolerances import DART_LEG, SEAM, SMOOTH

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
        "scye: fullness from the back shoulder dart",
        now - before,
        0.0,
        most,
        Verdict.PASS if good else Verdict.NOTE,
        "" if good else "More than a back scye usually takes up: leave the dart in the shoulder.",
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
