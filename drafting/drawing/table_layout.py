"""Pieces laid side by side on the table: body pieces in a row, back to the left and front to the
right, all others in rows below. Nothing is turned, so grain and labels keep their direction.
Deterministic. Centimetres, the lower left corner of the whole at the origin."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from drafting.errors import DraftError
from drafting.geometry.points import Move, Point
from drafting.pieces.cutting import cut_line
from drafting.pieces.piece import Piece

#: Space between pieces, so that each can be cut round.
GAP = 3.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece where it lies: ``piece`` is already moved; ``move`` brought it there from the draft;
    ``low`` and ``high`` are the corners of its box, allowances included."""

    piece: Piece
    move: Move
    low: Point
    high: Point


def lay_out(
    pieces: Iterable[Piece], gap: float = GAP, width: float | None = None
) -> tuple[Placed, ...]:
    """Pieces laid out, in the order given.

    ``width`` is how wide the table is; without one the body pieces set it. A piece wider than the
    table gets a row of its own.
    """
    given = tuple(pieces)
    boxes = [_box(piece) for piece in given]
    body = [k for k, piece in enumerate(given) if _is(piece, "body")]
    body.sort(key=lambda k: (_side(given[k]), k))
    rest = [k for k in range(len(given)) if k not in body]
    wide = sum(boxes[k].width for k in body) + gap * max(len(body) - 1, 0)
    table = width or max([wide, *(box.width for box in boxes), 0.0])
    corners: dict[int, Point] = {}
    top = 0.0
    for row in [*_rows(rest, boxes, gap, table)[::-1], *_rows(body, boxes, gap, table)]:
        top = _lay_row(row, boxes, corners, gap, top)
    return tuple(_placed(piece, boxes[k], corners[k]) for k, piece in enumerate(given))


def extent(placed: Sequence[Placed]) -> tuple[float, float]:
    """Width and height of everything laid out."""
    return (
        max((one.high.x for one in placed), default=0.0),
        max((one.high.y for one in placed), default=0.0),
    )


@dataclass(frozen=True, slots=True)
class _Box:
    low: Point
    high: Point

    @property
    def width(self) -> float:
        return self.high.x - self.low.x

    @property
    def height(self) -> float:
        return self.high.y - self.low.y


def _box(piece: Piece) -> _Box:
    try:
        points = cut_line(piece).points
    except DraftError:  # drawn all the same, with a stamp; its sew line is all there is
        points = piece.outline()
    low, high = np.min(points, axis=0), np.max(points, axis=0)
    return _Box(Point(float(low[0]), float(low[1])), Point(float(high[0]), float(high[1])))


def _side(piece: Piece) -> int:
    """Backs to the left (0), fronts to the right (2), side pieces between."""
    if _is(piece, "back"):
        return 0
    return 2 if _is(piece, "front") else 1


def _is(piece: Piece, trait: str) -> bool:
    return any(trait in edge.name.traits for edge in piece.edges)


def _rows(order: Sequence[int], boxes: Sequence[_Box], gap: float, table: float) -> list[list[int]]:
    rows: list[list[int]] = []
    used = 0.0
    for k in order:
        if not rows or used + gap + boxes[k].width > table + 1e-9:
            rows.append([])
            used = -gap
        rows[-1].append(k)
        used += gap + boxes[k].width
    return rows


def _lay_row(
    row: Sequence[int],
    boxes: Sequence[_Box],
    corners: dict[int, Point],
    gap: float,
    bottom: float,
) -> float:
    """Lay a row from the left; the bottom of the next row comes back.

    Pieces drafted side by side on one table (their heights overlap by more than half) keep their
    level, so that bust lines and side seams stay opposite each other; others stand on the row.
    """
    lowest = min(boxes[k].low.y for k in row)
    level = _level([boxes[k] for k in row])
    x, top = 0.0, bottom
    for k in row:
        y = bottom + (boxes[k].low.y - lowest if level else 0.0)
        corners[k] = Point(x, y)
        x += boxes[k].width + gap
        top = max(top, y + boxes[k].height)
    return top + gap


def _level(boxes: Sequence[_Box]) -> bool:
    shared = min(box.high.y for box in boxes) - max(box.low.y for box in boxes)
    return shared > 0.5 * max(box.height for box in boxes)


def _placed(piece: Piece, box: _Box, corner: Point) -> Placed:
    move = Move(shift=corner - box.low)
    return Placed(piece.moved(move), move, move(box.low), move(box.high))
