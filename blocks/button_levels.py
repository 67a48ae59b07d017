"""Where buttons go on a front: evenly spaced, one at the fullest part of the bust.

Heights in centimetres, upwards. Between the top button and the bust there must be a whole number
of spaces; of all that fit, the one nearest the usual spacing is taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from blocks.front_edge import figures
from drafting.errors import DraftError, Problem
from drafting.sentences import DOWN, keep_values, length, span

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
