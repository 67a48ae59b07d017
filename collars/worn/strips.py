"""A strip of cloth bent in space along its seam, without any stretch: a developable strip.

Flat, a strip is known by its seam: the way it heads at every length, the cloth lying to the left of
it. In space the seam keeps its lengths and its own turning in the cloth (its geodesic curvature);
what is free is how sharply the cloth is bent across the seam (the normal curvature, always to one
side here) and by how much the rulings, the straight lines in which it lies, are turned from square
to the seam. From both follows the twist, and the whole surface: every such strip is the flat piece
exactly, rolled and never stretched, as long as its rulings do not meet within it (W. C. Graustein,
Differential Geometry, 1935, ch. VIII; from memory). Frames along the seam are carried on by the
equations of Darboux, each step a rotation, so that they stay square.

Along the seam from centre back to centre front; both sharpness and turning run on evenly through
both, so that the left half is the mirror of the right. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray
from drafting.library import read_figures

# ---- The figures of ``data/in_space.toml``, in centimetres, radians and shares


def space_figures() -> Mapping[str, float]:
    """Every figure by its name."""
    return read_figures("in_space")


_DENSE = 24
#: Rounds of Newton's method for the ruling through a place; it doubles its digits in each.
_ROUNDS = 12


@dataclass(frozen=True)
class FlatSeam:
    """A seam as it lies flat, at even steps: lengths ``s`` (n,), headings and places ``xy`` (n, 2).
    ``middle`` is the length at which centre front lies, where it would meet its mirror."""

    s: FloatArray
    heading: FloatArray
    xy: FloatArray
    middle: float

    @property
    def step(self) -> float:
        """Length of one step (cm)."""
        return float(self.s[1] - self.s[0])

    def at(self, s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places and headings at lengths, straight on beyond both ends."""
        inside = np.clip(s, self.s[0], self.s[-1])
        heading = np.interp(inside, self.s, self.heading)
        beyond = (s - inside)[..., None] * _way(heading)
        k = np.clip(((inside - self.s[0]) / self.step).astype(int), 0, len(self.s) - 2)
        rest = inside - self.s[k]
        middle = np.interp(self.s[k] + 0.5 * rest, self.s, self.heading)
        return self.xy[k] + rest[..., None] * _way(middle) + beyond, heading

    def beside(self, s: FloatArray, height: FloatArray) -> FloatArray:
        """Places square to the seam, ``height`` to its left."""
        at, heading = self.at(s)
        return np.asarray(at + height[..., None] * _left(heading))

    def upto_middle(self) -> FlatSeam:
        """The part of the seam that ends at its middle."""
        count = round(self.middle / self.step) + 1
        return FlatSeam(self.s[:count], self.heading[:count], self.xy[:count], self.middle)

    def above(self, xy: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Lengths and heights over the seam of places in the piece, by Newton's method."""
        s = np.asarray(np.clip(xy[..., 0], 0.0, self.s[-1]))
        for _ in range(_ROUNDS):
            at, heading = self.at(s)
            s = s + ((xy - at) * _way(heading)).sum(axis=-1)
        at, heading = self.at(s)
        return s, np.asarray(((xy - at) * _left(heading)).sum(axis=-1))


def flat_seam(curves: Sequence[Curve], middle: float, steps: int) -> FlatSeam:
    """The seam that runs along curves, end to end: so many even steps to its ``middle``, and as
    many more (or fewer) as reach its end; the last may run straight on beyond it."""
    rows = [curve.xy(curve.samples(_DENSE)) for curve in curves]
    xy = np.vstack([rows[0], *(row[1:] for row in rows[1:])])
    ways = np.diff(xy, axis=0)
    lengths = np.hypot(ways[:, 0], ways[:, 1])
    run = np.r_[0.0, np.cumsum(lengths)]
    heading = np.unwrap(np.arctan2(ways[:, 1], ways[:, 0]))
    count = int(np.ceil(run[-1] / middle * steps - 1e-6))
    s = np.arange(count + 1, dtype=np.float64) * (middle / steps)
    turned = np.interp(s, 0.5 * (run[:-1] + run[1:]), heading)
    return laid(s, turned, middle, xy[0])


def laid(s: FloatArray, heading: FloatArray, middle: float, start: FloatArray) -> FlatSeam:
    """A seam from its headings at even lengths."""
    halfway = 0.5 * (heading[:-1] + heading[1:])
    steps = np.diff(s)[:, None] * _way(halfway)
    return FlatSeam(s, heading, start + np.vstack((np.zeros(2), np.cumsum(steps, axis=0))), middle)


def _way(heading: FloatArray) -> FloatArray:
    return np.stack((np.cos(heading), np.sin(heading)), axis=-1)


def _left(heading: FloatArray) -> FloatArray:
    return np.stack((-np.sin(heading), np.cos(heading)), axis=-1)


@dataclass(frozen=True)
class Bending:
    """How a strip is bent: the terms of the logarithm of its normal curvature (cosines) and of the
    turning of its rulings (sines) over the way to centre front; ``slope`` is how far the strip
    leans forward of upright at centre back, ``back`` and ``up`` where its seam begins there."""

    sharp: FloatArray
    turned: FloatArray
    slope: float
    forward: float
    up: float

    def numbers(self) -> FloatArray:
        """All of it in one row, for a solver."""
        place = np.array([self.slope, self.forward, self.up])
        return np.concatenate((self.sharp, self.turned, place))

    def like(self, numbers: FloatArray) -> Bending:
        """The same kind of bending from a row of numbers."""
        first, last = len(self.sharp), len(self.sharp) + len(self.turned)
        slope, forward, up = (float(value) for value in numbers[last:])
        return Bending(numbers[:first], numbers[first:last], slope, forward, up)

    def curvature(self, share: FloatArray) -> FloatArray:
        """Normal curvature (1/cm) at shares of the way to centre front."""
        return np.asarray(_curvatures([self], share)[0])

    def turning(self, share: FloatArray) -> FloatArray:
        """How far the rulings are turned from square, counter-clockwise."""
        return np.asarray(_turnings([self], share)[0])


def _curvatures(bendings: Sequence[Bending], share: FloatArray) -> FloatArray:
    """:meth:`Bending.curvature` of several bendings of a kind (b, n)."""
    waves = np.cos(np.pi * np.outer(share, np.arange(len(bendings[0].sharp))))
    return np.asarray(np.exp(np.stack([waves @ one.sharp for one in bendings])))


def _turnings(bendings: Sequence[Bending], share: FloatArray) -> FloatArray:
    """:meth:`Bending.turning` of several bendings of a kind (b, n)."""
    waves = np.sin(np.pi * np.outer(share, 1.0 + np.arange(len(bendings[0].turned))))
    return np.stack([waves @ one.turned for one in bendings])


@dataclass(frozen=True)
class Strip:
    """A strip in space: ``places`` of its seam (n, 3) and frames (n, 3, 3) of the way along it, the
    way into the cloth, and square to the cloth towards the neck; rulings ``turned`` from square,
    ``bent`` sharply (normal curvature, 1/cm)."""

    seam: FlatSeam
    places: FloatArray
    frames: FloatArray
    turned: FloatArray
    bent: FloatArray

    @property
    def rulings(self) -> FloatArray:
        """Unit directions of the rulings (n, 3)."""
        along, into = self.frames[:, 0], self.frames[:, 1]
        cos, sin = np.cos(self.turned)[:, None], np.sin(self.turned)[:, None]
        return np.asarray(cos * into - sin * along)

    def point(self, xy: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Where places of the flat piece (n, 2) come to lie (n, 3), and square to the cloth there
        (n, 3), towards the neck."""
        s, along = self._ruling(xy)
        places, frames = self._seam_at(s)
        turned = np.interp(s, self.seam.s, self.turned)[:, None]
        ruling = np.cos(turned) * frames[:, 1] - np.sin(turned) * frames[:, 0]
        return places + along[:, None] * ruling, frames[:, 2]

    def room(self, xy: FloatArray) -> float:
        """The least share by which rulings are still apart at places of the piece: 1 at the seam,
        nothing where they meet and the cloth would crease."""
        s, along = self._ruling(xy)
        seam = self.seam
        whole = np.gradient(seam.heading + self.turned, seam.s)
        apart = np.cos(self.turned)
        share = 1.0 - along * np.interp(s, seam.s, whole / apart)
        return float(share.min())

    def _ruling(self, xy: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The place on the seam whose ruling runs through a place of the piece, and how far along
        it, by Newton's method."""
        seam = self.seam
        slope = np.gradient(seam.heading + self.turned, seam.s)
        s, _ = seam.above(xy)
        for _ in range(_ROUNDS):
            at, heading = seam.at(s)
            turned = np.interp(s, seam.s, self.turned)
            ruling = _left(heading + turned)
            off = xy - at
            along = (off * ruling).sum(axis=-1)
            across = (off * _way(heading + turned)).sum(axis=-1)
            change = np.cos(turned) - along * np.interp(s, seam.s, slope)
            s = s + across / np.maximum(change, 0.1)
        at, heading = seam.at(s)
        turned = np.interp(s, seam.s, self.turned)
        return s, np.asarray(((xy - at) * _left(heading + turned)).sum(axis=-1))

    def _seam_at(self, s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Places and frames at lengths of the seam, carried on from the station before."""
        seam = self.seam
        inside = np.clip(s, seam.s[0], seam.s[-1])
        k = np.clip(((inside - seam.s[0]) / seam.step).astype(int), 0, len(seam.s) - 2)
        rest = (s - seam.s[k])[:, None, None]
        turns = darboux(seam, self.bent, self.turned)[k] * rest
        return _stepped(self.places[k], self.frames[k], turns, rest[:, :, 0])


def darboux(seam: FlatSeam, bent: FloatArray, turned: FloatArray) -> FloatArray:
    """The change of the frame with length over every step (..., n - 1, 3, 3)."""
    inward = np.diff(seam.heading) / np.diff(seam.s)
    sharp = np.sqrt(bent[..., :-1] * bent[..., 1:])
    twist = sharp * np.tan(0.5 * (turned[..., :-1] + turned[..., 1:]))
    change = np.zeros((*sharp.shape, 3, 3))
    change[..., 0, 1], change[..., 0, 2], change[..., 1, 2] = inward, sharp, twist
    return np.asarray(change - np.swapaxes(change, -1, -2))


def _rotation(turns: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The rotations that skew matrices lead to, and the mean ones on the way (Rodrigues)."""
    angle2 = (turns[..., 0, 1] ** 2 + turns[..., 0, 2] ** 2 + turns[..., 1, 2] ** 2)[
        ..., None, None
    ]
    angle = np.sqrt(angle2)
    small = angle < 1e-4
    safe = np.where(small, 1.0, angle)
    first = np.where(small, 1.0 - angle2 / 6.0, np.sin(safe) / safe)
    second = np.where(small, 0.5 - angle2 / 24.0, (1.0 - np.cos(safe)) / safe**2)
    third = np.where(small, 1.0 / 6.0 - angle2 / 120.0, (safe - np.sin(safe)) / safe**3)
    square = turns @ turns
    one = np.eye(3)
    return one + first * turns + second * square, one + second * turns + third * square


def _stepped(
    places: FloatArray, frames: FloatArray, turns: FloatArray, lengths: FloatArray
) -> tuple[FloatArray, FloatArray]:
    whole, mean = _rotation(turns)
    return places + lengths * (mean @ frames)[..., 0, :], whole @ frames


def bent_seams(
    seam: FlatSeam, bendings: Sequence[Bending], side: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Places, frames, sharpness and turning of rulings for several bendings at once (b, n, ...).

    ``side`` is 1 for a strip that stands up from its seam and -1 for one that hangs down.
    """
    share = seam.s / seam.middle
    bent, turned = _curvatures(bendings, share), _turnings(bendings, share)
    slopes = np.array([one.slope for one in bendings])
    count, stations = bent.shape
    frames = np.zeros((stations, count, 3, 3))
    places = np.zeros((stations, count, 3))
    places[0, :, 1] = [one.forward for one in bendings]
    places[0, :, 2] = [one.up for one in bendings]
    frames[0, :, 0, 0] = 1.0
    frames[0, :, 1, 1], frames[0, :, 1, 2] = side * np.sin(slopes), side * np.cos(slopes)
    frames[0, :, 2, 1], frames[0, :, 2, 2] = np.cos(slopes), -np.sin(slopes)
    turns = np.moveaxis(darboux(seam, bent, turned), 1, 0) * seam.step
    whole, mean = _rotation(turns)
    for k in range(stations - 1):
        np.matmul(whole[k], frames[k], out=frames[k + 1])
    places[1:] = seam.step * (mean @ frames[:-1])[..., 0, :]
    places = np.cumsum(places, axis=0)
    return np.moveaxis(places, 1, 0), np.moveaxis(frames, 1, 0), bent, turned


def bent_strip(seam: FlatSeam, bending: Bending, side: float = 1.0) -> Strip:
    """One strip in space; see :func:`bent_seams`."""
    places, frames, bent, turned = bent_seams(seam, [bending], side)
    return Strip(seam, places[0], frames[0], turned[0], bent[0])


# ---- How a strip comes to lie: the bending with which its seam is nearest to where it is sewn

#: Distances off the body of a seam's places and of the places at the strip's height (k, n, 3 each).
OffBody = Callable[[FloatArray, FloatArray], tuple[FloatArray, ...]]

_STRIP_FIT_ROUNDS, _TRIES, _CLOSING = 60, 8, 4
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
    for _ in range(_STRIP_FIT_ROUNDS):
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
