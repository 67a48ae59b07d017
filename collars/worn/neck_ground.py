"""The body a collar lies on: the neck as a surface, and the shoulders, chest and back round it.

From every place of the neck's ring a straight line runs out, level in plan and square to the ring,
and falls: by the shoulder's slope at the side, by the slopes of upper back and chest
(``data/in_space.toml``) at both middles, evenly between. That is no body, only as much of one as a
collar reaches. The seam of a collar is taken to lie on these lines, all of it one distance farther
out than the neck base where the neckline is longer than that, or all of it one height up the neck
where it is shorter. Right half; axes as in :mod:`blocks.neck.surface`. Centimetres and radians.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from blocks.neck.surface import NeckSurface
from collars.worn.strips import space_figures
from drafting.geometry.points import FloatArray
from drafting.geometry.roots import root_between

#: Distances off neck and off shoulders (2, ...) of places.
Off = Callable[[FloatArray], FloatArray]

_FINE = 240
#: For looking at: the neck ends so high above the back neck point (cm), and falls to the chin by
#: this slope; back, shoulders and chest reach so far (cm).
_ABOVE, _CHIN = 7.7, 0.3
_REACH = (8.0, 10.0, 8.5)


@dataclass(frozen=True)
class NeckGround:
    """Neck and shoulders at even shares of the half ring: ``ring`` (n, 3), ``up`` the neck's lines
    and ``out`` the shoulders' lines (unit, n, 3), ``from_neck`` and ``from_shoulders`` square to
    both, away from the body. ``target`` is where the neck seam lies, of length ``half``, at even
    shares of itself; ``outward`` how far out of the neck base it does (less than nothing: up the
    neck)."""

    surface: NeckSurface
    shares: FloatArray
    ring: FloatArray
    up: FloatArray
    out: FloatArray
    from_neck: FloatArray
    from_shoulders: FloatArray
    target: FloatArray
    outward: float

    @property
    def length(self) -> float:
        """Length of the half neckline as it lies here (cm)."""
        return _length(self.target)

    def aims(self, shares: FloatArray) -> FloatArray:
        """Where the neck seam is to lie at shares of the half neckline (n, 3)."""
        return at_shares(self.shares, self.target, shares)

    def off(self, shares: FloatArray) -> Off:
        """What tells how far places (..., n, 3) near these shares (n,) lie off neck and shoulders
        (..., n); less than nothing inside them."""
        rows = (self.ring, self.from_neck, self.from_shoulders)
        ring, neck, shoulders = (at_shares(self.shares, part, shares) for part in rows)
        both = np.stack((neck, shoulders), axis=1)
        return lambda places: np.einsum("nbk,...nk->b...n", both, places - ring)

    def neck_mesh(self, across: int, high: int) -> FloatArray:
        """The neck as a mesh (across, high, 3), to be looked at: hollow up to the surface's
        height; from there it goes on as it leans, up to under the chin, and is closed there."""
        shares, shape = np.linspace(0.0, 1.0, across), self.surface.shape
        parts = (self.ring, self.up, self.from_neck)
        ring, up, off = (at_shares(self.shares, part, shares) for part in parts)
        axis = np.array([0.0, np.sin(shape.lean), np.cos(shape.lean)])
        reach = self.surface.height
        steps = np.linspace(0.0, 2.0, high)
        girths = np.array([shape.girth_at(reach * min(step, 1.0)) for step in steps])
        spanned = shape.base_girth + np.minimum(steps, 1.0) * (
            shape.girth_at(reach) - shape.base_girth
        )
        hollow = ((spanned - girths) / (2.0 * np.pi))[:, None, None]
        top = ring + reach * up
        chin = np.maximum(_ABOVE - _CHIN * (ring[:, 1] - ring[0, 1]) - top[:, 2], 0.0) / axis[2]
        low = ring + np.minimum(steps, 1.0)[:, None, None] * (top - ring) - hollow * off
        beyond = np.maximum(steps - 1.0, 0.0)[:, None, None]
        wall = low + beyond * chin[:, None] * axis
        lid = wall[-1:] * np.array([0.0, 1.0, 1.0])
        return np.swapaxes(np.concatenate((wall, lid)), 0, 1)

    def shoulder_mesh(self, across: int, wide: int) -> FloatArray:
        """Shoulders, chest and back as a mesh (across, wide, 3), to be looked at."""
        shares, side = np.linspace(0.0, 1.0, across), self.surface.side_share
        ring, out = (at_shares(self.shares, part, shares) for part in (self.ring, self.out))
        reach = np.interp(shares, (0.0, side, 1.0), _REACH)[:, None, None]
        return np.asarray(
            ring[:, None] + reach * np.linspace(0.0, 1.0, wide)[:, None] * out[:, None]
        )


def at_shares(known: FloatArray, rows: FloatArray, shares: FloatArray) -> FloatArray:
    """Rows (n, 3) between those at known shares."""
    return np.column_stack([np.interp(shares, known, rows[:, k]) for k in range(3)])


def neck_ground(surface: NeckSurface, half: float) -> NeckGround:
    """The ground for a half neckline (cm) on a neck."""
    shares = np.linspace(0.0, 1.0, _FINE + 1)
    ring = surface.points(shares, 0.0)
    up = surface.points(shares, 1.0) - ring
    along = np.gradient(ring, shares, axis=0)
    along[[0, -1], 1:] = 0.0  # both middles are level across
    along /= np.linalg.norm(along, axis=1)[:, None]
    from_neck = _unit(np.cross(along, up))
    level = _unit(np.column_stack((along[:, 1], -along[:, 0], np.zeros_like(shares))))
    side = surface.side_share
    turn = np.where(shares < side, shares / side, 1.0 + (shares - side) / (1.0 - side)) * np.pi / 2
    figures = space_figures()
    middle = np.where(turn < np.pi / 2, figures["back_slope"], figures["chest_slope"])
    slope = middle + (surface.shape.shoulder_slope - middle) * np.sin(turn) ** 2
    down = np.array([0.0, 0.0, 1.0])
    out = np.cos(slope)[:, None] * level - np.sin(slope)[:, None] * down
    from_shoulders = np.sin(slope)[:, None] * level + np.cos(slope)[:, None] * down

    def moved(outward: float) -> FloatArray:
        return ring + (outward * out if outward >= 0.0 else -outward * up)

    def over(outward: float) -> float:
        return _length(moved(outward)) - half

    low, high = -0.9 * surface.height, figures["outward_most"]
    outward = high if over(high) < 0.0 else low
    if over(low) < 0.0 < over(high):
        outward = root_between(over, low, high, xtol=1e-9)
    target = moved(outward)
    run = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(target, axis=0), axis=1))]
    target = at_shares(run / run[-1], target, shares)
    return NeckGround(surface, shares, ring, up, out, from_neck, from_shoulders, target, outward)


def _unit(rows: FloatArray) -> FloatArray:
    return np.asarray(rows / np.linalg.norm(rows, axis=1)[:, None])


def _length(rows: FloatArray) -> float:
    return float(np.linalg.norm(np.diff(rows, axis=0), axis=1).sum())
