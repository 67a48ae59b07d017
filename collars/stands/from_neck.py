"""A stand that leans to the client's own neck: how much its neck seam must turn, and so rise.

A strip of cloth h high whose lower edge is bent by an angle has its upper edge shorter by h times
that angle (in radians, on the half as on the whole); rolled up it is a piece of a cone, whose flat
shape is a sector of a ring. So the turning follows from two lengths: the neckline, and the girth of
the neck where the top edge comes to lie, with the room asked for. The first is sewn to, the second
is what was taped there, or told by the fall of the girth with the height.

Where along the seam it turns is asked of the neck too: its throat leans in against the ring, its
nape hardly does, so that the more upright the neck, the farther forward the strip turns. What
:mod:`collars.stands.bends` can do is begin to turn later, no later than the shoulder. Computed; to
be seen on the toile. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from blocks.body.measures import measurements
from blocks.neck.measures import NeckShape, neck_figures, neck_on
from blocks.neck.surface import Heights, NeckSurface, surface_under
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
from drafting.sentences import DOWN, SHORT, length
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
        """Girths and lean of the neck, and the height of the tape where it was taped."""
        return self.neck.reads

    @property
    def astray(self) -> float:
        """What the neck is off by where it was taped at another height than the stand's."""
        return self.neck.astray_at(mean_height(self.shape))

    def target(self, body: Mapping[str, float]) -> float:
        """Girth (cm) of a body's neck where the top edge lies, and the ease."""
        heights = _heights(self.sewn, self.shape, self.gap)
        return surface_under(neck_on(self.neck, body), heights).reached(heights) + self.ease


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
        return frozenset() if self.neck is None else self.neck.on_body.reads

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
    return ChosenRise(kept, found, notes=(*notes, *_notes(neckline, found, values)))


def _asked(kind: str, neckline: Neckline, wishes: Wishes) -> str:
    """What ``rise_by`` comes to; empty where it is left open and the neck may tell."""
    if "rise_by" in wishes:
        return resolve_parameters(kind, wishes)[0].word("rise_by")
    if "rise" in wishes:
        return "number"
    neck = neckline.neck
    known = neck is not None and (neck.taped or "neck_girth" not in neck.estimated)
    return "" if known and neckline.shape == "round" else "rule"


def _by_rule(problem: Problem) -> str:
    """Why a rise that was left open is the usual one although her neck girth is known."""
    return f"The stand has its usual rise, for {problem.said}."


def rise_of(
    neck: NeckShape,
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
    most = neck_figures()["reach_most"]
    if (high := max(shape.back, shape.front)) > most:
        return _refused(
            f"this stand is {length(high)} high, and nothing is known of a neck more than "
            f"{length(most)} above its base",
            "Take a lower stand, or write the rise.",
        )
    heights = _heights(sewn, shape, gap)
    try:
        surface = surface_under(neck, heights)
    except DraftError as error:
        return error.problems[0]
    if free:
        shape = replace(shape, straight=_straight(surface, sewn))
    girth = surface.reached(heights)
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
    return NeckRise(rise, shape.straight, girth, NeckAtTop(neck, sewn, shape, gap, ease))


def neck_at_top(sewn: Neckline, shape: StandShape, gap: float = 0.0) -> float | None:
    """Girth of the neck (cm) where the closed top edge of a stand comes to lie that ends ``gap``
    short of centre front; ``None`` where the neck does not tell."""
    whole = replace(sewn, front_arc=sewn.front_arc + gap)
    if isinstance(neck := _neck(whole), Problem):
        return None
    heights = _heights(sewn, shape, gap)
    try:
        return surface_under(neck, heights).reached(heights)
    except DraftError:
        return None


def mean_height(shape: StandShape) -> float:
    """How high (cm) a stand is all round, in the mean."""
    return (shape.back + shape.front) / 2.0


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
        source="computed: the girth of the neck at the height of the collar's top, and the room "
        "asked for",
    )


def _straight(neck: NeckSurface, sewn: Neckline) -> float:
    """How much of the neck seam (cm) stays straight so that the turning, which is even from there
    on, has its middle where the neck has it; no more than to the shoulder."""
    middle = neck.turning_middle()
    if middle is None:
        return sewn.back_arc
    return float(np.clip((2.0 * middle - 1.0) * sewn.half, 0.0, sewn.back_arc))


def _neck(neckline: Neckline) -> NeckShape | Problem:
    """The neck under a neckline, or why a stand on it does not follow the neck."""
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
    return neckline.neck


def _refused(said: str, advice: str) -> Problem:
    return Problem(said, key=_KEY, got="neck", accepted="rule, number", advice=advice)


def _residual() -> float:
    """The standard deviation (cm) of necks about the girth estimated at the collar's top."""
    (rule,) = measurements()["collar_top_girth"].estimates
    assert rule.residual is not None
    return rule.residual


def _notes(neckline: Neckline, found: NeckRise, values: Values) -> tuple[str, ...]:
    """What the maker should know of a rise reckoned from the neck."""
    neck, height = found.on_body.neck, mean_height(found.on_body.shape)
    figures = neck_figures()
    said = [
        f"The stand rises {length(found.rise, places=2)}, from her neck: it is "
        f"{length(found.girth)} round where the closed top edge lies, and "
        f"{length(values.number('finger_ease'))} is left as room. A collar must never be tight on "
        "the neck: close it on her at the toile."
    ]
    names = {"neck_base_girth": "neck base girth", "neck_lean": "neck lean"}
    if not neck.taped:
        names |= {"neck_girth": "neck girth"}
        said.append(
            "Her neck was not taped at that height: estimated, it may be "
            f"{length(_residual(), places=SHORT)} thicker or thinner round. Tape the neck girth at "
            f"the collar's top before cutting, {length(height, places=SHORT)} above the chain."
        )
    elif abs(height - neck.top_height) > figures["far_off"]:
        said.append(
            f"Her neck was taped {length(neck.top_height)} above the chain, and this stand is "
            f"{length(height, places=SHORT)} high in the mean: tape the neck girth at the collar's "
            "top again at that height before cutting."
        )
    if neck.taped and neckline.neck_girth is not None and neck.top_girth < neckline.neck_girth:
        said.append(
            f"Her neck girth at the collar's top, {length(neck.top_girth)}, is less than her neck "
            f"girth, {length(neckline.neck_girth)}: measure both again."
        )
    if guessed := [name for key, name in names.items() if key in neck.estimated]:
        them = "them" if len(guessed) > 1 else "it"
        said.append(
            f"Estimated for that rise: {', '.join(guessed)}. Measure {them} before cutting."
        )
    return tuple(said)
