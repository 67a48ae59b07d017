"""Cloth that is sewn along one edge and lies on a body: where it comes to rest, and what it gives.

A fall that is only bent is exact as long as nothing is in its way. Where the shoulders are, it must
give: its mesh is let come to rest with every thread between neighbours kept as long as it can be,
both diagonals too, the seam held where the stand has it, centre back on the middle, both points on
their own side, and nothing in the body. What is left of changed lengths is what cloth, or the
client's patience, has to give. Least squares by Gauss and Newton, damped after Levenberg and
Marquardt; the cloth's weight is not reckoned. Centimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.linalg import solveh_banded

from collars.worn.strips import short_of, short_slope, space_figures
from drafting.geometry.points import FloatArray

_ROUNDS, _TRIES = 60, 12
#: At rest when nothing moves farther than this (cm) any more.
_CLOSE = 1e-2
_SIDEWAYS = np.array([1.0, 0.0, 0.0])

NumberArray = npt.NDArray[np.intp]
OffBody = Callable[[FloatArray], FloatArray]


class _Threads(NamedTuple):
    first: NumberArray
    last: NumberArray
    length: FloatArray


@dataclass(frozen=True)
class Resting:
    """A mesh ``flat`` (n, m, 2) that begins at ``begun`` (n, m, 3), its first row held there.
    ``off`` tells how far places lie off the body (n, m), along ``normals`` (n, 3)."""

    flat: FloatArray
    begun: FloatArray
    normals: FloatArray
    off: OffBody

    def come_to_rest(self) -> FloatArray:
        """Where the mesh lies then (n, m, 3)."""
        n, m, _ = self.begun.shape
        number = np.arange(n * m).reshape(n, m)
        threads = _threads(number, self.flat.reshape(-1, 2))
        bends = space_figures()["cloth_bend"] * _bends(number)
        band = _Band(3 * n * m, 3 * 2 * m + 2)  # nothing binds places farther apart than two rows
        stiff = band.of(np.asarray(np.kron(bends.T @ bends, np.eye(3)), dtype=np.float64))
        free = np.ones((n, m, 3), dtype=bool)
        free[:, 0] = False
        free[0, :, 0] = False
        held = ~free.ravel()
        fast = band.touched(held)
        places, damping = self.begun.copy(), 1e-2
        merit, down, square = self._asked(places, threads, bends, band)
        for _ in range(_ROUNDS):
            whole = square + stiff
            whole[fast] = 0.0
            if not np.isfinite(whole).all():
                break  # two neighbours came to lie on each other: no better place is known
            most = 0.0
            for _ in range(_TRIES):
                damped = whole.copy()
                damped[0] = np.where(held, 1.0, whole[0] + damping)
                push = np.where(held, 0.0, down.ravel())
                step = -solveh_banded(damped, push, overwrite_ab=True, lower=True)
                moved = places + step.reshape(n, m, 3)
                found = self._asked(moved, threads, bends, band)
                if found[0] < merit:
                    most = float(np.abs(step).max())
                    places, (merit, down, square) = moved, found
                    damping = max(damping / 4.0, 1e-4)
                    break
                damping *= 4.0
            if most < _CLOSE:
                break
        return places

    def _asked(
        self, places: FloatArray, threads: _Threads, bends: FloatArray, band: _Band
    ) -> tuple[float, FloatArray, FloatArray]:
        """What is to be least, its slope, and the square of its slopes without the stiffness, as a
        band."""
        n, m, _ = places.shape
        count, figures = n * m, space_figures()
        rows = places.reshape(-1, 3)
        way = rows[threads.first] - rows[threads.last]
        long = np.linalg.norm(way, axis=1)
        longer = figures["thread"] * (long / threads.length - 1.0)
        change = figures["thread"] * way / (long * threads.length)[:, None]
        bent = bends @ (rows - self.begun.reshape(-1, 3))
        merit = float((longer**2).sum() + (bent**2).sum())
        down = bends.T @ bent
        np.add.at(down, threads.first, longer[:, None] * change)
        np.add.at(down, threads.last, -longer[:, None] * change)
        both = change[:, :, None] * change[:, None, :]
        own = np.zeros((count, 3, 3))
        np.add.at(own, threads.first, both)
        np.add.at(own, threads.last, both)
        for away, normal in (
            (self.off(places), self.normals[:, None]),
            (places[..., 0], _SIDEWAYS),
        ):
            short = figures["rest_body"] * short_of(away).reshape(-1, 1)
            slope = figures["rest_body"] * short_slope(away)[..., None] * normal
            slope = np.broadcast_to(slope, (n, m, 3)).reshape(-1, 3)
            merit += float((short**2).sum())
            down += short * slope
            own += slope[:, :, None] * slope[:, None, :]
        square = band.blocks(
            np.r_[np.arange(count), np.maximum(threads.first, threads.last)],
            np.r_[np.arange(count), np.minimum(threads.first, threads.last)],
            np.concatenate((own, -both)),  # no two threads have the same ends
        )
        return merit, down, square


@dataclass(frozen=True)
class _Band:
    """Symmetric matrices of ``size`` with nothing farther than ``reach`` from the diagonal, kept as
    the diagonal and those below it, a row each: what binds neighbours only is solved many times
    faster so."""

    size: int
    reach: int

    @cached_property
    def _places(self) -> tuple[NumberArray, NumberArray]:
        """Row and column in the whole matrix of everything in the band (rows may lie beyond)."""
        column = np.arange(self.size)
        row = column + np.arange(self.reach + 1)[:, None]
        return row, np.broadcast_to(column, row.shape)

    def of(self, whole: FloatArray) -> FloatArray:
        """The band of a whole matrix."""
        row, column = self._places
        there = row < self.size
        return np.where(there, whole[np.where(there, row, 0), column], 0.0)

    def touched(self, some: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
        """What stands in a row or a column of ``some`` (size,)."""
        row, column = self._places
        return some[np.minimum(row, self.size - 1)] | some[column]

    def blocks(self, rows: NumberArray, columns: NumberArray, blocks: FloatArray) -> FloatArray:
        """Blocks (k, 3, 3) where places lie, no two in the same; rows not before columns."""
        one = np.arange(3)
        row, column = np.broadcast_arrays(
            3 * rows[:, None, None] + one[:, None], 3 * columns[:, None, None] + one
        )
        low = row >= column
        band = np.zeros((self.reach + 1, self.size))
        band[(row - column)[low], column[low]] = blocks[low]
        return band


def _threads(number: NumberArray, flat: FloatArray) -> _Threads:
    pairs = [
        (number[:-1], number[1:]),
        (number[:, :-1], number[:, 1:]),
        (number[:-1, :-1], number[1:, 1:]),
        (number[1:, :-1], number[:-1, 1:]),
    ]
    first = np.concatenate([one.ravel() for one, _ in pairs])
    last = np.concatenate([other.ravel() for _, other in pairs])
    length = np.linalg.norm(flat[first] - flat[last], axis=1)
    kept = length > 1e-3
    return _Threads(first[kept], last[kept], length[kept])


def _bends(number: NumberArray) -> FloatArray:
    """Second differences along and across, as a matrix on places."""
    along = np.stack((number[:-2], number[1:-1], number[2:]), axis=-1).reshape(-1, 3)
    across = np.stack((number[:, :-2], number[:, 1:-1], number[:, 2:]), axis=-1).reshape(-1, 3)
    triples = np.concatenate((along, across))
    made = np.zeros((len(triples), number.size))
    row = np.arange(len(triples))
    made[row, triples[:, 0]], made[row, triples[:, 2]] = 1.0, 1.0
    made[row, triples[:, 1]] = -2.0
    return made
