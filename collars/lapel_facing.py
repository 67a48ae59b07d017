"""The facing of a front with a lapel: its inner edge and its lower edge, and what makes it
impossible. Centimetres."""

from __future__ import annotations

from dataclasses import replace

from blocks.neckline_facing import back_neck_facing
from collars.drafts import Ground
from collars.lapel_front import LapelFront, foot_run
from collars.parameters import Values
from drafting.curves import line, tangent_cubic
from drafting.errors import DraftError, Problem
from drafting.pieces import Edge, EdgeName, Piece, Seam
from drafting.points import Point
from drafting.sentences import DOWN, length

#: The facing stays this far from the shoulder point, a dart or a seam.
CLEAR = 0.5


def facing_problems(front: LapelFront, values: Values) -> list[Problem]:
    """Facing widths that this front has no room for."""
    _, room = foot_run(front, values.number("facing_hem"))
    problems = []
    for key, most, where in (
        ("facing_shoulder", front.shoulder_room - CLEAR, "shoulder"),
        ("facing_hem", room - CLEAR, "lower edge of this front, as far as the dart or the seam"),
    ):
        if values.number(key) > most:
            problems.append(
                Problem(
                    f"the facing is wider than the {where}",
                    key=f"collar.{key}",
                    got=length(values.number(key)),
                    accepted=f"up to {length(most, rounding=DOWN)}",
                )
            )
    return problems


def facing_inside(front: LapelFront, values: Values) -> tuple[list[Edge], list[Edge]]:
    """Shoulder and inner edge of the facing, from the side neck point down, and the lower edge
    from there to the front edge. Ask :func:`facing_problems` first."""
    foot, _ = foot_run(front, values.number("facing_hem"))
    shoulder = front.side_neck + front.out * values.number("facing_shoulder")
    low = foot[0].curve.start
    down = Point(0.0, -1.0)
    reach = shoulder.to(low) * 0.4
    inner = tangent_cubic(shoulder, front.out.left, low, down, reach, reach)
    return [
        Edge(EdgeName.SHOULDER, line(front.side_neck, shoulder)),
        Edge(EdgeName.FACING_EDGE, inner),
    ], foot


def back_facing(ground: Ground, facing: Piece) -> tuple[Piece, tuple[Seam, ...]]:
    """The back neck facing that joins both facings at the shoulders. Raises :class:`DraftError`
    when the back has no room for it."""
    assert ground.back is not None
    try:
        return back_neck_facing(ground.back, facing)
    except DraftError as error:
        raise DraftError(
            [replace(problem, key="collar.facing_shoulder") for problem in error.problems]
        ) from error


def interfaced(values: Values, thin: float = 0.1) -> tuple[bool, bool]:
    """Whether the under layer (front, under collar) and the upper one (facing, upper collar) have
    interfacing; by cloth, both have it up to a thickness ``thin`` (cm)."""
    word = values.word("interfacing")
    if word == "by cloth":
        word = "both" if values.number("cloth_thickness") <= thin else "one"
    return word == "both", word != "none"
