"""The pieces of an order where they lie on paper, turned so that little is wasted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import ceil, cos, pi, sin
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from drafting.errors import DraftError
from drafting.geometry.points import Move, Point
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Piece
from workroom.papers.sheet.content import SheetContent

# ---- Shapes laid on sheets of paper so that little is wasted: each as low as it goes, then as
# far to the left, in several orders, the shortest lay kept

#: Side of a cell of the grid.
CELL = 0.5
#: Space between shapes, so that each can be cut round.
GAP = 0.6
Cells = NDArray[np.bool_]
#: Transforms grow by so many rows at a time, so that few sizes are needed.
_ROWS = 30


@dataclass(frozen=True, slots=True)
class Item:
    """A shape to lay: a shapely area, and whether it may be turned by half a turn."""

    shape: Any
    turns: bool = True


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an item lies: the number of the sheet (from 0) and the move on to it; a sheet's lower
    left corner is the origin."""

    sheet: int
    move: Move


@dataclass(frozen=True, slots=True)
class Lay:
    """All items laid, in the order given; ``lengths`` says how much of each sheet is used."""

    spots: tuple[Spot, ...]
    lengths: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Stamp:
    """An item on the grid: the cells it touches and the move that brings it to the corner.
    ``waves`` keeps its transforms by their size, for every order laid."""

    cells: Cells
    move: Move
    waves: dict[tuple[int, int], NDArray[np.complex128]] = field(default_factory=dict)

    def wave(self, size: tuple[int, int]) -> NDArray[np.complex128]:
        """Its transform, turned round so that a product lays it on a sheet."""
        if size not in self.waves:
            self.waves[size] = np.conj(np.fft.rfft2(self.cells, size))
        return self.waves[size]


def nest(
    items: Sequence[Item], width: float, length: float | None = None, gap: float = GAP
) -> Lay | None:
    """The shortest of :func:`lays`, on the fewest sheets; ``None`` when there is none."""
    return min(lays(items, width, length, gap), key=_worth, default=None)


def _worth(lay: Lay) -> tuple[int, float]:
    return len(lay.lengths), lay.lengths[-1] if lay.lengths else 0.0


def lays(
    items: Sequence[Item], width: float, length: float | None = None, gap: float = GAP
) -> Iterator[Lay]:
    """Items laid on sheets ``width`` wide, ``gap`` apart and half of it from the edges, in several
    orders.

    With a ``length`` as many sheets of it are taken as needed, without one a single sheet as long
    as needed. Nothing comes when an item is larger than a sheet.
    """
    stamps = [tuple(_stamps(item, gap)) for item in items]
    across = int((width + 1e-9) / CELL)
    needed = sum(turns[0].cells.shape[0] for turns in stamps)
    along = needed if length is None else int((length + 1e-9) / CELL)
    if any(t[0].cells.shape[0] > along or t[0].cells.shape[1] > across for t in stamps):
        return
    for order in _orders([turns[0].cells for turns in stamps]):
        yield _laid(stamps, order, (along, across))


def _orders(cells: Sequence[Cells]) -> Iterator[tuple[int, ...]]:
    """Orders worth trying, the large first by several measures; each once."""
    measures = (
        lambda c: int(c.sum()),
        lambda c: c.shape[0],
        lambda c: c.shape[1],
        lambda c: max(c.shape),
        lambda c: c.shape[0] * c.shape[1],
    )
    seen: set[tuple[int, ...]] = set()
    for measure in measures:
        order = tuple(sorted(range(len(cells)), key=lambda k: (-measure(cells[k]), k)))
        for candidate in (order, (*order[1:2], *order[:1], *order[2:])):
            if candidate not in seen:
                seen.add(candidate)
                yield candidate


def _stamps(item: Item, gap: float) -> Iterator[_Stamp]:
    for angle in (0.0, pi) if item.turns else (0.0,):
        turned = affinity.rotate(item.shape, angle, origin=(0.0, 0.0), use_radians=True)
        x0, y0, x1, y1 = turned.bounds
        shift = Point(gap / 2 - x0, gap / 2 - y0)
        # a cell is touched when its middle is no farther off than half its diagonal
        wide = affinity.translate(turned, shift.x, shift.y).buffer(gap / 2 + CELL * 0.7072)
        rows, columns = ceil((y1 - y0 + gap) / CELL), ceil((x1 - x0 + gap) / CELL)
        x, y = np.meshgrid((np.arange(columns) + 0.5) * CELL, (np.arange(rows) + 0.5) * CELL)
        yield _Stamp(np.asarray(shapely.contains_xy(wide, x, y)), Move(angle, shift))


def _laid(stamps: Sequence[tuple[_Stamp, ...]], order: Sequence[int], size: tuple[int, int]) -> Lay:
    sheets: list[Cells] = []
    spots: dict[int, Spot] = {}
    for k in order:
        number, found = 0, None
        while found is None:
            if number == len(sheets):  # every item fits an empty sheet
                sheets.append(np.zeros(size, dtype=np.bool_))
            found = _lowest(sheets[number], stamps[k])
            number += found is None
        stamp, row, column = found
        tall, wide = stamp.cells.shape
        sheets[number][row : row + tall, column : column + wide] |= stamp.cells
        there = Move(shift=Point(column * CELL, row * CELL))
        spots[k] = Spot(number, stamp.move.then(there))
    lengths = tuple(float(np.flatnonzero(sheet.any(axis=1))[-1] + 1) * CELL for sheet in sheets)
    return Lay(tuple(spots[k] for k in range(len(stamps))), lengths)


def _lowest(sheet: Cells, turns: Sequence[_Stamp]) -> tuple[_Stamp, int, int] | None:
    """The turn and place whose upper edge is lowest, then the lowest and farthest to the left."""
    best: tuple[tuple[int, int, int], _Stamp] | None = None
    laid = np.flatnonzero(sheet.any(axis=1))
    used = int(laid[-1]) + 1 if len(laid) else 0
    waves: dict[tuple[int, int], NDArray[np.complex128]] = {}
    for stamp in turns:
        tall, wide = stamp.cells.shape
        reach = min(used + tall, sheet.shape[0])
        size = _smooth(reach, _ROWS), _smooth(sheet.shape[1], 1)
        if size not in waves:
            waves[size] = np.fft.rfft2(sheet[:reach], size)
        clash = np.fft.irfft2(waves[size] * stamp.wave(size), size)
        free = np.argwhere(clash[: reach - tall + 1, : sheet.shape[1] - wide + 1] < 0.5)
        if len(free):
            row, column = (int(value) for value in free[0])
            worth = (row + tall, row, column)
            if best is None or worth < best[0]:
                best = worth, stamp
    return None if best is None else (best[1], best[0][1], best[0][2])


def _smooth(least: int, step: int) -> int:
    """A size for a transform, ``least`` or more and a multiple of ``step``, that is quick to work:
    no prime factor above 5."""
    size = -(-least // step) * step
    while True:
        rest = size
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += step


def paper_area(piece: Piece) -> Any:
    """The paper a piece takes, a shapely area: to its cut line, or to its sew line when a failed
    draft has no cut line."""
    try:
        return cut_line(piece).polygon()
    except DraftError:
        # a sew line that crosses itself: keep clear of all of it
        return shapely.Polygon(piece.outline()).convex_hull


def items(content: SheetContent) -> tuple[Item, ...]:
    """The pieces as shapes to lay."""
    return tuple(Item(paper_area(piece)) for piece in content.pieces)


def moved(shape: Any, move: Move) -> Any:
    """A shapely shape after a move that is not a mirroring."""
    c, s = cos(move.angle), sin(move.angle)
    return affinity.affine_transform(shape, [c, -s, s, c, move.shift.x, move.shift.y])


def laid(content: SheetContent, lay: Lay, sheet: int = 0) -> tuple[Piece, ...]:
    """The pieces of a sheet, moved to where they lie. Later spots of a lay may be no pieces."""
    spots: tuple[Spot, ...] = lay.spots[: len(content.pieces)]
    return tuple(
        piece.moved(spot.move)
        for piece, spot in zip(content.pieces, spots, strict=True)
        if spot.sheet == sheet
    )
