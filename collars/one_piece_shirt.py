"""The one-piece shirt collar (convertible): stand and fall in one, worn closed or open.

Pieces: upper and under collar, each half on the fold, with the roll line drawn where the stand
turns over into the fall. All from half a neckline's arcs, so it can be drafted to a paper block
with a tape alone. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from blocks.neckline import Neckline
from collars.drafts import CollarDraft
from collars.fall import FallShape, Outline, free_edges
from collars.fall_limits import corner_problems, cover_problems, lean_problems
from collars.one_piece_seam import SeamShape, draw_seam, seam_problems
from collars.one_piece_shirt_checks import (
    UNDER,
    UPPER,
    lie_checks,
    notes,
    numbers,
    piece_checks,
    room_check,
)
from collars.parameters import Values, collar_sheet, settled
from collars.sewing import layer_seams, neck_seams
from collars.stand import arc_problems
from collars.wishes import interfaced, seen
from drafting.curves import Curve, line, through
from drafting.errors import DraftError, Problem
from drafting.pieces import (
    CutPlan,
    Edge,
    EdgeName,
    Mark,
    MarkKind,
    Notch,
    Piece,
    ring,
)
from drafting.points import Point

KIND = "one-piece shirt"
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
    values, problems = settled(KIND, wishes)
    refused = {problem.key for problem in problems}
    impossible = _impossible(neckline, values)
    problems += [problem for problem in impossible if problem.key not in refused]
    if problems:
        raise DraftError(problems)
    seam_shape = _seam_shape(neckline, values)
    seam, turning = draw_seam(seam_shape)
    turn = seen(values.number("turn_of_cloth"))
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
