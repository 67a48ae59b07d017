"""Is the drafted neckline the client's neck? By how much it is off, and each cure, exactly.

Whole necklines are compared with the neck base girth plus ease; each single correction is solved
for the amount that makes them agree. Lengths in centimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache
from math import pi
from types import MappingProxyType

import numpy as np

from blocks.neckline.on_block import NeckChange, NeckFrame
from blocks.neckline.style import how_far_inside, styled
from drafting.errors import DraftError, Problem
from drafting.geometry.roots import root_between
from drafting.library import read_data
from drafting.sentences import UP, keep_values, length
from drafting.tolerances import SOLVED

#: The single corrections a card may ask for.
FITS = ("front", "side", "both")


class Reach(Enum):
    """Whether a correction reaches a neck, and why not."""

    FITS = auto()
    #: Already narrower than it may be drafted.
    TOO_NARROW = auto()
    #: There is no curve at one end of what it may move.
    UNDRAWN = auto()
    #: Moved as far as the body allows, the neckline is still too long, or too short.
    STILL_LONG = auto()
    STILL_SHORT = auto()


@dataclass(frozen=True, slots=True)
class Correction:
    """One way to fit the neckline. ``change`` is the exact move; where this body does not allow it
    there is none, ``reach`` says why in a word and ``refused`` in a sentence (else empty)."""

    key: str
    said: str
    change: NeckChange | None
    refused: str = ""
    reach: Reach = Reach.FITS

    def __post_init__(self) -> None:
        keep_values(self, "said", "refused")


@dataclass(frozen=True, slots=True)
class NeckFit:
    """The neckline against the neck.

    ``drafted`` is the whole neckline as the method draws it, ``target`` the neck base girth plus
    ease, ``corrections`` every single cure, ``applied`` the one the card asked for, ``fitted`` the
    whole neckline after it, and ``style`` a wished style neckline on top of that: ``finished`` is
    the whole neckline in its shape, ``inside`` how far its front lies on the neck's side of the
    fitted one (0 where it does not). ``toile`` is a move asked for after a fitting, ``toiled`` the
    whole neckline after it, on which the style is laid; without one it is the fitted neckline.
    """

    drafted: float
    target: float
    corrections: tuple[Correction, ...]
    applied: Correction | None
    fitted: float
    style: NeckChange | None
    finished: float
    inside: float = 0.0
    toile: NeckChange | None = None
    toiled: float = 0.0

    @property
    def off(self) -> float:
        """Drafted minus target: positive when the neckline is too long for the neck."""
        return self.drafted - self.target


@cache
def limits() -> Mapping[str, float]:
    """How far a neckline may move; see ``data/neckline.toml``."""
    values = read_data("neckline").values
    return MappingProxyType({key: float(row["value"]) for key, row in values["limits"].items()})


def fit_neckline(
    frame: NeckFrame,
    *,
    target: float,
    neck_girth: float,
    fit: str = "none",
    style: NeckChange | None = None,
    shape: str = "round",
    toile: NeckChange | None = None,
) -> tuple[NeckFrame, NeckFit]:
    """The frame after the asked correction and style, with the whole account.

    The correction is always made on the round neckline; ``toile`` moves that as a fitting asked,
    and ``shape`` is laid on the finished one. Raises :class:`DraftError` when the asked
    correction, move or style lies outside what this body or shape allows; the message names those
    that do.
    """
    if shape != "round" and style is None:
        style = NeckChange()
    corrections = tuple(_solve(frame, key, target, neck_girth) for key in FITS)
    applied = next((c for c in corrections if c.key == fit), None)
    if applied is not None and applied.change is None:
        allowed = [c.said for c in corrections if c.change is not None]
        raise DraftError(
            Problem(
                f"the neckline cannot be fitted this way: {applied.refused}",
                key="neckline.fit",
                got=fit,
                accepted="; ".join(allowed) or "none of the single corrections reaches this neck",
                advice="Choose another correction, or measure the neck base girth again.",
            )
        )
    fitted = frame if applied is None or applied.change is None else frame.changed(applied.change)
    toiled = fitted if toile is None else _moved(fitted, toile, neck_girth)
    finished = toiled
    if style is not None:
        finished = styled(toiled, style, shape)
    return finished, NeckFit(
        drafted=2.0 * frame.half(),
        target=target,
        corrections=corrections,
        applied=applied,
        fitted=2.0 * fitted.half(),
        style=style,
        finished=2.0 * finished.half(),
        inside=0.0 if style is None else how_far_inside(finished, toiled),
        toile=toile,
        toiled=2.0 * toiled.half(),
    )


def _moved(fitted: NeckFrame, toile: NeckChange, neck_girth: float) -> NeckFrame:
    """The fitted frame as it was changed after a fitting. Raises :class:`DraftError`."""
    moved, known = fitted.changed(toile), limits()
    least_width = known["neck_share_least"] * neck_girth / (2.0 * pi)
    rise = moved.back_side.y - moved.back_neck.y
    problems = [
        Problem(
            f"after the fittings the {said} would be only {length(value)}",
            key="toile",
            accepted=f"{length(least, rounding=UP)} or more",
            advice="Give a smaller amount.",
        )
        for said, value, least in (
            ("front neck depth", moved.depth, known["front_depth_least"]),
            ("half front neck width", moved.width, least_width),
            ("shoulder", moved.front_length, known["shoulder_least"]),
            ("back neck depth", rise, known["back_rise_least"]),
        )
        if value < least
    ]
    if problems:
        raise DraftError(problems)
    return moved


def _solve(frame: NeckFrame, key: str, target: float, neck_girth: float) -> Correction:
    low, high = _range(frame, key, neck_girth)
    change = _change(frame, key)

    @cache
    def gap(amount: float) -> float:
        return 2.0 * frame.changed(change(amount)).half() - target

    if low > high:
        said = "the neckline is already as narrow as it may be drafted"
        return Correction(key, "", None, said, Reach.TOO_NARROW)
    try:
        at_low, at_high = gap(low), gap(high)
    except DraftError as error:
        return Correction(key, "", None, error.told, Reach.UNDRAWN)
    if abs(gap(0.0)) <= SOLVED and low <= 0.0 <= high:
        return Correction(key, "nothing to move", change(0.0))
    if at_low * at_high > 0:
        nearest, left = (low, at_low) if abs(at_low) < abs(at_high) else (high, at_high)
        reach = Reach.STILL_LONG if left > 0.0 else Reach.STILL_SHORT
        return Correction(key, "", None, _refusal(key, nearest, left), reach)
    amount = root_between(gap, low, high, xtol=1e-10, rtol=1e-13)
    return Correction(key, _said(frame, key, amount), change(amount))


def correction_by(frame: NeckFrame, key: str, amount: float) -> NeckChange:
    """The move that a correction of an amount is: centimetres, or for ``both`` a share."""
    return _change(frame, key)(amount)


def _change(frame: NeckFrame, key: str) -> Callable[[float], NeckChange]:
    """How an amount moves the neckline: positive always makes it shorter. Where the sides come in
    the shoulder points come with them, as far as they can: the shoulder is no longer for it."""
    if key == "front":
        return lambda amount: NeckChange(front_raise=amount)
    depth, run, room = frame.depth, frame.run, frame.shoulder_room

    def narrowed(by: float, up: float = 0.0) -> NeckChange:
        return NeckChange(up, -by, shoulder_shift=-min(max(by, 0.0), room))

    if key == "side":
        return narrowed
    return lambda share: narrowed(share * run, share * depth)


def _range(frame: NeckFrame, key: str, neck_girth: float) -> tuple[float, float]:
    """The least and most amount of a correction that a body allows (centimetres, or for ``both`` a
    share), the first above the second where it allows none."""
    known = limits()
    least_width = known["neck_share_least"] * neck_girth / (2.0 * pi)
    run = frame.run
    raise_most = np.minimum(known["front_raise_most"], frame.depth - known["front_depth_least"])
    lower_most = known["front_lower_most"]
    narrow_most = np.minimum(
        known["side_narrow_most"], (frame.width - least_width) * run / frame.width
    )
    widen_most = np.minimum(known["side_widen_most"], frame.front_length - known["shoulder_least"])
    if key == "front":
        return -lower_most, raise_most
    if key == "side":
        return -widen_most, narrow_most
    return (
        np.maximum(-lower_most / frame.depth, -widen_most / run),
        np.minimum(raise_most / frame.depth, narrow_most / run),
    )


def _said(frame: NeckFrame, key: str, amount: float) -> str:
    if key == "front":
        way = "raise" if amount >= 0 else "lower"
        return f"{way} the front neck point by {length(abs(amount), places=2)}"
    if key == "side":
        way = "narrow" if amount >= 0 else "widen"
        by = length(abs(amount), places=2)
        return f"{way} at the side neck by {by} along the shoulder, on both pieces"
    up, along = abs(amount) * frame.depth, abs(amount) * frame.run
    ways = ("raise", "narrow") if amount >= 0 else ("lower", "widen")
    return (
        f"in proportion, {100 * abs(amount):.1f} %: {ways[0]} the front neck point by "
        f"{length(up, places=2)} and {ways[1]} at the side neck by "
        f"{length(along, places=2)} on both pieces"
    )


def _refusal(key: str, nearest: float, left: float) -> str:
    wrong = "long" if left > 0 else "short"
    what = {
        "front": "with the front neck point moved as far as this body allows",
        "side": "with the side neck moved as far as this body allows",
        "both": "with width and depth changed as far as this body allows",
    }[key]
    amount = f"{100 * nearest:.0f} %" if key == "both" else length(nearest)
    return f"{what} ({amount}) the neckline is still {length(abs(left))} too {wrong}"
