"""The facing of a front with a lapel: its inner edge and its lower edge, and what makes it
impossible. Centimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from blocks.edges import EdgeName
from blocks.finishing.neckline_facing import back_neck_facing
from collars.drafts import CollarBase
from collars.outlines import grain_inside, inside
from collars.parameters import Values
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, joined, line, tangent_cubic
from drafting.geometry.points import Point, crossing
from drafting.geometry.roots import root_between
from drafting.pieces.piece import Edge, Mark, MarkKind, Notch, Piece, Seam
from drafting.sentences import DOWN, SHORT, length, span
from drafting.tolerances import SAME_POINT

# ---- The front piece under a lapel: what a lapel collar needs to know of it, and the same front
# with its neckline and upper front edge exchanged for a lapel

#: From the break point down to the foot of the front edge there must be room for a button.
BELOW_BREAK = 2.5
#: From the break point up to the front neck point: less is no lapel but a turned-down corner.
ABOVE_BREAK = 3.0
#: Less than this is no stretch of an edge but the rounding of its ends.
_LEAST = 10 * SAME_POINT
_RUN = (EdgeName.FRONT_EDGE, EdgeName.BUTTON_STAND_END, EdgeName.NECKLINE)


@dataclass(frozen=True, slots=True)
class LapelFront:
    """A front that can carry a lapel. ``edge`` is its front edge, walked upwards; ``first`` and
    ``shoulder`` the places in the ring where the front edge begins and where the shoulder does.
    ``neck`` is the front neck point on centre front, ``side_neck`` the end of the neckline;
    ``out`` leads from there along the shoulder (one centimetre)."""

    piece: Piece
    first: int
    shoulder: int
    edge: Curve
    neck: Point
    side_neck: Point
    out: Point

    @property
    def shoulder_room(self) -> float:
        """Length of the shoulder from the side neck point, as far as a dart or its end."""
        return self.piece.edges[self.shoulder].length

    def edge_notches(self, below: float, place: int) -> tuple[Notch, ...]:
        """The notches of the first ``below`` (cm) of the front edge, for a facing of which that
        is the edge ``place``."""
        own = (n for n in self.piece.notches if n.edge == self.first and n.at <= below)
        return tuple(replace(notch, edge=place) for notch in own)

    @property
    def break_range(self) -> tuple[float, float]:
        """How low and how high the break point may lie (y)."""
        return self.edge.start.y + BELOW_BREAK, self.neck.y - ABOVE_BREAK

    def break_at(self, y: float) -> tuple[Point, float]:
        """The point of the front edge at a height inside ``break_range``, and the length of the
        front edge below it."""
        first, last = self.edge.span
        t = root_between(lambda t: self.edge.at(t).y - y, first, last, xtol=1e-14)
        return self.edge.at(t), self.edge.length_to(t)


def read_front(ground: CollarBase, title: str) -> tuple[LapelFront | None, list[Problem]]:
    """The front of a ground, or ``None`` with every reason why it cannot carry a lapel; ``title``
    is what the collar is called there."""
    front, problems = ground.front, []
    if front is None or ground.neckline.from_tape:
        return None, [
            Problem(
                f"a {title} needs the block: tape measurements are not enough",
                key="collar.kind",
                advice="Give the client's measurements, or choose a collar with a stand.",
            )
        ]
    if ground.neckline.shape != "round":
        problems.append(
            Problem(
                f"a {title} takes the place of the neckline, which must be a round one",
                key="neckline.style.shape",
                got=ground.neckline.shape,
                accepted="round",
                advice="Leave the style neckline's shape out.",
            )
        )
    edges = front.edges
    if not front.named(EdgeName.FRONT_EDGE):
        problems.append(
            Problem(
                f"a {title} needs a front that opens: there is no button stand",
                key="garment.button_stand",
                got=length(0.0, places=0),
                accepted=span(1.5, 3.0, places=SHORT),
                advice="Give the front a button stand.",
            )
        )
        return None, problems
    if not front.named(EdgeName.NECKLINE) or not front.named(EdgeName.SHOULDER):
        problems.append(
            Problem(
                f"a {title} has nothing to be sewn to: this front has no neckline or no shoulder",
                key="collar.kind",
            )
        )
        return None, problems
    first = front.place(EdgeName.FRONT_EDGE)
    run = [first]
    while edges[run[-1]].name is not EdgeName.SHOULDER and len(run) < len(edges):
        run.append((run[-1] + 1) % len(edges))
    shoulder = run.pop()
    if any(edges[k].name not in _RUN for k in run):
        problems.append(
            Problem(
                f"a dart opens into the neckline or the front edge, where the {title} is",
                key="garment.darts.bust",
                advice="Turn this dart into the armhole, the side seam, the shoulder or the waist.",
            )
        )
        return None, problems
    upright = [edges[k].curve for k in run if edges[k].name is EdgeName.FRONT_EDGE]
    neckline = [edges[k].curve for k in run if edges[k].name is EdgeName.NECKLINE]
    found = LapelFront(
        piece=front,
        first=first,
        shoulder=shoulder,
        edge=joined(upright),
        neck=neckline[0].start,
        side_neck=neckline[-1].end,
        out=edges[shoulder].curve.start_heading,
    )
    return (None if problems else found), problems


def with_lapel(
    front: LapelFront,
    run: Sequence[Edge],
    notches: Sequence[Notch],
    marks: Sequence[Mark],
) -> Piece:
    """The front with the run from the foot of its front edge to the shoulder exchanged.

    ``run`` begins with what stays of the front edge and ends at the side neck point; ``notches``
    count their edges within it. Notches of the old run stay where they lie on that first edge.
    """
    piece, first, shoulder = front.piece, front.first, front.shoulder
    count = len(piece.edges)
    if shoulder > first:
        order = [*range(first), None, *range(shoulder, count)]
    else:  # the ring begins within the run
        order = [*range(shoulder, first), None]
    edges: list[Edge] = []
    place: dict[int, int] = {}
    start = 0
    for old in order:
        if old is None:
            start = len(edges)
            edges.extend(run)
        else:
            place[old] = len(edges)
            edges.append(piece.edges[old])
    kept = [replace(n, edge=place[n.edge]) for n in piece.notches if n.edge in place]
    kept += front.edge_notches(run[0].length, start)
    changed = replace(
        piece,
        edges=tuple(edges),
        darts=tuple(replace(dart, mouth=place[dart.mouth]) for dart in piece.darts),
        notches=(*kept, *(replace(n, edge=n.edge + start) for n in notches)),
    )
    old_marks = (_below(mark, marks, changed) for mark in piece.marks)
    return grain_inside(replace(changed, marks=(*old_marks, *marks)))


def _below(mark: Mark, new: Sequence[Mark], piece: Piece) -> Mark:
    """The centre front line ends on the roll line: above it lies the lapel."""
    roll = next((m.curve for m in new if m.kind is MarkKind.ROLL), None)
    if mark.kind is not MarkKind.CENTRE_FRONT or roll is None:
        return mark
    low = min((mark.curve.start, mark.curve.end), key=lambda p: p.y)
    met = crossing(low, mark.curve.start_heading, roll.start, roll.start_heading)
    return mark if met is None else replace(mark, curve=line(*inside(piece, low, met)))


def foot_run(front: LapelFront, width: float) -> tuple[list[Edge], float]:
    """The lower edge of a facing, from its inner corner to the front edge, ``width`` (cm) along
    the lower edge; and how wide it may be, to where a dart or a seam begins. The run is empty when
    ``width`` is more."""
    names = (EdgeName.BUTTON_STAND_END, EdgeName.WAIST, EdgeName.HEM)
    edges = front.piece.edges
    run: list[Edge] = []
    left, room = width, 0.0
    for back in range(1, len(edges)):
        edge = edges[front.first - back]
        if edge.name not in names:
            break
        room += edge.length
        if left > _LEAST:
            part = edge.curve
            if left < edge.length - _LEAST:
                part = part.part(edge.length - left, edge.length)
            run.insert(0, Edge(edge.name, part))
            left -= part.length
    return ([] if left > _LEAST else run), room


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


def back_facing(ground: CollarBase, facing: Piece) -> tuple[Piece, tuple[Seam, ...]]:
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
