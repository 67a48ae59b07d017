"""How collars are sewn to necklines, and the checks every collar has in common.

Each check measures the finished pieces, not the wishes they were drawn from.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import degrees, pi

from blocks.bodice.making_up import BACK, FRONT
from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from drafting.geometry.curves import angle_between
from drafting.pieces.checks import Check, Verdict, at_least, within
from drafting.pieces.piece import Edge, Piece, Seam, Stretch
from drafting.tolerances import SEAM, SMOOTH, SQUARE

#: The checks of every neck seam that is sewn straight to the neckline.
NECK_SEAM_CHECKS = (
    "neck seam to back neckline",
    "neck seam to front neckline",
    "shoulder notch from centre back",
)
#: A corner sharper than this (degrees) is hard to turn; common practice.
SHARP_CORNER = 40.0


def neck_seams(neckline: Neckline, collar: str, short: float = 0.0) -> tuple[Seam, ...]:
    """The seams of a collar piece to the bodice: its first ``NECK_SEAM`` edge to the back neckline,
    its second to the front, which it leaves free for ``short`` (cm) from centre front on. None
    when the neckline was only taped, so that there is no bodice."""
    if neckline.from_tape:
        return ()
    return (
        Seam(
            "neck seam, back",
            Stretch(collar, EdgeName.NECK_SEAM, 0),
            Stretch(BACK, EdgeName.NECKLINE),
        ),
        Seam(
            "neck seam, front",
            Stretch(collar, EdgeName.NECK_SEAM, 1),
            Stretch(FRONT, EdgeName.NECKLINE, start=short),
        ),
    )


def layer_seams(
    name: str, upper: Piece, under: Piece, edges: Iterable[EdgeName]
) -> tuple[Seam, ...]:
    """An upper layer to the under one along edges that both have, eased by as much as it is larger
    for the turn of the cloth."""
    return tuple(
        Seam(
            f"{name}, {edge}",
            Stretch(upper.code, edge),
            Stretch(under.code, edge),
            upper.length(edge) - under.length(edge),
        )
        for edge in edges
        if upper.named(edge)
    )


def twin_seams(piece: Piece, edges: Iterable[EdgeName]) -> tuple[Seam, ...]:
    """A piece that is cut twice, sewn to its own other cut: two layers, or the halves of a pair."""
    return tuple(
        Seam(f"{piece.title.lower()}, {edge}", Stretch(piece.code, edge), Stretch(piece.code, edge))
        for edge in edges
        if piece.named(edge)
    )


def tape_notes(neckline: Neckline) -> tuple[str, ...]:
    """What is to be known of a neckline that was taken with a tape; nothing of a drafted one."""
    if not neckline.from_tape:
        return ()
    return (
        "Drafted to a neckline taken with a tape: measure it on the seam line, darts closed, "
        "to centre front.",
    )


def neck_seam_checks(piece: Piece, neckline: Neckline) -> tuple[Check, ...]:
    """Both stretches of a collar's neck seam against the neckline, and its shoulder notch."""
    back, front, *_ = piece.named(EdgeName.NECK_SEAM)
    notch = next(n for n in piece.notches if n.name == "shoulder")
    before = piece.edges[piece.place(EdgeName.NECK_SEAM) : notch.edge]
    where, source = f"{piece.code}, neck seam", "common practice: walked from centre back"
    advice = "Draft the collar again for this neckline."
    return (
        within(
            NECK_SEAM_CHECKS[0],
            back.length,
            neckline.back_arc,
            SEAM,
            advice=advice,
            where=where,
            source=source,
        ),
        within(
            NECK_SEAM_CHECKS[1],
            front.length,
            neckline.front_arc,
            SEAM,
            advice=advice,
            where=where,
            source=source,
        ),
        within(
            NECK_SEAM_CHECKS[2],
            sum(edge.length for edge in before) + notch.at,
            neckline.back_arc,
            SEAM,
            advice=advice,
            where=where,
            source=source,
        ),
    )


def fold_checks(piece: Piece) -> tuple[Check, ...]:
    """Both corners at the fold: square, or the opened piece shows a point or a dip there."""
    count = len(piece.edges)
    checks = []
    for k, edge in enumerate(piece.edges):
        if edge.on_fold:
            for before, after, other in (
                (piece.edges[k - 1], edge, piece.edges[k - 1]),
                (edge, piece.edges[(k + 1) % count], piece.edges[(k + 1) % count]),
            ):
                checks.append(
                    within(
                        f"square at the fold, {other.name}",
                        degrees(pi - _break(before, after)),
                        90.0,
                        degrees(SQUARE),
                        unit="deg",
                        where=f"{piece.code}, {edge.name}",
                        advice="Keep the edge level for its last centimetre.",
                        source="clothes-press.net: corners on a fold are right angles",
                    )
                )
    return tuple(checks)


def smooth_check(piece: Piece, name: str, *meeting: tuple[int, int]) -> Check:
    """The greatest break in direction (degrees) where edges that should run on smoothly meet, by
    their places in the ring."""
    breaks = [abs(degrees(_break(piece.edges[a], piece.edges[b]))) for a, b in meeting]
    return within(
        name,
        max(breaks, default=0.0),
        0.0,
        degrees(SMOOTH),
        unit="deg",
        where=piece.code,
        advice="Draw the edges through in one line.",
        source="common practice",
    )


def matches_request(name: str, measured: float, wished: float, where: str) -> Check:
    """A length of the drawn piece against the one that was asked for."""
    return within(
        name,
        measured,
        wished,
        SEAM,
        where=where,
        advice="The draft is not what was asked for: do not cut it.",
        source="the client card",
    )


def sharp_check(name: str, angle: float, where: str, advice: str = "") -> Check:
    """Whether a corner (radians) can be turned well; one that is sharp is something to look at."""
    check = at_least(
        name,
        degrees(angle),
        SHARP_CORNER,
        unit="deg",
        advice=advice or "A point this sharp is hard to turn: trim close, or take a shorter point.",
        where=where,
        source="common practice",
    )
    return check if check.verdict is Verdict.PASS else as_note(check)


def as_note(check: Check, advice: str = "") -> Check:
    """The same check as something to look at that does not stop cutting."""
    return replace(check, verdict=Verdict.NOTE, advice=advice or check.advice)


def _break(before: Edge, after: Edge) -> float:
    return angle_between(before.curve.end_heading, after.curve.start_heading)
