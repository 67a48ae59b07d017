"""The checks of neckline facings, measured on the finished pieces. Centimetres, degrees."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees, pi

from drafting.checks import Check, Verdict, at_least, within
from drafting.curves import angle_between
from drafting.pieces import EdgeName, Piece, Seam, seam_mismatch
from drafting.sentences import span
from drafting.tolerances import SEAM, SMOOTH, SQUARE

#: The outer edge may be this much narrower than asked where it meets the shoulder; common practice.
NARROWER = 0.3
#: A neckline without an opening must go over the head; an adult's is 56 to 58 (from memory).
HEAD = 58.0


def facing_checks(
    pieces: tuple[Piece, ...], seams: Sequence[Seam], facings: Sequence[Piece], width: float
) -> tuple[Check, ...]:
    """Facings against the pieces they are sewn to, and against each other; ``pieces`` are all of
    them, ``width`` is the wished one."""
    checks = [
        within(
            seam.name,
            seam_mismatch(pieces, seam),
            0.0,
            SEAM,
            where=seam.first.piece,
            advice="Do not cut: the facing does not walk on the piece.",
        )
        for seam in seams
    ]
    checks.append(shoulders_check(facings))
    for facing in facings:
        checks.append(
            at_least(
                "facing width",
                _least_width(facing),
                width - NARROWER,
                where=facing.code,
                advice="The facing is narrower than asked: draw its edge by hand.",
                source="common practice",
            )
        )
        checks += _square_at_folds(facing)
    if all(any(edge.on_fold for edge in facing.edges) for facing in facings):
        whole = 2.0 * sum(facing.length(EdgeName.NECKLINE) for facing in facings)
        if whole < HEAD:
            checks.append(
                Check(
                    "neckline over the head",
                    whole,
                    HEAD,
                    0.0,
                    Verdict.NOTE,
                    "Back and front are on the fold: leave an opening, or she cannot get in.",
                    where="whole neckline",
                    source=f"from memory: an adult's head is {span(56.0, 58.0, places=0)}",
                    least=True,
                )
            )
    return tuple(checks)


def shoulders_check(facings: Sequence[Piece]) -> Check:
    """Whether the outer edges of two facings run on into each other at the shoulder."""
    return within(
        "facing edge, shoulders together",
        degrees(sum(_at_shoulder(facing) for facing in facings)),
        180.0,
        degrees(SMOOTH),
        unit="deg",
        where="facings, shoulder",
        advice="Draw the outer edges through in one line.",
        source="common practice",
    )


def _at_shoulder(facing: Piece) -> float:
    """Angle of the facing between its shoulder and its outer edge."""
    edges = facing.edges
    k = facing.place(EdgeName.SHOULDER)
    shoulder, after, before = edges[k].curve, edges[(k + 1) % len(edges)], edges[k - 1].curve
    if after.name is EdgeName.FACING_EDGE:
        return pi - abs(angle_between(shoulder.end_heading, after.curve.start_heading))
    return pi - abs(angle_between(before.end_heading, shoulder.start_heading))


def _least_width(facing: Piece) -> float:
    neck = facing.named(EdgeName.NECKLINE)[0].curve
    outer = facing.named(EdgeName.FACING_EDGE)[0].curve
    return float(neck.nearest_to(outer.xy(outer.samples(4)))[1].min())


def _square_at_folds(facing: Piece) -> list[Check]:
    """The outer edge is to meet a fold square, or the opened facing shows a point there."""
    checks, edges = [], facing.edges
    k = facing.place(EdgeName.FACING_EDGE)
    for one, other in ((edges[k - 1], edges[k]), (edges[k], edges[(k + 1) % len(edges)])):
        if one.on_fold or other.on_fold:
            turn = abs(angle_between(one.curve.end_heading, other.curve.start_heading))
            checks.append(
                within(
                    "facing edge square at the fold",
                    degrees(pi - turn),
                    90.0,
                    degrees(SQUARE),
                    unit="deg",
                    where=facing.code,
                    advice="The opened facing would show a point: square the edge at the fold.",
                    source="common practice",
                )
            )
    return checks
