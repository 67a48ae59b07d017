"""What is looked at in every stand, whether a fall is sewn to it or not: checks, numbers worth
knowing, notes. Every check measures the finished piece. Centimetres and radians."""

from __future__ import annotations

from collars.bends import lean
from collars.parameters import Values
from collars.sewing import asked, smooth_check
from collars.stand import Stand
from collars.stand_piece import BUTTON_NEEDS
from drafting.checks import Check
from drafting.pieces import EdgeName, MarkKind, Piece
from drafting.sentences import length
from drafting.tolerances import SAME_POINT


def stand_checks(piece: Piece, stand: Stand, *, top_runs_on: bool = True) -> tuple[Check, ...]:
    """The stand against what was asked of it; its lines run on smoothly, that of the top edge only
    where it is to (``top_runs_on``)."""
    shape, where = stand.shape, f"{piece.code}, "
    _, front, *rest = piece.named(EdgeName.NECK_SEAM)
    end = piece.place(EdgeName.COLLAR_END)
    smooth = [(0, 1)] + ([(1, 2)] if rest else [])
    if top_runs_on and (rest or shape.radius > SAME_POINT):
        smooth.append((end, end + 1))
    at_front = [mark.curve for mark in piece.marks if mark.kind is MarkKind.CENTRE_FRONT]
    if not (at_front or rest) and shape.radius <= SAME_POINT:
        at_front = [piece.edges[end].curve]
    return (
        asked("rise at centre front", front.curve.end.y, shape.rise, where + "neck seam"),
        asked(
            "stand at centre back",
            piece.length(EdgeName.CENTRE_BACK),
            shape.back,
            where + "centre back",
        ),
        *(
            asked("stand at centre front", found.length, shape.front, where + "centre front line")
            for found in at_front
        ),
        asked(
            "button stand",
            sum(edge.length for edge in rest),
            shape.button_stand,
            where + "neck seam",
        ),
        smooth_check(
            piece,
            "neck seam and top edge run on smoothly"
            if top_runs_on
            else "neck seam runs on smoothly",
            *smooth,
        ),
    )


def stand_numbers(stand: Stand) -> dict[str, float]:
    """Lengths (cm) and angles (radians) of a stand: edges are half ones, girths and
    ``top_shortening`` whole."""
    half, top = stand.neckline.half, stand.top.length
    return {
        "neck_seam": half,
        "top_edge": top,
        "closed_neck_girth": 2 * half,
        "closed_top_girth": 2 * top,
        "top_shortening": 2 * (half - top),
        "turning_angle": stand.bend.angle,
        "lean_angle": lean(stand.bend.angle),
        "end_radius": stand.shape.radius,
    }


def stand_notes(stand: Stand, values: Values) -> tuple[str, ...]:
    """What the maker should know of the stand besides."""
    said, shape = [], stand.shape
    if values.number("end_round") * shape.front > shape.radius + SAME_POINT:
        corner = f"has a radius of {length(shape.radius)}" if shape.radius else "is square"
        said.append(f"The stand's corner {corner}, so that it does not reach past centre front.")
    if SAME_POINT < shape.button_stand < BUTTON_NEEDS:
        said.append(
            f"A button stand of {length(shape.button_stand)} has no room for a button: close it "
            "with a hook or a stud."
        )
    if shape.front > shape.back + SAME_POINT:
        said.append("The stand is higher in front than at the back: unusual, it may press.")
    return tuple(said)
