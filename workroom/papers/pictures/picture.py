"""Pictures of an order: SVG in true millimetres, and PNG for the screen and the order book.

White ground, legible in black and white. The same order gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from math import degrees
from typing import Any

import numpy as np

from drafting.drawing.drawing import EdgeWords
from drafting.drawing.lettering import one_line
from drafting.drawing.pens import Pen
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray, Point
from drafting.pieces.piece import Edge
from drafting.units import CM_PER_INCH, MM_PER_CM, POINTS_PER_CM, LengthUnit, format_length
from workroom.papers.pictures.svg_pen import CAPITAL, SvgPen
from workroom.papers.sheet.content import SheetContent, draw_sheet
from workroom.papers.sheet.layers import layers

_MARGIN = 1.5
#: A PNG is this wide (pixels) unless asked otherwise, and never beyond the larger number.
_PIXELS, _MOST_PIXELS = 2400, 8000
#: The PNG is made as a small page this wide (cm), so that lines stay visible however large the
#: pieces are.
_PAGE = 40.0
#: Dashes are this much shorter there than at true size.
_DENSER = 0.5
_BOX = "\u25a1"


#: Draws on a pen and returns width and height (cm), its lower left corner at the origin.
Drawing = Callable[[Pen], tuple[float, float]]


def svg_bytes(sheet: SheetContent, lengths: LengthUnit | None = None) -> bytes:
    """The order as an SVG picture in true size. With ``lengths``, each edge says its length."""
    return svg_of(sheet.title, _sheet(sheet, lengths))


def png_bytes(
    sheet: SheetContent, lengths: LengthUnit | None = None, pixels: int = _PIXELS
) -> bytes:
    """The order as a PNG picture, ``pixels`` wide. With ``lengths``, each edge says its length."""
    return png_of(_sheet(sheet, lengths), pixels)


def svg_of(title: str, draw: Drawing) -> bytes:
    """Any drawing as SVG in true size, a margin round it."""
    pen = SvgPen()
    width, height = draw(pen)
    return pen.text_of(title, width, height, _MARGIN).encode("utf-8")


def png_of(draw: Drawing, pixels: int = _PIXELS, page: float = _PAGE) -> bytes:
    """Any drawing as a PNG picture, ``pixels`` wide, its lines as wide as on a sheet of paper of
    the width ``page`` (cm)."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(facecolor="white")
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    pen = _PngPen(axes)
    width, height = draw(pen)
    wide, tall = width + 2 * _MARGIN, height + 2 * _MARGIN
    scale = page / wide
    figure.set_size_inches(page / CM_PER_INCH, tall * scale / CM_PER_INCH)
    dots = _dots(pixels, tall / wide) * CM_PER_INCH / page
    axes.set(xlim=(-_MARGIN, width + _MARGIN), ylim=(-_MARGIN, height + _MARGIN))
    axes.set_axis_off()
    pen.letter(scale)
    FigureCanvasAgg(figure)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=dots, metadata={"Software": None})
    return stream.getvalue()


def _sheet(sheet: SheetContent, lengths: LengthUnit | None) -> Drawing:
    return lambda pen: draw_sheet(pen, sheet, edge_words=_lengths(lengths))


def _dots(pixels: int, shape: float) -> float:
    """Width in pixels with neither side beyond the most."""
    most = _MOST_PIXELS / max(shape, 1.0)
    return float(min(max(pixels, 200), most))


def _lengths(unit: LengthUnit | None) -> EdgeWords | None:
    if unit is None:
        return None

    def words(edge: Edge) -> tuple[str, str]:
        length = format_length(edge.length, unit)
        return f"{edge.name} {length}", length

    return words


class _PngPen:
    """A pen on a set of matplotlib axes. Letters wait until the scale is known."""

    def __init__(self, axes: Any) -> None:
        self._axes = axes
        self._texts: list[tuple[Ink, Point, str, float, float]] = []

    def begin_piece(self, code: str, title: str) -> None:
        """Pieces are told apart by where they lie."""

    def end_piece(self) -> None:
        """Nothing to close."""

    def curve(self, layer: str, curve: Curve) -> None:
        """An open line."""
        from matplotlib.lines import Line2D

        x, y = curve.flatten().T
        self._axes.add_artist(Line2D(x, y, **_stroke(layer), solid_capstyle="butt"))

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed line."""
        self._close(layer, np.vstack([curve.flatten()[:-1] for curve in curves]))

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A circle."""
        turn = np.linspace(0.0, 2 * np.pi, 36, endpoint=False)
        x, y = at.x + radius * np.cos(turn), at.y + radius * np.sin(turn)
        self._close(layer, np.column_stack((x, y)))

    def _close(self, layer: str, points: FloatArray) -> None:
        from matplotlib.patches import Polygon

        self._axes.add_artist(Polygon(points, **_border(layer)))

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text, drawn by :meth:`letter`."""
        self._texts.append((Ink(layer), at, words, height, angle))

    def letter(self, scale: float) -> None:
        """Draw the texts for a page that shows a centimetre as ``scale`` centimetres."""
        for ink, at, words, height, angle in self._texts:
            self._axes.text(
                at.x,
                at.y,
                _drawable(words),
                fontsize=height / CAPITAL * scale * POINTS_PER_CM,
                rotation=degrees(angle),
                rotation_mode="anchor",
                ha="left",
                va="baseline",
                color=layers()[ink].rgb,
                fontfamily="DejaVu Sans",
                parse_math=False,
            )


def _stroke(ink: str) -> dict[str, Any]:
    """Width and dashes in points on the small page, as in the table of layers."""
    layer = layers()[Ink(ink)]
    width = layer.width_mm * POINTS_PER_CM / MM_PER_CM
    dash: Any = "-"
    if layer.dash_mm:
        dash = (0, tuple(d * POINTS_PER_CM / MM_PER_CM * _DENSER / width for d in layer.dash_mm))
    return {
        "color": layer.rgb,
        "linewidth": width,
        "linestyle": dash,
    }


def _border(ink: str) -> dict[str, Any]:
    return {"fill": False, "joinstyle": "miter", "capstyle": "butt", **_stroke(ink)}


@cache
def _letters() -> frozenset[int]:
    """The characters the picture's font can draw."""
    from matplotlib import font_manager, ft2font

    return frozenset(ft2font.FT2Font(font_manager.findfont("DejaVu Sans")).get_charmap())


def _drawable(words: str) -> str:
    """Words with a box for every character that the font lacks."""
    return "".join(c if ord(c) in _letters() else _BOX for c in one_line(words))
