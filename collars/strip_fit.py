"""How a strip comes to lie: the bending with which its seam is nearest to where it is sewn.

Among all developable strips of one flat piece (:mod:`collars.strips`) that one is taken whose seam
lies nearest to its aim, that keeps out of the body, that is not bent more sharply than it must be
and whose rulings do not meet; each counts as ``data/in_space.toml`` says. A strip that goes round
the neck closes exactly: at centre front it meets its mirror image without a corner. Least squares
by Gauss and Newton, damped after Levenberg and Marquardt, with closing as side condition.
Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from collars.space_figures import space_figures
from collars.strips import Bending, FlatSeam, bent_seams
from drafting.points import FloatArray

#: Distances off the body of a seam's places and of the places at the strip's height (k, n, 3 each).
OffBody = Callable[[FloatArray, FloatArray], tuple[FloatArray, ...]]

_ROUNDS, _TRIES, _CLOSING = 60, 8, 4
_CLOSE = 1e-6
_MOST_STEP = 0.5
#: No more is sought when what is to be least falls by less.
_SETTLED = 1e-6
#: A distance into the body is felt from this far off (cm), so that nothing changes at a blow.
_SOFT = 0.1
#: Terms of sharpness and of turning.
TERMS = (6, 5)


@dataclass(frozen=True)
class Lying:
    """What a strip is asked for: its ``seam`` at even stations, ``side`` 1 when it stands up and
    -1 when it hangs down, the ``aim`` of every station (n, 3) and how much it counts, its
    ``height`` (n,), and ``off`` the body; ``closed`` when it meets its mirror at the last
    station."""

    seam: FlatSeam
    side: float
    aim: FloatArray
    counts: float
    height: FloatArray
    off: OffBody
    closed: bool = True


def starting(seam: FlatSeam, aim: FloatArray, slope: float) -> Bending:
    """A ring closed once, to begin with."""
    terms = np.zeros(TERMS[0])
    terms[0] = np.log(np.pi / seam.middle)
    return Bending(terms, np.zeros(TERMS[1]), slope, float(aim[0, 1]), float(aim[0, 2]))


def come_to_lie(lying: Lying, start: Bending) -> Bending:
    """The bending of a strip, begun from another."""
    numbers, damping = start.numbers(), 1e-3
    rows, ends = (part[0] for part in _asked(lying, [start]))
    for _ in range(_ROUNDS):
        slopes, turns = _slopes(lying, start, numbers, rows, ends)
        square = slopes.T @ slopes
        step = np.zeros_like(numbers)
        for _ in range(_TRIES):
            step = _step(square, slopes.T @ rows, turns, ends, damping)
            moved = start.like(numbers + step)
            new_rows, new_ends = (part[0] for part in _asked(lying, [moved]))
            if _merit(new_rows, new_ends) <= _merit(rows, ends):
                damping = max(damping / 5.0, 1e-9)
                settled = _merit(rows, ends) - _merit(new_rows, new_ends) < _SETTLED
                numbers, rows, ends = numbers + step, new_rows, new_ends
                break
            damping *= 5.0
        else:
            break
        if settled:
            break
    return start.like(numbers)


def close(seam: FlatSeam, side: float, bending: Bending) -> Bending:
    """The bending nearest to one that closes a seam (which ends at its middle) to the last digit:
    what was found on fewer stations does so only nearly."""
    numbers = bending.numbers()

    def ends(bendings: list[Bending]) -> FloatArray:
        places, frames, _, _ = bent_seams(seam, bendings, side)
        return _ends(places, frames)

    for _ in range(_CLOSING):
        off = ends([bending.like(numbers)])[0]
        moved = ends([bending.like(numbers + _CLOSE * unit) for unit in np.eye(len(numbers))])
        numbers = numbers - np.linalg.pinv(((moved - off) / _CLOSE).T) @ off
    return bending.like(numbers)


def _ends(places: FloatArray, frames: FloatArray) -> FloatArray:
    """How far strips are from meeting their mirror at their last station (k, 3)."""
    return np.column_stack((places[:, -1, 0], frames[:, -1, 0, 1], frames[:, -1, 0, 2]))


def _merit(rows: FloatArray, ends: FloatArray) -> float:
    return float(rows @ rows + 10.0 * np.abs(ends).sum())


def _slopes(
    lying: Lying, start: Bending, numbers: FloatArray, rows: FloatArray, ends: FloatArray
) -> tuple[FloatArray, FloatArray]:
    moved = [start.like(numbers + _CLOSE * unit) for unit in np.eye(len(numbers))]
    more_rows, more_ends = _asked(lying, moved)
    return ((more_rows - rows) / _CLOSE).T, ((more_ends - ends) / _CLOSE).T


def _step(
    square: FloatArray, downhill: FloatArray, turns: FloatArray, ends: FloatArray, damping: float
) -> FloatArray:
    count, sides = len(square), len(ends)
    whole = np.zeros((count + sides, count + sides))
    whole[:count, :count] = square + damping * np.diag(np.diag(square) + 1e-3)
    whole[:count, count:], whole[count:, :count] = turns.T, turns
    step = np.linalg.solve(whole, -np.r_[downhill, ends])[:count]
    return np.asarray(step * min(1.0, _MOST_STEP / max(float(np.abs(step).max()), 1e-12)))


def _asked(lying: Lying, bendings: list[Bending]) -> tuple[FloatArray, FloatArray]:
    """What is to be small, for several bendings (k, ...), and what is to be nothing (k, 3)."""
    seam, figures = lying.seam, space_figures()
    places, frames, bent, turned = bent_seams(seam, bendings, lying.side)
    cos = np.cos(turned)
    rulings = cos[..., None] * frames[:, :, 1] - np.sin(turned)[..., None] * frames[:, :, 0]
    reach = lying.height / cos
    slope = np.gradient(turned, seam.s, axis=1)
    room = 1.0 - reach * (np.gradient(seam.heading, seam.s) + slope) / cos
    off = lying.off(places, places + reach[..., None] * rulings)
    rows = np.concatenate(
        [
            lying.counts * (places - lying.aim).reshape(len(bendings), -1),
            *(figures["body"] * short_of(one) for one in off),
            figures["bend"] * bent / cos**2 * seam.middle,
            figures["turn"] * slope * lying.height,
            figures["room"] * np.minimum(room - figures["room_least"], 0.0),
        ],
        axis=1,
    )
    ends = _ends(places, frames)
    return rows / np.sqrt(len(seam.s)), ends if lying.closed else ends[:, :0]


def short_of(off: FloatArray) -> FloatArray:
    """By how much distances fall short of nothing, softened."""
    return np.asarray(0.5 * (off - np.sqrt(off**2 + _SOFT**2)))


def short_slope(off: FloatArray) -> FloatArray:
    """By how much :func:`short_of` changes with the distance."""
    return np.asarray(0.5 * (1.0 - off / np.sqrt(off**2 + _SOFT**2)))
