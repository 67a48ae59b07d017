"""The collar on the neck, seen in space: shaded cells in painter's order, for the report.

Cells that would have to stretch or shorten by a hundredth or more carry a plus or a minus and are
darker, so that no colour is needed to read them. Parallel projection. Places in centimetres, the
drawing in points.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from math import cos, radians, sin
from typing import Any

import numpy as np
import numpy.typing as npt

from collars.worn.worn import PartName, WornCollar
from drafting.geometry.points import FloatArray
from garment.on_neck import MUCH, SEEN

BoolArray = npt.NDArray[np.bool_]

#: From where it is looked at: turned from her front to her left, and raised (radians).
VIEWS = ((radians(32.0), radians(12.0)), (radians(148.0), radians(16.0)))
#: What lies over other cloth is drawn this far off it (cm).
_OVER = 0.15
#: Shoulders are before the neck where they face who looks by this much; less is beside it.
_BEFORE = 0.35
_LIGHT = np.array([-0.3, 0.6, 0.74])  # right, up and nearer of who looks
_BODY, _CLOTH, _INSIDE, _DARK = 0.84, 1.0, 0.75, 0.72


class Layer(IntEnum):
    """What lies over what, from the body outward."""

    SHOULDERS = 0
    NECK = 1
    STAND = 2
    BEYOND = 3
    WING = 4
    FALL = 5


_LAYER = {
    PartName.STAND: Layer.STAND,
    PartName.BEYOND: Layer.BEYOND,
    PartName.WING: Layer.WING,
    PartName.FALL: Layer.FALL,
}


@dataclass(frozen=True)
class Cells:
    """Cells of one layer: their corners (k, 4, 3), how far each gives (a share, 0 on the body),
    the way out from the neck (k, 3), and which of their sides are edges of the cloth (k, 4)."""

    layer: Layer
    corners: FloatArray
    strains: FloatArray
    outward: FloatArray
    rim: BoolArray


def cells_of(space: WornCollar) -> list[Cells]:
    """All cells of neck, shoulders and collar, both halves."""
    ground = space.ground
    found = []
    for layer, mesh in (
        (Layer.SHOULDERS, ground.shoulder_mesh(25, 4)),
        (Layer.NECK, ground.neck_mesh(25, 5)),
    ):
        for half in (mesh, _mirrored(mesh)):
            found.append(_cells(space, layer, half, None))
    for part in space.meshes:
        places, layer = part.places, _LAYER[part.part]
        if layer in (Layer.BEYOND, Layer.WING):
            places = places + _OVER * _outward(places, ground.ring)
        halves = [places] if layer is Layer.BEYOND else [places, _mirrored(places)]
        found += [_cells(space, layer, half, part.strains()) for half in halves]
    return found


def _cells(
    space: WornCollar, layer: Layer, places: FloatArray, strains: FloatArray | None
) -> Cells:
    corners = (places[:-1, :-1], places[1:, :-1], places[1:, 1:], places[:-1, 1:])
    four = np.stack(corners, axis=2).reshape(-1, 4, 3)
    given = np.zeros(len(four)) if strains is None else strains.ravel()
    rim = np.zeros((*corners[0].shape[:2], 4), dtype=bool)
    if strains is not None:
        rim[:, 0, 0], rim[:, -1, 2], rim[-1, :, 1] = True, True, layer is not Layer.STAND
    outward = _outward(four.mean(axis=1), space.ground.ring)
    return Cells(layer, four, given, outward, rim.reshape(-1, 4))


def lifted_front(space: WornCollar) -> FloatArray | None:
    """The centre front line (2, 3) as it is drawn, over what lies there; ``None`` without one."""
    if space.front is None:
        return None
    return np.asarray(space.front + _OVER * _outward(space.front, space.ground.ring))


def _mirrored(places: FloatArray) -> FloatArray:
    return np.asarray(places * np.array([-1.0, 1.0, 1.0]))


def _outward(places: FloatArray, ring: FloatArray) -> FloatArray:
    """Away from the middle of the neck, level."""
    middle = np.array([0.0, ring[:, 1].mean(), 0.0])
    away = (places - middle) * np.array([1.0, 1.0, 0.0])
    return np.asarray(away / np.linalg.norm(away, axis=-1)[..., None])


@dataclass(frozen=True)
class Seen:
    """How a view looks at places: to the right, up and nearer (unit vectors, rows)."""

    axes: FloatArray

    def __call__(self, places: FloatArray) -> FloatArray:
        """Right, up and nearer of places (..., 3)."""
        return np.asarray(places @ self.axes.T)


def seen_from(turn: float, raised: float) -> Seen:
    """From her front, turned to her left by ``turn`` and ``raised`` above level (radians)."""
    left, front = -sin(turn), cos(turn)
    return Seen(
        np.array(
            [
                [-front, left, 0.0],
                [-sin(raised) * left, -sin(raised) * front, cos(raised)],
                [cos(raised) * left, cos(raised) * front, sin(raised)],
            ]
        )
    )


@dataclass(frozen=True)
class Painted:
    """A cell as it is seen: corners (4, 2), grey (0 black, 1 white), strain (a share), whether it
    is cloth, and which of its sides are edges of the cloth."""

    corners: FloatArray
    grey: float
    strain: float
    cloth: bool
    rim: tuple[bool, ...]


def painted(space: WornCollar, seen: Seen) -> list[Painted]:
    """The cells that are seen, farthest first. The layers lie round each other: behind the neck
    they come from the outermost inward, and before it from the innermost outward."""
    found: list[tuple[tuple[int, int, float], Painted]] = []
    for cells in cells_of(space):
        flat = seen(cells.corners)
        square = np.cross(
            cells.corners[:, 2] - cells.corners[:, 0], cells.corners[:, 3] - cells.corners[:, 1]
        )
        square /= np.maximum(np.linalg.norm(square, axis=1), 1e-12)[:, None]
        up = np.array([0.0, 0.0, 0.6])
        square *= np.where((square * (cells.outward + up)).sum(axis=1) < 0.0, -1.0, 1.0)[:, None]
        faced = seen(square)[:, 2]
        near = seen(cells.outward)[:, 2] > (_BEFORE if cells.layer is Layer.SHOULDERS else 0.0)
        lit = np.maximum(seen(square) @ _LIGHT * np.where(faced < 0.0, -1.0, 1.0), 0.0)
        cloth = cells.layer > Layer.NECK
        given = np.abs(cells.strains)
        grey = (_CLOTH if cloth else _BODY) * (_DARK + (1.0 - _DARK) * lit)
        grey *= np.where(given >= MUCH, 0.72, np.where(given >= SEEN, 0.86, 1.0))
        if cloth:
            grey *= np.where(faced < 0.0, _INSIDE, 1.0)
        for k in range(len(flat)):
            if not cloth and faced[k] < 0.0:
                continue
            layer = int(cells.layer)
            if cells.layer is Layer.SHOULDERS:
                order = (2 if near[k] else 0, 0)
            else:
                order = (3, layer) if near[k] else (1, -layer)
            found.append(
                (
                    (*order, float(flat[k, :, 2].mean())),
                    Painted(
                        flat[k, :, :2],
                        float(grey[k]),
                        float(cells.strains[k]),
                        cloth,
                        tuple(bool(side) for side in cells.rim[k]),
                    ),
                )
            )
    found.sort(key=lambda one: one[0])
    return [cell for _, cell in found]


def neck_picture(
    space: WornCollar, width: float, height: float, views: tuple[tuple[float, float], ...] = VIEWS
) -> Any:
    """Views side by side, as a drawing of so many points."""
    from reportlab.graphics.shapes import Drawing

    drawing = Drawing(width, height)
    each = width / len(views)
    for k, (turn, raised) in enumerate(views):
        _draw(drawing, space, seen_from(turn, raised), (k * each, 0.0, each, height))
    return drawing


def _draw(
    drawing: Any, space: WornCollar, seen: Seen, box: tuple[float, float, float, float]
) -> None:
    from reportlab.graphics.shapes import Line, Polygon
    from reportlab.lib.colors import Color

    left, low, width, height = box
    cells = painted(space, seen)
    whole = np.concatenate([cell.corners for cell in cells])
    least, most = whole.min(axis=0), whole.max(axis=0)
    scale = min((width - 6.0) / (most - least)[0], (height - 4.0) / (most - least)[1])
    start = np.array([left + width / 2, low + height / 2]) - scale * (least + most) / 2

    def line(ends: list[float], **look: Any) -> None:
        drawing.add(Line(*(float(value) for value in ends), **look))

    for cell in cells:
        corners = start + scale * cell.corners
        grey = cell.grey
        edge = grey * (0.88 if cell.cloth else 1.0)
        drawing.add(
            Polygon(
                [round(float(value), 2) for value in corners.ravel()],
                fillColor=Color(grey, grey, grey),
                strokeColor=Color(edge, edge, edge),
                strokeWidth=0.2,
            )
        )
        for k, side in enumerate(cell.rim):
            if side:
                line([*corners[k], *corners[(k + 1) % 4]], strokeWidth=0.7)
        if abs(cell.strain) >= SEEN:
            (x, y), arm = corners.mean(axis=0), 1.6 if abs(cell.strain) >= MUCH else 0.9
            line([x - arm, y, x + arm, y], strokeWidth=0.5)
            if cell.strain > 0.0:
                line([x, y - arm, x, y + arm], strokeWidth=0.5)
    front = lifted_front(space)
    if front is not None and float(seen(np.array([0.0, 1.0, 0.0]))[2]) > 0.0:
        ends = start + scale * seen(front)[:, :2]
        line(list(ends.ravel()), strokeWidth=0.9, strokeDashArray=[3, 1.5])
