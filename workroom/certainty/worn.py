"""Checks of the pieces as cut on her real body: how far off they may be there, and how often they
are not farther.

Once the cloth is cut, what was measured on the pieces stays, and only the body is not quite as
written. A check moves with it in a straight line, but for what a neck asks where a collar's top
edge lies: there the measurement with which that girth bends most (its height over the base, as a
rule) is followed as it bends, the others in a straight line beside it. What does no harm on
the body is not what is allowed on paper: a finished bust may be some way from what was wished, so
long as she can breathe.

Centimetres, radians; checks are in their own unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import erf, hypot, inf, sqrt
from typing import Any

import numpy as np

from blocks.bodice.checks import BREATHING_EASE
from blocks.component import LEAST_ROOM, OnBody
from drafting.errors import DraftError
from drafting.geometry.points import FloatArray
from drafting.library import read_data
from drafting.pieces.checks import Check
from drafting.tolerances import NECKLINE_STOP
from garment.garment import Garment
from workroom.certainty.drafts import moved_body
from workroom.certainty.inputs import Reading, Roots, Slopes, combined

#: Less than this (cm, degrees) is no uncertainty worth a word: a hundredth of a millimetre.
SURE = 1e-3
#: Where the measurement that bends most is followed (standard deviations), and how finely its
#: errors are gone through.
_NODES = (-3.0, -2.2, -1.6, -1.0, -0.5, 0.5, 1.0, 1.6, 2.2, 3.0)
_ERRORS = np.linspace(-4.5, 4.5, 181)
_WEIGHTS = np.exp(-0.5 * _ERRORS**2) / np.exp(-0.5 * _ERRORS**2).sum()


@dataclass(frozen=True, slots=True)
class Bent:
    """How a check moves with the one root that bends most: by ``moves`` where the root is more
    by ``at`` (ascending)."""

    root: str
    at: tuple[float, ...]
    moves: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Worn:
    """A check of the pieces as cut on her real body: how far off it is moves by ``slopes``, with
    one root as ``bent`` says, and bodies are ``astray`` about that (cm, a standard deviation); from
    ``low`` to ``high`` (against the target) does no harm, and
    ``harm`` says what lies beyond. ``room`` tells that it keeps a collar off her neck."""

    slopes: Slopes
    low: float
    high: float
    harm: str
    room: bool = False
    bent: Bent | None = None
    astray: float = 0.0

    def sd(self, readings: Mapping[str, Reading]) -> float:
        """The standard deviation of how far off it is."""
        rest, moves, weights = self._parts(readings)
        return sqrt(rest**2 + float(weights @ (moves - float(weights @ moves)) ** 2))

    def chance(self, off: float, readings: Mapping[str, Reading]) -> float:
        """How often it does no harm on her real body, when it is ``off`` by so much as drafted."""
        return self.between(off, self.low, self.high, readings)

    def on_target(self, check: Check, readings: Mapping[str, Reading]) -> float:
        """How often it would pass on her real body by the tolerance it has on paper."""
        high = inf if check.least else check.tolerance
        return self.between(check.off, -check.tolerance, high, readings)

    def between(
        self, off: float, low: float, high: float, readings: Mapping[str, Reading]
    ) -> float:
        """How often what is ``off`` by so much now lies from ``low`` to ``high`` on her."""
        rest, moves, weights = self._parts(readings)
        near = off + moves
        if rest < SURE:
            return float(weights @ ((near >= low) & (near <= high)))
        return float(weights @ (_below((high - near) / rest) - _below((low - near) / rest)))

    def _parts(self, readings: Mapping[str, Reading]) -> tuple[float, FloatArray, FloatArray]:
        """The standard deviation of all but the bent root, the moves it makes and how often."""
        if self.bent is None:
            rest = hypot(spread(self.slopes, readings), self.astray)
            return rest, np.zeros(1), np.ones(1)
        others = {root: by for root, by in self.slopes.items() if root != self.bent.root}
        errors = _ERRORS * readings[self.bent.root].sd
        rest = hypot(spread(others, readings), self.astray)
        return rest, np.interp(errors, self.bent.at, self.bent.moves), _WEIGHTS


def spread(slopes: Slopes, readings: Mapping[str, Reading]) -> float:
    """The standard deviation that independent errors give to what moves by ``slopes``."""
    return sqrt(sum((by * readings[root].sd) ** 2 for root, by in slopes.items()))


def worn(check: Check, order: Garment, roots: Roots) -> Worn | None:
    """How a check compares with her real body, by ``data/certainty.toml``; ``None`` for one that
    compares paper with paper. Raises :class:`DraftError` where no body near hers can be told of."""
    rule = next((row for row in rules() if check.name.startswith(row["check"])), None)
    if rule is None:
        return None
    target = order.collar.on_body.get(check.name) if order.collar is not None else None
    if target is not None:
        slopes, bent = _followed(order, target, roots)
        low, high = _no_harm(rule, check, target.ease)
        return Worn(slopes, low, high, rule["harm"], _is_room(rule), bent, target.astray)
    key = rule.get("measurement", "")
    if key not in roots.body:
        return None
    slopes = combined(((float(rule["per"]), roots.body[key]),))
    against = order.body[key] if order.body is not None else order.commission.measurements[key]
    low, high = _no_harm(rule, check, check.target - (0.0 if rule.get("is_ease") else against))
    return Worn(slopes, low, high, rule["harm"], _is_room(rule))


def _no_harm(rule: Mapping[str, Any], check: Check, ease: float) -> tuple[float, float]:
    """How much less and more than its target a check may come out on her, when the target has so
    much ``ease`` over the body. What was asked for is never called harm but round the neck."""
    least, figures = rule["least"], _figures()
    if least == "neck_room":
        return LEAST_ROOM - ease, inf
    if least == "neckline":
        return -max(NECKLINE_STOP, ease), figures["neckline_gapes"]
    if least == "outer_edge":
        return -figures["outer_edge_short"], inf
    if least == "breathing":
        return min(BREATHING_EASE - ease, -check.tolerance), inf
    needed = float(read_data("ease").values["limits"][least]["least"])
    return min(needed - ease, -check.tolerance), inf


def _followed(order: Garment, target: OnBody, roots: Roots) -> tuple[Slopes, Bent]:
    """How a check moves with what it is compared with: secants over a standard deviation either
    way, and the root that bends most followed farther."""
    assert order.body is not None
    body, taken = order.body.values, order.commission.measurements
    now = target.target(body)

    def moved(values: Mapping[str, float]) -> float | None:
        try:
            return now - target.target(values)
        except DraftError as error:
            refused.append(error)
            return None

    refused: list[DraftError] = []
    by: dict[str, float] = {}
    bend: dict[str, float] = {}
    for key in sorted(target.reads):
        sd = roots.readings[key].sd
        near = {step: moved({**body, key: body[key] + step}) for step in (-sd, sd)}
        found = [(step, move) for step, move in (*near.items(), (0.0, 0.0)) if move is not None]
        if len(found) < 2:
            raise refused[-1]
        (first, low), (last, high) = min(found), max(found)
        by[key] = (high - low) / (last - first)
        bend[key] = abs(sum(move for _, move in found))
    most = max(bend, key=lambda key: bend[key])
    steps = [z * roots.readings[most].sd for z in _NODES]
    rows = [(step, moved(moved_body(taken, {most: step}).values)) for step in steps]
    good = sorted([(step, move) for step, move in rows if move is not None] + [(0.0, 0.0)])
    at, moves = zip(*good, strict=True)
    slopes = combined((by[key], roots.body[key]) for key in by)
    return slopes, Bent(most, tuple(at), tuple(moves))


def rules() -> list[Mapping[str, Any]]:
    """Which checks compare the pieces with the body, and how (``data/certainty.toml``)."""
    return list(read_data("certainty").values["against"])


def _is_room(rule: Mapping[str, Any]) -> bool:
    return bool(rule["least"] == "neck_room")


@cache
def _figures() -> Mapping[str, float]:
    table = read_data("certainty").values["worn"]
    return {key: float(row["value"]) for key, row in table.items()}


def _below(z: FloatArray) -> FloatArray:
    """The normal distribution function."""
    return np.array([0.5 * (1.0 + erf(one / sqrt(2.0))) for one in z])
