"""A drawing kept as its strokes, each with the paper it covers, so that a page can be given just
what shows on it, and words be put where nothing is drawn. Centimetres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from drafting.drawing.lettering import Written
from drafting.drawing.pens import MovedPen, Pen
from drafting.geometry.curves import Curve
from drafting.geometry.points import Move, Point

#: Strokes count as polylines this close to their curve.
_CLOSE = 0.01
#: Half the widest line, rounded up: what reaches so far into a window shows in it.
_WIDTH = 0.05


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke: how to ``draw`` it, the shapely ``shape`` it covers (a line without width, or
    the box of a text), and the ``code`` and ``title`` of its piece."""

    draw: Callable[[Pen], None]
    shape: Any
    code: str
    title: str


class StrokePen:
    """Keeps the strokes drawn on it; :meth:`play` draws them again."""

    def __init__(self) -> None:
        self.strokes: list[Stroke] = []
        self._piece = ("", "")

    def begin_piece(self, code: str, title: str) -> None:
        """What follows belongs to the piece."""
        self._piece = (code, title)

    def end_piece(self) -> None:
        """What follows belongs to none."""
        self._piece = ("", "")

    def curve(self, layer: str, curve: Curve) -> None:
        """An open line."""
        self._keep(lambda pen: pen.curve(layer, curve), shapely.LineString(curve.flatten(_CLOSE)))

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed line."""
        ring = np.vstack([curve.flatten(_CLOSE) for curve in curves])
        self._keep(lambda pen: pen.outline(layer, curves), shapely.LineString(ring))

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A circle."""
        shape = shapely.Point(at.x, at.y).buffer(radius)
        self._keep(lambda pen: pen.dot(layer, at, radius), shape)

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text."""
        box = Written(at, words, height, angle).box
        self._keep(lambda pen: pen.text(layer, at, words, height, angle), box)

    @property
    def shapes(self) -> NDArray[Any]:
        """What the strokes cover, shapely shapes (n,)."""
        return np.array([stroke.shape for stroke in self.strokes], dtype=object)

    def moved(self, move: Move) -> StrokePen:
        """The same strokes after a rigid move."""
        there = StrokePen()
        self.play(MovedPen(there, move))
        return there

    def play(self, pen: Pen, window: Any = None) -> None:
        """Draw all strokes, or those that show inside a shapely area."""
        seen = self.strokes if window is None else self.within(window)
        piece = ("", "")
        for stroke in seen:
            if (stroke.code, stroke.title) != piece:
                if piece != ("", ""):
                    pen.end_piece()
                piece = (stroke.code, stroke.title)
                if piece != ("", ""):
                    pen.begin_piece(*piece)
            stroke.draw(pen)
        if piece != ("", ""):
            pen.end_piece()

    def within(self, window: Any) -> list[Stroke]:
        """The strokes that show inside a shapely area."""
        wide = window.buffer(_WIDTH, join_style="mitre")
        shapely.prepare(wide)
        seen = np.flatnonzero(shapely.intersects(wide, self.shapes))
        return [self.strokes[k] for k in seen]

    def covered(self, gap: float) -> Any:
        """All paper nearer than ``gap`` to any stroke, a shapely area."""
        return shapely.union_all([stroke.shape.buffer(gap) for stroke in self.strokes])

    def _keep(self, draw: Callable[[Pen], None], shape: Any) -> None:
        self.strokes.append(Stroke(draw, shape, *self._piece))
