"""A stand that leans to the client's own neck: how much its neck seam must turn, and so rise.

A strip of cloth h high whose lower edge is bent by an angle has its upper edge shorter by h times
that angle (in radians, on the half as on the whole); rolled up it is a piece of a cone, whose flat
shape is a sector of a ring. So the turning follows from two lengths: the neckline, and the girth of
the neck where the top edge comes to lie, with the room asked for. The first is sewn to, the second
is taken off the surface of the neck at the stand's own height and slope.

Where along the seam it turns is asked of the neck too: its throat leans in against the ring, its
nape hardly does, so that the more upright the neck, the farther forward the strip turns. What
:mod:`collars.stands.bends` can do is begin to turn later, no later than the shoulder. Computed; to
be seen on the toile. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from blocks.neck.measures import NECK_READS, NeckShape, neck_figures, neck_on
from blocks.neck.surface import Heights, NeckSurface, neck_surface
from blocks.neckline.neckline import Neckline
from collars.parameters import Values, collar_sheet, resolve_parameters
from collars.stands.stand import (
    StandShape,
    heights_at,
    rise_for_top,
    stand_problems,
    stand_shape,
    top_length,
)
from drafting.errors import DraftError, Problem
from drafting.pieces.checks import Check, within
from drafting.sentences import DOWN, length
from drafting.tolerances import SEAM, TOP_EDGE

Wishes = Mapping[str, float | str]
#: What the check of a closed top edge is called that was made to the neck where it lies.
ON_NECK = "closed top edge at its height on the neck"
_KEY = "collar.rise_by"


@dataclass(frozen=True, slots=True)
class NeckAtTop:
    """A stand as it is cut, on another neck: ``sewn`` and ``shape`` it has, ``gap`` short of
    centre front, ``neck`` as it was known, and the ``ease`` asked for."""

    neck: NeckShape
    sewn: Neckline
    shape: StandShape
    gap: float
    ease: float

    @property
    def reads(self) -> frozenset[str]:
        """Girths, height and lean of the neck."""
        return NECK_READS

    def target(self, body: Mapping[str, float]) -> float:
        """Girth (cm) of a body's neck where the top edge lies, and the ease."""
        surface = neck_surface(neck_on(self.neck, body))
        return surface.reached(_heights(self.sewn, self.shape, self.gap)) + self.ease


@dataclass(frozen=True, slots=True)
class NeckRise:
    """The rise a neck asks of a stand: ``rise`` and ``straight`` (cm of its neck seam from centre
    back that does not turn), ``girth`` of the neck where the closed top edge lies, ``on_body`` that
    of any other neck."""

    rise: float
    straight: float
    girth: float
    on_body: NeckAtTop


@dataclass(frozen=True, slots=True)
class ChosenRise:
    """Where the rise of a stand comes from: the ``wishes`` with it, ``neck`` what the neck asks
    where it was asked, ``problems`` why it cannot be, ``notes`` for the maker."""

    wishes: Wishes
    neck: NeckRise | None = None
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def leans_on(self) -> frozenset[str]:
        """The measurements the stand was reckoned from besides the neckline."""
        return frozenset() if self.neck is None else NECK_READS

    @property
    def on_body(self) -> Mapping[str, NeckAtTop]:
        """What the check against the neck is compared with on another body."""
        return {} if self.neck is None else {ON_NECK: self.neck.on_body}


def chosen_rise(kind: str, neckline: Neckline, wishes: Wishes, gap: float = 0.0) -> ChosenRise:
    """The rise of a stand by the parameter ``rise_by``; ``gap`` is how far short of centre front it
    ends. ``number`` leaves the wishes as they are, ``rule`` takes what was written away, ``neck``
    writes what the neck asks in its place. Left out it is the number where one is written, else
    the neck where her neck girth was taken and the stand follows her neck, else the rule."""
    by = _asked(kind, neckline, wishes)
    if by == "number":
        return ChosenRise({**wishes, "rise_by": by})
    if by == "":
        by_neck = chosen_rise(kind, neckline, {**wishes, "rise_by": "neck"}, gap)
        if not by_neck.problems:
            return by_neck
        return ChosenRise(
            {**wishes, "rise_by": "rule"}, notes=tuple(map(_by_rule, by_neck.problems))
        )
    kept = {key: value for key, value in wishes.items() if key != "rise"} | {"rise_by": by}
    notes: tuple[str, ...] = ()
    if "rise" in wishes:
        notes = (f"The rise on the card is not used: the rise is taken by {by}.",)
    if by == "rule":
        return ChosenRise(kept, notes=notes)
    values, _ = resolve_parameters(kind, kept)
    if isinstance(neck := _neck(neckline), Problem):
        return ChosenRise(kept, problems=(neck,), notes=notes)
    sewn = replace(neckline, front_arc=neckline.front_arc - gap)
    free = "straight_back" not in wishes
    found = rise_of(neck, sewn, stand_shape(sewn, values), kind, values, gap, free=free)
    if isinstance(found, Problem):
        return ChosenRise(kept, problems=(found,), notes=notes)
    kept["rise"] = found.rise
    kept["straight_back"] = found.straight / sewn.back_arc
    return ChosenRise(kept, found, notes=(*notes, *_notes(neck.shape, found, values)))


def _asked(kind: str, neckline: Neckline, wishes: Wishes) -> str:
    """What ``rise_by`` comes to; empty where it is left open and the neck may tell."""
    if "rise_by" in wishes:
        return resolve_parameters(kind, wishes)[0].word("rise_by")
    if "rise" in wishes:
        return "number"
    known = neckline.neck is not None and "neck_girth" not in neckline.neck.estimated
    return "" if known and neckline.shape == "round" else "rule"


def _by_rule(problem: Problem) -> str:
    """Why a rise that was left open is the usual one although her neck girth is known."""
    return f"The stand has its usual rise, for {problem.said}."


def rise_of(
    neck: NeckSurface,
    sewn: Neckline,
    shape: StandShape,
    kind: str,
    values: Values,
    gap: float,
    *,
    free: bool,
) -> NeckRise | Problem:
    """What a neck asks of a stand sewn to ``sewn``, which ends ``gap`` short of centre front; or
    why there is no such stand. Where ``free``, the neck says too where it begins to turn."""
    if impossible := stand_problems(sewn, replace(shape, rise=0.0)):
        return impossible[0]
    heights = _heights(sewn, shape, gap)
    most = neck_figures()["reach_most"] * neck.shape.height
    if (high := neck.highest(heights)) > most:
        return _refused(
            f"a stand this high reaches {length(high)} up her neck at the side, and beyond "
            f"{length(most)} nothing is known of it",
            "Take a lower stand, measure the neck height, or write the rise.",
        )
    if free:
        shape = replace(shape, straight=_straight(neck, sewn))
    girth = neck.reached(heights)
    wanted = (girth + values.number("finger_ease")) / 2.0 - gap
    plain = top_length(sewn, replace(shape, rise=0.0))
    if plain < wanted - SEAM / 4.0:
        return _refused(
            f"even without rise the collar closes at {length(2.0 * (plain + gap))}, and her neck "
            f"with the room asked for is {length(2.0 * (wanted + gap))} there: the neckline itself "
            "is too close",
            "Lay the neckline farther out (its ease or fit), or ask for less room.",
        )
    highest = collar_sheet(kind).rules["rise"].high
    rise = 0.0 if plain < wanted else rise_for_top(sewn, shape, wanted, highest)
    if rise is None:
        return _refused(
            f"no rise up to {length(highest, rounding=DOWN)} closes the collar to "
            f"{length(2.0 * (wanted + gap))}, her neck with the room asked for",
            "Fit the neckline closer first, ask for more room, or write the rise.",
        )
    ease = values.number("finger_ease")
    return NeckRise(rise, shape.straight, girth, NeckAtTop(neck.shape, sewn, shape, gap, ease))


def neck_at_top(sewn: Neckline, shape: StandShape, gap: float = 0.0) -> float | None:
    """Girth of the neck (cm) where the closed top edge of a stand comes to lie that ends ``gap``
    short of centre front; ``None`` where the neck does not tell."""
    whole = replace(sewn, front_arc=sewn.front_arc + gap)
    neck = _neck(whole)
    return None if isinstance(neck, Problem) else neck.reached(_heights(sewn, shape, gap))


def _heights(sewn: Neckline, shape: StandShape, gap: float) -> Heights:
    """How high a stand is at shares of the half neckline."""
    ring = sewn.half + gap
    return lambda shares: heights_at(shape, np.minimum(shares * ring / sewn.half, 1.0))


def neck_check(neck: NeckRise, closed: float, ease: float, where: str) -> Check:
    """The closed top edge (whole, cm) of a stand against the neck where it lies."""
    return within(
        ON_NECK,
        closed,
        neck.girth + ease,
        TOP_EDGE,
        where=where,
        advice="The draft is not what was asked for: do not cut it.",
        source="computed: the neck between its base and its middle, and the room asked for",
    )


def _straight(neck: NeckSurface, sewn: Neckline) -> float:
    """How much of the neck seam (cm) stays straight so that the turning, which is even from there
    on, has its middle where the neck has it; no more than to the shoulder."""
    middle = neck.turning_middle()
    if middle is None:
        return sewn.back_arc
    return float(np.clip((2.0 * middle - 1.0) * sewn.half, 0.0, sewn.back_arc))


def _neck(neckline: Neckline) -> NeckSurface | Problem:
    """The surface of the neck under a neckline, or why a stand on it does not follow the neck."""
    if neckline.neck is None:
        return _refused(
            "the rise can be taken from her neck only when she has been measured; here the "
            "neckline was taped",
            "Give the client's measurements, or write the rise.",
        )
    off = 2.0 * neckline.half - neckline.neck.base_girth
    most = neck_figures()["off_most"]
    if neckline.shape != "round" or abs(off) > most:
        return _refused(
            f"this neckline is {length(abs(off))} {'longer' if off > 0 else 'shorter'} than the "
            f"neck base{'' if neckline.shape == 'round' else f' and of {neckline.shape} shape'}: "
            "what stands on it does not follow her neck",
            f"Fit a round neckline to within {length(most, rounding=DOWN)} of the neck base, or "
            "write the rise.",
        )
    try:
        return neck_surface(neckline.neck)
    except DraftError as error:
        return error.problems[0]


def _refused(said: str, advice: str) -> Problem:
    return Problem(said, key=_KEY, got="neck", accepted="rule, number", advice=advice)


def _notes(shape: NeckShape, found: NeckRise, values: Values) -> tuple[str, ...]:
    """What the maker should know of a rise reckoned from the neck."""
    said = [
        f"The stand rises {length(found.rise, places=2)}, from her neck: it is "
        f"{length(found.girth)} round where the closed top edge lies, and "
        f"{length(values.number('finger_ease'))} is left as room. Judge it on the toile."
    ]
    names = {"neck_height": "neck height", "neck_girth": "neck girth"}
    names |= {"neck_base_girth": "neck base girth", "neck_lean": "neck lean"}
    if guessed := [name for key, name in names.items() if key in shape.estimated]:
        said.append(f"Estimated for that rise: {', '.join(guessed)}. Measure them before cutting.")
    return tuple(said)
