"""Buttonholes and buttons on a front with a button stand: on centre front, one at bust level.

Centimetres. Left and right front are cut alike: buttonholes are drawn as marks for the front that
laps over, button places as drill holes at the same heights for the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, floor
from typing import NamedTuple

from shapely.geometry import LineString, Polygon

from blocks.edges import EdgeName
from blocks.finishing.front_edge import button_stand_for, check_button, figures
from drafting.errors import DraftError, Problem
from drafting.geometry.curves import Curve, line
from drafting.geometry.points import Point
from drafting.parameters import lies_within
from drafting.pieces.piece import Drill, Mark, MarkKind, Piece
from drafting.sentences import DOWN, SHORT, UP, Sentence, keep_values, length, span
from drafting.tolerances import SAME_POINT

# ---- Where buttons go on a front: evenly spaced, one at the fullest part of the bust

#: A buttonhole this near the bust level lies at it: the width of a pencil line.
AT_BUST = 0.05
_HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Room:
    """Where buttons may go: ``top`` of the highest, ``lowest`` of the lowest, ``bust`` of the
    fullest part (``None`` when it is not known). ``above`` is 1 when ``top`` itself is taken by a
    button that is not on the front; ``play`` is how much lower the highest may lie."""

    top: float
    bust: float | None
    lowest: float
    above: int = 0
    play: float = 0.0


@dataclass(frozen=True, slots=True)
class Levels:
    """Heights of the buttons from the top down, the ``spacing`` between them, and notes."""

    heights: tuple[float, ...]
    spacing: float
    notes: tuple[str, ...]

    def __post_init__(self) -> None:
        keep_values(self, "notes")


def even_levels(room: Room, count: int | None, spacing: float | None) -> Levels:
    """Heights of evenly spaced buttons, one at bust level whenever that can be had.

    With ``spacing`` it is kept, and with ``count`` so many are placed; without either the usual
    spacing decides. Raises :class:`DraftError` when there is no room.
    """
    if room.top - room.lowest < -_HAIR or (room.above and room.top - room.lowest < _HAIR):
        raise DraftError(
            Problem(
                "there is no room for a button between the top and the lowest place allowed",
                key="buttons",
                got=length(room.top - room.lowest),
                advice="Lengthen the front, or let the lowest button come nearer its end.",
            )
        )
    if spacing is not None:
        return _said(room, *_kept(room, spacing), count)
    if count is not None:
        return _said(room, *_counted(room, count), count)
    # nothing is to be said of a spacing that nobody asked for: it is the best this front has
    return _said(room, *_usual(room), None, free=True)


def _kept(room: Room, spacing: float) -> tuple[float, float]:
    """Top and spacing when the spacing is given."""
    bust = room.bust
    free = room.play > 0.0 and not room.above
    if free and bust is not None and bust <= room.top:
        return bust + floor((room.top - bust) / spacing + _HAIR) * spacing, spacing
    return room.top, spacing


def _counted(room: Room, count: int) -> tuple[float, float]:
    """Top and spacing when so many are to reach down towards the lowest place."""
    gaps = count - 1 + room.above
    bust = room.bust
    if gaps == 0:
        at_bust = room.play > 0.0 and bust is not None and room.lowest <= bust <= room.top
        return (bust if at_bust and bust is not None else room.top), 0.0
    most = (room.top - room.lowest) / gaps
    if bust is None or bust >= room.top - _HAIR:
        return room.top, most
    spaces = max(1, ceil((room.top - bust) / most - _HAIR))
    return room.top, (room.top - bust) / spaces if spaces <= gaps else most


def _usual(room: Room) -> tuple[float, float]:
    """Top and spacing nearest the usual ones with a button at bust level."""
    known, bust = figures("buttonholes"), room.bust
    low, high = known["usual_least"], known["usual_most"]

    def away(spacing: float) -> tuple[float, float]:
        return max(low - spacing, spacing - high, 0.0), abs(spacing - known["usual"])

    if bust is not None and bust < room.top - _HAIR and bust >= room.lowest - _HAIR:
        found = []
        for spaces in range(1, 1 + ceil((room.top - bust) / known["spacing_least"])):
            widest = (room.top - bust) / spaces
            narrowest = max((room.top - room.play - bust) / spaces, _HAIR)
            found.append((max(min(widest, high), narrowest), spaces))
        spacing, spaces = min(found, key=lambda one: away(one[0]))
        if known["spacing_least"] <= spacing <= known["spacing_most"]:
            return bust + spaces * spacing, spacing
    reach = room.top - room.lowest
    gaps = max(1, round(reach / known["usual"]))
    return room.top, reach / gaps if reach > _HAIR else known["usual"]


def _said(
    room: Room, top: float, spacing: float, count: int | None, *, free: bool = False
) -> Levels:
    """The levels below a top, and what is to be said of them; ``free`` when neither count nor
    spacing was asked for."""
    most = floor((top - room.lowest) / spacing + _HAIR) + 1 if spacing > 0.0 else 1
    most -= room.above
    if count is not None and count > most:
        reach = (top - room.lowest) / max(count - 1 + room.above, 1)
        raise DraftError(
            Problem(
                f"{count} buttons {length(spacing)} apart do not fit on this front",
                key="buttons",
                got=f"room for {most}",
                accepted=f"{most} or fewer, or {length(reach)} apart",
            )
        )
    number = most if count is None else count
    if number < 1:
        raise DraftError(
            Problem(
                "there is no room for a button on this front",
                key="buttons",
                got=f"{length(spacing)} apart",
                accepted=f"{length(top - room.lowest, rounding=DOWN)} or less",
            )
        )
    heights = tuple(top - (k + room.above) * spacing for k in range(number))
    said = () if free else _of_spacing(heights, spacing)
    return Levels(heights, spacing, (*_of_bust(room, heights), *said))


def _of_bust(room: Room, heights: tuple[float, ...]) -> tuple[str, ...]:
    if room.bust is None:
        return ("No bust level is known on this front, so no buttonhole is placed by it.",)
    off = min((height - room.bust for height in heights), key=abs)
    if abs(off) <= AT_BUST:
        return ()
    said = (
        f"No buttonhole lies at bust level: the nearest is {length(abs(off))} "
        f"{'above' if off > 0.0 else 'below'} it. "
    )
    span = room.top - room.bust
    if room.bust > heights[0] + AT_BUST and not room.above:
        return (said + "The front opens from below the bust, so it need not gape.",)
    known = figures("buttonholes")
    fitting = [
        span / k
        for k in range(1, 20)
        if known["spacing_least"] <= span / k <= known["spacing_most"]
    ]
    if fitting:
        best = min(fitting, key=lambda s: abs(s - known["usual"]))
        return (
            said
            + f"Spaced {length(best, places=2)} apart one would lie there; else sew on a press "
            "stud.",
        )
    return (said + "Sew a press stud there, or the front gapes.",)


def _of_spacing(heights: tuple[float, ...], spacing: float) -> tuple[str, ...]:
    known = figures("buttonholes")
    low, high = known["usual_least"], known["usual_most"]
    if len(heights) < 2 or low - AT_BUST <= spacing <= high + AT_BUST:
        return ()
    off, word = (low - spacing, "less") if spacing < low else (spacing - high, "more")
    return (
        f"The buttonholes come {length(spacing)} apart, {length(off)} {word} than the usual "
        f"{span(low, high, places=0)}.",
    )


#: Ways a buttonhole may lie.
DIRECTIONS = "horizontal", "vertical"
BUTTON = "button"


class Buttoned(NamedTuple):
    """A front with its buttonholes; ``positions`` are the buttons' places on centre front, from
    the top down."""

    front: Piece
    positions: tuple[Point, ...]
    notes: tuple[str, ...]


def with_buttonholes(
    front: Piece,
    *,
    button: float,
    count: int | None = None,
    spacing: float | None = None,
    first: Point | None = None,
    button_in_stand: bool = False,
    lowest_above_end: float | None = None,
    direction: str = "horizontal",
    thickness: float | None = None,
    bust_level: float | None = None,
) -> Buttoned:
    """The front with buttonholes on centre front, evenly spaced.

    ``button`` is the button's diameter; ``count`` how many on the front; ``spacing`` between them.
    The highest lies at the height of ``first`` (where a lapel's roll begins), or one space below
    the neck seam when the collar's stand has a button (``button_in_stand``), or where a V meets the
    front edge, or just below any other neckline. The lowest stays ``lowest_above_end`` above hem or
    waist (the usual when ``None``).
    ``bust_level`` is the height of the fullest part, the bust dart's own point when ``None``.
    Horizontal holes begin 0.3 beyond centre front towards the edge, vertical ones lie on it; a hole
    is as long as the button is wide and thick. Buttonholes already drawn are replaced. Raises
    :class:`DraftError` listing all that is wrong with the wishes, and when there is no room.
    """
    known = figures("buttonholes")
    centre = _centre_front(front)
    low, high = sorted((centre.start, centre.end), key=lambda p: p.y)
    thick = figures("button")["thickness"] if thickness is None else thickness
    if lowest_above_end is None:
        hem = bool(front.named(EdgeName.HEM))
        lowest_above_end = known["above_hem"] if hem else known["above_waist"]
    _check(
        button,
        thick,
        count,
        spacing,
        first,
        button_in_stand,
        lowest_above_end,
        direction,
        (low.y, high.y),
    )
    bust = bust_level if bust_level is not None else _bust_level(front)
    lowest = low.y + lowest_above_end
    reach = (p for edge in _edges(front) for p in (edge.start, edge.end))
    edge_top = max(reach, key=lambda p: p.y, default=high)
    ends = min(edge_top.y, high.y)
    if first is not None:
        room = Room(first.y, bust, lowest)
    elif button_in_stand:
        room = Room(high.y, bust, lowest, above=1)
    elif high.y - ends > SAME_POINT:  # a V: its rim clear of the line that slopes over it
        clear = (button / 2.0 + known["below_neck"]) * high.to(edge_top) / (edge_top.x - high.x)
        room = Room(min(ends, high.y - clear), bust, lowest)
    else:
        top = high.y - button / 2.0 - known["below_neck"]
        room = Room(top, bust, lowest, play=known["below_neck_play"])
    levels = even_levels(room, count, spacing)
    positions = tuple(
        low.towards(high, (height - low.y) / (high.y - low.y)) for height in levels.heights
    )
    holes = tuple(_hole(at, button + thick, direction) for at in positions)
    area = Polygon(front.outline()).buffer(-1e-6)
    if not all(area.contains(LineString(hole.flatten())) for hole in holes):
        raise DraftError(
            Problem(
                "a buttonhole would run out of the front",
                key="button",
                got=f"a hole of {length(button + thick)}",
                advice="Draft the block with a button stand of "
                f"{length(button_stand_for(button), places=SHORT, rounding=UP)}.",
            )
        )
    marks = tuple(mark for mark in front.marks if mark.kind is not MarkKind.BUTTONHOLE)
    drills = tuple(drill for drill in front.drills if drill.label != BUTTON)
    buttoned = replace(
        front,
        marks=(*marks, *(Mark(MarkKind.BUTTONHOLE, hole) for hole in holes)),
        drills=(*drills, *(Drill(at, BUTTON) for at in positions)),
    )
    notes = (*levels.notes, *map(Sentence, _of_stand(front, centre, button)))
    return Buttoned(buttoned, positions, notes)


def _centre_front(front: Piece) -> Curve:
    found = [mark.curve for mark in front.marks if mark.kind is MarkKind.CENTRE_FRONT]
    if not found:
        raise DraftError(
            Problem(
                "buttonholes need a button stand beyond centre front",
                key="button_stand",
                place=front.title,
                accepted="a front with a button stand, not one on the fold",
                advice="Give the block a button stand, about three quarters of the button and "
                f"{length(0.75, places=2)}.",
            )
        )
    return found[0]


def _edges(front: Piece) -> list[Curve]:
    """The front edge, be it cut or a fold."""
    return [
        *(edge.curve for edge in front.named(EdgeName.FRONT_EDGE)),
        *(mark.curve for mark in front.marks if mark.kind is MarkKind.FOLD),
    ]


def _bust_level(front: Piece) -> float | None:
    return next((dart.apex.y for dart in front.darts if "bust" in dart.name), None)


def _hole(at: Point, length: float, direction: str) -> Curve:
    begin = Point(1.0, 0.0) if direction == "horizontal" else Point(0.0, 1.0)
    start = at + begin * figures("buttonholes")["beyond_centre"]
    return line(start, start - begin * length)


def _check(
    button: float,
    thickness: float,
    count: int | None,
    spacing: float | None,
    first: Point | None,
    in_stand: bool,
    lowest_above_end: float,
    direction: str,
    reach: tuple[float, float],
) -> None:
    known = figures("buttonholes")
    problems = list(check_button(button))
    low, high = reach
    for key, value, least, most in (
        ("thickness", thickness, 0.0, 2.0),
        ("count", count, 1.0, known["count_most"]),
        ("spacing", spacing, 1.5, high - low),
        ("lowest_above_end", lowest_above_end, 0.5, high - low),
        ("first", None if first is None else first.y - low, 0.5, high - low - 0.5),
    ):
        if value is not None and not lies_within(value, least, most):
            problems.append(
                Problem(
                    f"buttonholes cannot be placed with this {key.replace('_', ' ')}",
                    key=key,
                    got=f"{value:g}" if key == "count" else length(value, places=2),
                    accepted=f"{least:g} to {most:g}"
                    if key == "count"
                    else span(least, most, places=SHORT),
                )
            )
    if direction not in DIRECTIONS:
        problems.append(
            Problem(
                "a buttonhole does not lie this way",
                key="direction",
                got=direction,
                accepted=" or ".join(DIRECTIONS),
            )
        )
    if first is not None and in_stand:
        problems.append(
            Problem(
                "the highest button is either in the collar stand or where a lapel's roll begins",
                key="first",
                advice="Leave out one of the two.",
            )
        )
    if problems:
        raise DraftError(problems)


def _of_stand(front: Piece, centre: Curve, button: float) -> tuple[str, ...]:
    """Whether the button lies safely inside the button stand."""
    edges = _edges(front)
    if not edges:
        return ()
    stand = max(edge.start.x for edge in edges) - centre.start.x
    least = button / 2.0 + figures("button_stand")["beyond_button"]
    if stand >= least - 1e-9:
        return ()
    return (
        f"The button stand of {length(stand)} is narrow for a button of {length(button)}: "
        f"{length(button_stand_for(button), places=SHORT)} is usual.",
    )
