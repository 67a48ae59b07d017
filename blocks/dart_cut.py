"""The cut along which a dart is moved, and the two parts of the piece on either side of it.

Centimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Spot

from blocks.ring_parts import Part
from drafting.curves import Curve
from drafting.errors import DraftError, Problem
from drafting.pieces import Dart, EdgeName, Piece
from drafting.points import Point, array

#: Edges that keep their place on the table: the other part is the one that turns.
CENTRES = (EdgeName.CENTRE_FRONT, EdgeName.CENTRE_BACK, EdgeName.FRONT_EDGE)
#: A grain line keeps this far from a cut that would cross it.
GRAIN_CLEAR = 1.0
#: Flattened curves and cloth are compared with this slack.
SLACK = 0.01


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut from a dart's apex along ``path`` to the edge at ``place`` in the ring: to its arc
    length ``split`` or, when it leads ``into`` another dart, to that dart's mouth."""

    dart: Dart
    place: int
    path: tuple[Point, ...]
    split: float = 0.0
    into: Dart | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Sector:
    """One side of a cut: its part of the ring, and its cloth as a shapely polygon."""

    parts: tuple[Part, ...]
    cloth: Any

    @property
    def has_centre(self) -> bool:
        """Whether some of the centre lies on it."""
        return any(part.edge.name in CENTRES for part in self.parts)

    def has(self, p: Point) -> bool:
        """Whether a point lies in its cloth."""
        return bool(self.cloth.contains(Spot(*p)))

    def holds(self, curve: Curve) -> bool:
        """Whether a drawn line lies wholly in its cloth."""
        drawn = LineString(curve.flatten())
        inside = drawn.intersection(self.cloth.buffer(SLACK)).length
        return bool(inside > drawn.length - SLACK)


def sectors(piece: Piece, cut: Cut) -> tuple[Sector, Sector]:
    """The sector from the dart's second foot on to the cut, and the one from there to its first.

    Raises :class:`DraftError` when the cut would leave the cloth, or cross a dart or a drawn line.
    """
    count = len(piece.edges)
    runs: tuple[list[Part], list[Part]] = ([], [])
    passed = False
    for k in range(cut.dart.mouth + 1, cut.dart.mouth + count):
        edge = piece.edges[k % count]
        if k % count != cut.place:
            runs[passed].append(Part.whole(edge, k % count))
            continue
        passed = True
        if cut.into is None:
            for run, part in zip(runs, Part.whole(edge, cut.place).split(cut.split), strict=True):
                run.append(part)
    inner = cut.path[:-1]
    both = (
        Sector(tuple(runs[0]), _cloth(runs[0], inner[::-1])),
        Sector(tuple(runs[1]), _cloth(runs[1], inner)),
    )
    _check(piece, cut, both)
    return both


def _cloth(run: Sequence[Part], back: Sequence[Point]) -> Any:
    curves = [part.edge.curve for part in run]
    ring = np.vstack([curve.flatten()[:-1] for curve in curves] + [curves[-1].controls[-1:]])
    return Polygon(np.vstack((ring, array(back))))


def first_turns(piece: Piece, both: tuple[Sector, Sector]) -> bool:
    """Whether the first sector is the one that turns: the other holds the centre or, when the
    centre itself is cut, the foot of the grain line."""
    first, second = both
    if first.has_centre != second.has_centre:
        return second.has_centre
    foot = Spot(*piece.grain[0])
    return bool(second.cloth.distance(foot) <= first.cloth.distance(foot))


def _check(piece: Piece, cut: Cut, both: tuple[Sector, Sector]) -> None:
    path = LineString([tuple(p) for p in cut.path])
    cloth = Polygon(piece.outline()).buffer(SLACK)
    wedge = Polygon([tuple(p) for p in (cut.dart.first, cut.dart.apex, cut.dart.second)])
    problems = []
    if not cloth.covers(path) or path.intersection(wedge).length > SLACK:
        problems.append("would leave the cloth")
    elif not all(sector.cloth.is_valid for sector in both):
        problems.append("would not part the piece in two")
    else:
        problems += [
            f"would cross the {mark.label or mark.kind.value}"
            for mark in piece.marks
            if not any(sector.holds(mark.curve) for sector in both)
        ]
    problems += [f"would cross the {dart.name}" for dart in piece.darts if crosses(cut, dart, path)]
    if problems:
        raise DraftError(
            [
                Problem(
                    f"the cut from the point of the {cut.dart.name} to its new place {said}",
                    advice="Choose another place for it.",
                )
                for said in problems
            ]
        )


def crosses(cut: Cut, dart: Dart, path: Any) -> bool:
    """Whether the cut would cross the stitched part of another dart."""
    if dart is cut.dart or dart is cut.into:
        return False
    return bool(path.intersects(Polygon([tuple(p) for p in (dart.first, dart.tip, dart.second)])))


def grain_in(
    grain: tuple[Point, Point], sector: Sector, path: Sequence[Point]
) -> tuple[Point, Point]:
    """A grain line cut back to what lies in the cloth of a sector, clear of the cut."""
    drawn = LineString([tuple(p) for p in grain])
    if sector.cloth.buffer(SLACK).covers(drawn):
        return grain
    clear = LineString([tuple(p) for p in path]).buffer(GRAIN_CLEAR)
    left = drawn.intersection(sector.cloth).difference(clear)
    runs = [run for run in getattr(left, "geoms", [left]) if run.length > 0.0]
    if not runs:
        return grain
    (ax, ay), (bx, by) = max(runs, key=lambda run: float(run.length)).coords
    return Point(ax, ay), Point(bx, by)
