"""A piece of cloth as a mesh: places of the flat piece, and where each comes to lie in space.

How much the cloth would have to give is read off the mesh itself: every cell is parted into two
triangles, and each is compared with itself lying flat; the two principal stretches are the singular
values of that change. On a mesh of a strip that is only bent, what is left is the difference
between arcs and their chords, which falls with the square of the cells' width. Centimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from drafting.points import FloatArray


class PartName(StrEnum):
    """The parts of a collar in space."""

    STAND = "stand"
    BEYOND = "button stand"
    WING = "wing"
    FALL = "fall"


@dataclass(frozen=True)
class SpaceMesh:
    """A piece in space: ``flat`` (n, m, 2) and ``places`` (n, m, 3), n from centre back forward and
    m from its seam to its free edge. ``code`` is that of the piece, ``part`` what it is called."""

    code: str
    part: PartName
    flat: FloatArray
    places: FloatArray

    def strains(self) -> FloatArray:
        """The stretch of every cell (n - 1, m - 1) that is farthest from none, as a share: 0.01
        is longer by a hundredth, -0.01 shorter."""
        lower = _stretches(self, (0, 0), (1, 0), (0, 1))
        upper = _stretches(self, (1, 1), (0, 1), (1, 0))
        both = np.concatenate((lower, upper), axis=-1) - 1.0
        worst = np.abs(both).argmax(axis=-1)[..., None]
        return np.asarray(np.take_along_axis(both, worst, axis=-1)[..., 0])


def _stretches(
    mesh: SpaceMesh, corner: tuple[int, int], one: tuple[int, int], two: tuple[int, int]
) -> FloatArray:
    """Principal stretches of one triangle of every cell (n - 1, m - 1, 2)."""
    flat = np.stack([_side(mesh.flat, corner, end) for end in (one, two)], axis=-1)
    bent = np.stack([_side(mesh.places, corner, end) for end in (one, two)], axis=-1)
    area = np.abs(np.linalg.det(flat))
    whole = area > 1e-6  # a corner where edges run together has cells of no area
    safe = np.where(whole[..., None, None], flat, np.eye(2))
    found = np.linalg.svd(bent @ np.linalg.inv(safe), compute_uv=False)
    return np.asarray(np.where(whole[..., None], found, 1.0))


def _side(rows: FloatArray, corner: tuple[int, int], end: tuple[int, int]) -> FloatArray:
    n, m = rows.shape[0] - 1, rows.shape[1] - 1

    def at(place: tuple[int, int]) -> FloatArray:
        return rows[place[0] : place[0] + n, place[1] : place[1] + m]

    return np.asarray(at(end) - at(corner))


def between(low: FloatArray, high: FloatArray, last: FloatArray) -> FloatArray:
    """A mesh (n, m, 2) between two edges (n, 2) whose last column runs along a third (m, 2), from
    the end of ``low`` to the end of ``high`` (S. A. Coons, 1967; from memory)."""
    across = np.linspace(0.0, 1.0, len(low))[:, None, None]
    up = np.linspace(0.0, 1.0, len(last))[None, :, None]
    plain = (1.0 - up) * low[:, None] + up * high[:, None]
    chord = (1.0 - up[0]) * last[0] + up[0] * last[-1]
    return np.asarray(plain + across * (last - chord)[None])
