"""The tie collar (bow): a straight band, sewn on between the tie notches, that runs on into two
tie ends. One piece, twice as high as the band, folded along its middle.

From half a neckline's arcs, so it can be drafted to a paper block with a tape alone. Half a piece,
x from centre back, y up from the neck seam. Centimetres.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from blocks.edges import EdgeName
from blocks.neckline.neckline import Neckline
from collars.drafts import CollarDraft
from collars.parameters import Values, collar_sheet, refuse, resolve_parameters
from collars.sewing import (
    as_note,
    fold_checks,
    matches_request,
    neck_seam_checks,
    neck_seams,
    tape_notes,
    twin_seams,
)
from collars.stands.neck_room import line_room
from collars.stands.stand import LEAST_ARC, arc_problems
from drafting import sentences
from drafting.errors import Problem
from drafting.geometry.curves import line
from drafting.geometry.points import Point
from drafting.pieces.checks import Check, Verdict, at_least
from drafting.pieces.piece import CutPlan, Edge, Mark, MarkKind, Notch, Piece, Seam, Stretch, ring

KIND = "tie"
#: The check of what it closes at.
ROOM = "band and its gap round the neck"
TIE = "TIE"
#: A knot needs this much of the front neckline on either side; common practice.
KNOT_NEEDS = 1.5
#: Cloth is often no wider than this; common practice.
CLOTH_WIDTH = 140.0


def draft(neckline: Neckline, wishes: Mapping[str, float | str]) -> CollarDraft:
    """Draft a tie collar to a neckline.

    ``wishes`` are parameters of ``data/collars/tie.toml`` in centimetres and words; what is left
    out stands at its default. Raises :class:`DraftError` listing everything that cannot be
    drafted, each with what can.
    """
    values, problems = resolve_parameters(KIND, wishes)
    refuse(problems, _impossible(neckline, values))
    gap = values.number("tie_gap")
    sewn = replace(neckline, front_arc=neckline.front_arc - gap)
    piece = _piece(sewn, values)
    strip = 2 * (sewn.half + values.number("tie_length"))
    return CollarDraft(
        kind=KIND,
        title=collar_sheet(KIND).title,
        pieces=(piece,),
        seams=(
            *neck_seams(neckline, TIE, gap),
            *_own_seams(),
            *(twin_seams(piece, (EdgeName.CENTRE_BACK,)) if piece.cut.mirrored_pair else ()),
        ),
        checks=(
            *neck_seam_checks(piece, sewn),
            *_checks(piece, neckline, values),
            line_room(
                neckline,
                ROOM,
                2 * (piece.edges[1].curve.end.x + gap),
                values.number("finger_ease"),
                f"{TIE}, neck seam",
                "Lay the neckline farther out.",
            ),
            *fold_checks(piece),
        ),
        numbers={
            "neck_seam": sewn.half,
            "tie_notch_from_centre_front": gap,
            "closed_neck_girth": 2 * neckline.half,
            "strip_length": strip,
            "strip_width": 2 * max(values.number("stand_back"), values.number("end_width")),
        },
        notes=(*_notes(values, strip), *tape_notes(neckline)),
    )


def _impossible(neckline: Neckline, values: Values) -> list[Problem]:
    problems = arc_problems(neckline)
    most = neckline.front_arc - LEAST_ARC
    if not problems and values.number("tie_gap") > most:
        problems.append(
            Problem(
                f"a front neckline of {sentences.length(neckline.front_arc)} leaves nothing to sew",
                key="collar.tie_gap",
                got=sentences.length(values.number("tie_gap")),
                accepted=f"up to {sentences.length(most, rounding=sentences.DOWN)}",
                advice="Let the band be sewn on nearer to centre front.",
            )
        )
    slant, length = values.number("end_slant"), values.number("tie_length")
    if values.word("end") == "pointed" and slant > length / 2:
        problems.append(
            Problem(
                f"a tie end of {sentences.length(length)} is too short for this slant",
                key="collar.end_slant",
                got=sentences.length(slant),
                accepted=f"up to {sentences.length(length / 2, rounding=sentences.DOWN)}",
                advice="Slant the end less, or make the tie longer.",
            )
        )
    return problems


def _piece(sewn: Neckline, values: Values) -> Piece:
    height, width = values.number("stand_back"), values.number("end_width")
    slant = values.number("end_slant") if values.word("end") == "pointed" else 0.0
    tip = Point(sewn.half + values.number("tie_length"), height)
    lower = (
        Point(0.0, 0.0),
        Point(sewn.back_arc, 0.0),
        Point(sewn.half, 0.0),
        Point(tip.x - slant, height - width),
        tip,
    )
    upper = tuple(Point(p.x, 2 * height - p.y) for p in reversed(lower[:-1]))
    names = (EdgeName.NECK_SEAM, EdgeName.NECK_SEAM, EdgeName.OUTER_EDGE, EdgeName.COLLAR_END)
    around = (*lower, *upper)
    bias = values.word("grain") == "bias"
    edges = ring(
        *(
            Edge(name, line(a, b))
            for name, a, b in zip((*names, *reversed(names)), around[:-1], around[1:], strict=True)
        ),
        Edge(EdgeName.CENTRE_BACK, line(around[-1], around[0]), on_fold=not bias),
    )
    x, reach = 0.3 * sewn.back_arc, 0.7 * height
    grain = Point(x, height - reach), Point(x + (2 * reach if bias else 0.0), height + reach)
    fused = int(values.word("interfacing") == "band")
    return Piece(
        code=TIE,
        title="Tie collar",
        edges=edges,
        cut=CutPlan(2, fused * 2, mirrored_pair=True) if bias else CutPlan(1, fused, on_fold=True),
        grain=grain,
        notches=(
            Notch("centre back", 0, 0.0),
            Notch("shoulder", 1, 0.0),
            Notch("tie", 1, sewn.front_arc),
            Notch("tie", 6, 0.0),
            Notch("shoulder", 7, 0.0),
            Notch("centre back", 7, sewn.back_arc),
        ),
        marks=(Mark(MarkKind.FOLD, line(Point(0.0, height), tip), "fold"),),
        label_at=Point(sewn.half + 2.0, 0.6 * height),
        notes=("interfacing only on the lower half between centre back and tie notch",) * fused,
    )


def _own_seams() -> tuple[Seam, ...]:
    """Lower to upper half, folded along the middle."""
    pairs = (
        ("inside of the band to outside, back", EdgeName.NECK_SEAM, 3, 0),
        ("inside of the band to outside, front", EdgeName.NECK_SEAM, 2, 1),
        ("edges of the tie", EdgeName.OUTER_EDGE, 1, 0),
        ("end of the tie", EdgeName.COLLAR_END, 1, 0),
    )
    return tuple(
        Seam(name, Stretch(TIE, edge, first), Stretch(TIE, edge, second))
        for name, edge, first, second in pairs
    )


def _checks(piece: Piece, neckline: Neckline, values: Values) -> tuple[Check, ...]:
    back, front, lower = (edge.curve for edge in piece.edges[:3])
    fold = next(mark.curve for mark in piece.marks if mark.kind is MarkKind.FOLD)
    knot = at_least(
        "room for the knot before centre front",
        round(neckline.half - back.length - front.length, 6),
        KNOT_NEEDS,
        where=f"{TIE}, tie notch",
        advice="The knot will push the front apart: sew the band on less far.",
        source=f"common practice: {sentences.span(2.0, 4.0, places=0)}",
    )
    where = f"{TIE}, tie end"
    return (
        matches_request(
            "height of the band at centre back",
            piece.length(EdgeName.CENTRE_BACK) / 2,
            values.number("stand_back"),
            f"{TIE}, centre back",
        ),
        matches_request(
            "length of the tie", fold.end.x - front.end.x, values.number("tie_length"), where
        ),
        matches_request(
            "width of the end", fold.end.y - lower.end.y, values.number("end_width"), where
        ),
        knot if knot.verdict is Verdict.PASS else as_note(knot),
    )


def _notes(values: Values, strip: float) -> tuple[str, ...]:
    said = [
        "No tie collar on children's wear: EN 14682 allows no cords at the neck up to 7 years and "
        "none with free ends there up to 14 years, and local rules may go further. Loose ends "
        "catch: wear none near running machines.",
        f"Mark a tie notch on the front neckline {sentences.length(values.number('tie_gap'))} "
        "before centre front, and finish the neckline beyond it with a facing before the band is "
        "sewn on.",
    ]
    if strip > CLOTH_WIDTH and values.word("grain") == "straight":
        said.append(
            f"The strip is {sentences.length(strip, places=0)} long: in cloth that is narrower cut "
            "it as two, with a seam at centre back."
        )
    if values.word("grain") == "bias":
        said.append("A bias strip stretches: let it hang before the neck seam is marked.")
    return tuple(said)
