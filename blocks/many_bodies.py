"""The blocks of many bodies at once, as far as a fit study needs them: quantities, necklines with
their corrections, and the girths, for a whole population in a few steps of arrays.

Every number is what :func:`blocks.bodice.draft_bodice` gives the same body, to 1e-9. Where the
arrays meet anything that is not plain, that body is drafted by itself, so that it is refused for
the same reason. No outlines are drawn here. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, cast

import numpy as np

from blocks.bodice import BlockWish, BodiceDraft, draft_bodice, neck_frame
from blocks.body import Body, complete, rules_used
from blocks.ease import EASE_INPUTS
from blocks.many_necklines import BoolArray, ManyFits, Reach, fit_many
from blocks.many_waists import ManyWaists, true_waists
from blocks.measures import refuse_unknown
from blocks.methods import method
from blocks.neck import NeckChange, NeckFrame
from blocks.neckfit import FITS
from blocks.sense import SENSE
from drafting.errors import DraftError
from drafting.points import FloatArray, Point


@dataclass(frozen=True, slots=True)
class ManyBodies:
    """Bodies of whom the same was measured: ``taken`` and, with what was estimated from it,
    ``values``, each measurement an array (n,) in centimetres or radians."""

    taken: Mapping[str, FloatArray]
    values: Mapping[str, FloatArray]

    def __len__(self) -> int:
        return len(next(iter(self.taken.values())))

    def body(self, k: int) -> Body:
        """One of them."""
        return complete({key: float(values[k]) for key, values in self.taken.items()})


@dataclass(frozen=True, slots=True)
class ManyBlocks:
    """The blocks of many bodies by one method.

    ``fits`` are their necklines against their necks, ``waists`` what the waist and the bust line
    come to; numbers of ``refused`` bodies mean nothing, and :meth:`reason` says why they were.
    """

    bodies: ManyBodies
    wish: BlockWish
    quantities: Mapping[str, FloatArray]
    fits: ManyFits
    waists: ManyWaists
    refused: BoolArray

    def reason(self, k: int) -> str:
        """Why a body is refused, in the words of the draft that refuses it; empty when it is
        not."""
        if not self.refused[k]:
            return ""
        try:
            draft_bodice(self.bodies.body(k), self.wish)
        except DraftError as error:
            return str(error)
        raise AssertionError("a body was refused that can be drafted")

    @property
    def bust_ease_left(self) -> FloatArray:
        """Ease in the bust line once the darts that cross it are sewn."""
        width = 2.0 * (self.quantities["half_width"] - self.waists.taken_in)
        return width - self.bodies.values["bust_girth"]


def complete_many(taken: Mapping[str, FloatArray]) -> ManyBodies:
    """Bodies with every missing measurement estimated that can be, as
    :func:`blocks.body.complete` does it. Raises :class:`DraftError` for a name that is no
    measurement's."""
    refuse_unknown(taken)
    values = {key: np.asarray(v, dtype=np.float64) for key, v in taken.items()}
    given = dict(values)
    count = len(next(iter(values.values())))
    for key, rule in rules_used(taken).items():
        values[key] = np.broadcast_to(np.asarray(rule.formula.evaluate(values)), (count,))
    return ManyBodies(given, values)


def draft_many(bodies: ManyBodies, wish: BlockWish) -> ManyBlocks:
    """The blocks of many bodies, as :func:`blocks.bodice.draft_bodice` drafts each.

    ``wish`` asks for a method, a correction and the neckline's ease; style necklines, another ease
    of the block and what a fitting asked for are drafted one by one only. Raises ``ValueError``
    for those, and :class:`DraftError` when a measurement that all of them lack is needed.
    """
    plain = BlockWish(wish.method, wish.fit, wish.neck_ease, button_stand=wish.button_stand)
    if wish != plain or wish.fit not in ("none", *FITS):
        raise ValueError("only plain blocks are drafted together")
    q, refused = _quantities(bodies, wish)
    target = _known(bodies, "neck_base_girth") + wish.neck_ease
    with np.errstate(all="ignore"):
        frame = _full(neck_frame(cast(Any, q)), len(bodies))
    fits = fit_many(frame, target, _known(bodies, "neck_girth"), wish.fit)
    waists = true_waists(q)
    doubtful = fits.doubtful | waists.refused | ~np.isfinite(fits.fitted)
    if wish.fit != "none":
        unfit = fits.corrections[wish.fit].reach
        refused |= (unfit != Reach.FITS) & ~np.isnan(fits.drafted)
    blocks = ManyBlocks(bodies, wish, q, fits, waists, refused)
    for k in np.flatnonzero(doubtful & ~refused):
        _by_itself(blocks, int(k))
    return blocks


def _quantities(bodies: ManyBodies, wish: BlockWish) -> tuple[dict[str, FloatArray], BoolArray]:
    """The method's quantities, and for whom a formula has no answer or what comes out makes no
    sense."""
    chosen = method(wish.method)
    inputs: dict[str, float | FloatArray] = dict.fromkeys(EASE_INPUTS, 0.0)
    inputs |= {key: _known(bodies, key) for key in chosen.reads} | {"neck_ease": wish.neck_ease}
    q: dict[str, FloatArray] = {
        key: np.asarray(values) for key, values in chosen.sheet.evaluate(inputs).items()
    }
    refused = ~np.isfinite(np.stack([*q.values()])).all(axis=0)
    with np.errstate(all="ignore"):
        for rule in SENSE:
            refused = refused | ~rule.holds(q)
    return q, np.asarray(refused)


def _known(bodies: ManyBodies, key: str) -> FloatArray:
    if key not in bodies.values:
        bodies.body(0)[key]  # raises, saying how it is taken
    return bodies.values[key]


def _full(frame: NeckFrame, count: int) -> NeckFrame:
    """The frame with every number an array."""
    whole: dict[str, Any] = {}
    for field in fields(frame):
        value = getattr(frame, field.name)
        if isinstance(value, Point):
            whole[field.name] = Point(*(cast(Any, _spread(part, count)) for part in value))
    return replace(frame, **whole)


def _spread(value: Any, count: int) -> FloatArray:
    return np.broadcast_to(np.asarray(value, dtype=np.float64), (count,))


def _by_itself(blocks: ManyBlocks, k: int) -> None:
    """Draft one body that the arrays made nothing of, and take over what comes of it."""
    try:
        one = draft_bodice(blocks.bodies.body(k), blocks.wish)
    except DraftError:
        blocks.refused[k] = True
        return
    _take_over(blocks, k, one)


def _take_over(blocks: ManyBlocks, k: int, one: BodiceDraft) -> None:
    fits = blocks.fits
    fits.drafted[k] = one.fit.drafted
    fits.back[k], fits.front[k] = one.neckline.back_arc, one.neckline.front_arc
    blocks.waists.closed[k] = one.waist.closed.length
    for cure in one.fit.corrections:
        found = fits.corrections[cure.key]
        if cure.change is not None:
            found.amount[k] = _amount(cure.key, cure.change, neck_frame(one.quantities))
            found.reach[k] = Reach.FITS
        elif found.reach[k] == Reach.FITS:
            found.amount[k], found.reach[k] = np.nan, Reach.UNDRAWN


def _amount(key: str, change: NeckChange, start: NeckFrame) -> float:
    """The amount that a correction's move is of, as in ``blocks.neckfit.correction_by``."""
    if key == "side":
        return -change.side_shift
    return change.front_raise / (start.depth if key == "both" else 1.0)
