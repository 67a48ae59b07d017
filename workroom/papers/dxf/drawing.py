"""The DXF drawing for any drawing program: DXF R2010, millimetres, one layer per purpose.

Profile *drawing*: every curve a polyline that no reader can misread. Profile *splines*: curved
edges as true B-splines, straight ones as lines. Written through ezdxf after the published DXF
reference. The same order gives the same bytes: no dates, no random identifiers.
"""

from __future__ import annotations

import io
import logging
import re
import threading
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from math import ceil, degrees
from typing import Any

import ezdxf
import numpy as np
from ezdxf import zoom
from ezdxf.math import Vec2

from drafting.drawing.lettering import one_line
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve
from drafting.geometry.points import FloatArray, Point
from drafting.tolerances import FLATTEN
from drafting.units import CM_PER_INCH, mm
from workroom.papers.sheet.content import SheetContent, draw_sheet
from workroom.papers.sheet.layers import Layer, layers

# ---- Words that come out of a DXF file as they went in

#: TEXT in the oldest files holds no more characters than this (published DXF reference).
LONGEST = 250
_SPELT_LETTERS = (
    "ß=ss ẞ=SS æ=ae Æ=AE œ=oe Œ=OE ø=o Ø=O đ=d Đ=D ð=d Ð=D ł=l Ł=L þ=th Þ=Th ħ=h Ħ=H ı=i ŋ=ng Ŋ=Ng"
)
_SPELT_SIGNS = (
    '‘=\' ’=\' ‚=\' ‛=\' “=" ”=" „=" ‟=" «=" »=" –=- —=- −=- ·=- •=- …=... ×=x ÷=/ ±=+/- ≈=~ ≤=<= '
    "≥=>= ½=1/2 ¼=1/4 ¾=3/4 ′=' ″=\" ⁄=/ °=deg €=EUR №=No"
)
_SIGNS = str.maketrans(dict(word.split("=", 1) for word in _SPELT_SIGNS.split()))
_SPELT = _SIGNS | str.maketrans(dict(word.split("=", 1) for word in _SPELT_LETTERS.split()))


def dxf_words(words: str) -> str:
    """One line of text for a TEXT value; letters of any script, signs in ASCII."""
    plain = one_line(words).translate(_SIGNS)
    plain = re.sub(r"%(?=%)", "% ", plain)
    plain = re.sub(r"\\(?=[UuMm]\+)", r"\\ ", plain)
    return plain.replace("^", "^ ")[:LONGEST]


def ascii_words(words: str) -> str:
    """One line of text in ASCII: letters without their marks, ``?`` for what has no likeness."""
    parted = unicodedata.normalize("NFKD", one_line(words).translate(_SPELT))
    bare = "".join(c for c in parted if not unicodedata.combining(c)).translate(_SPELT)
    return dxf_words(re.sub(r"[^ -~]+", "?", bare))


def block_name(code: str, taken: set[str]) -> str:
    """A block name from a piece's code: capitals, digits, underscores; no two alike."""
    plain = re.sub(r"[^A-Z0-9_]+", "_", ascii_words(code).upper()).strip("_")[:28] or "PIECE"
    name, count = plain, 1
    while name in taken:
        count += 1
        name = f"{plain}_{count}"
    taken.add(name)
    return name


#: Ten times closer than a polyline needs to be, so that its length agrees within 0.02 mm too.
CLOSE = FLATTEN / 10
#: White margin round the drawing, mm: some readers clip what lies on the border.
_MARGIN = 15.0
_PLACES = 6
#: Dashes go on round the corners of a polyline (published DXF reference, LWPOLYLINE group 70).
_DASHES_RUN_ON = 128
_STYLE = "LABEL"
_FONT = "arial.ttf"
_WRITING = threading.Lock()


class DxfProfile(StrEnum):
    """How curved edges are written."""

    DRAWING = "drawing"
    SPLINES = "splines"


def drawing_bytes(sheet: SheetContent, profile: DxfProfile = DxfProfile.DRAWING) -> bytes:
    """The order as a DXF file."""
    return drawn_bytes(
        layers().values(), lambda space: draw_sheet(DrawingPen(space, profile), sheet)
    )


def drawn_bytes(table: Iterable[Layer], draw: Callable[[Any], tuple[float, float]]) -> bytes:
    """A DXF file with these layers. ``draw`` draws on its model space and says how wide and high
    (cm) that came out, from the origin."""
    with fixed_metadata():
        doc = ezdxf.new("R2010", units=4)
        doc.header["$MEASUREMENT"] = 1
        doc.header["$LTSCALE"] = 1.0
        doc.styles.add(_STYLE, font=_FONT)
        for layer in table:
            _add_layer(doc, layer)
        width, height = draw(doc.modelspace())
        _set_view(doc, mm(width), mm(height))
        return _written(doc)


@contextmanager
def fixed_metadata() -> Iterator[None]:
    """While inside, ezdxf writes fixed dates and identifiers, and keeps to itself that the oldest
    files hold no unit (it stands in their text); one thread at a time."""
    log = logging.getLogger("ezdxf")
    with _WRITING:
        before, level = ezdxf.options.write_fixed_meta_data_for_testing, log.level
        ezdxf.options.write_fixed_meta_data_for_testing = True
        log.setLevel(logging.ERROR)
        try:
            yield
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
            log.setLevel(level)


def _written(doc: Any) -> bytes:
    stream = io.StringIO()
    doc.classes.add_required_classes(doc.dxfversion)  # out of a set: in another order every run
    doc.classes.classes = dict(sorted(doc.classes.classes.items()))
    doc.write(stream)
    return stream.getvalue().encode(doc.output_encoding, errors="dxfreplace")


def _add_layer(doc: Any, layer: Layer) -> None:
    linetype = layer.linetype or "Continuous"
    if layer.dash_mm:
        pattern = [d if k % 2 == 0 else -d for k, d in enumerate(layer.dash_mm)]
        doc.linetypes.add(linetype, [sum(layer.dash_mm), *pattern])
    row = doc.layers.add(
        layer.name,
        color=layer.colour,
        linetype=linetype,
        lineweight=round(layer.width_mm * 100),
    )
    row.description = layer.purpose


def _set_view(doc: Any, width: float, height: float) -> None:
    """Extents, limits and opening view, all with a margin. Set on the layouts: header values are
    overwritten when the file is written."""
    msp = doc.modelspace()
    low, high = (-_MARGIN, -_MARGIN), (width + _MARGIN, height + _MARGIN)
    msp.reset_extents((*low, 0.0), (*high, 0.0))
    msp.reset_limits(low, high)
    doc.layout().reset_limits((0.0, 0.0), tuple(map(_paper, (width, height))))
    zoom.window(msp, Vec2(low), Vec2(high))


def on_layer(ink: str) -> dict[str, Any]:
    """What an entity of an ink carries: its layer."""
    return {"layer": layers()[Ink(ink)].name}


def _paper(size: float) -> float:
    """The side of the paper for a size and its margins, millimetres, in steps of five inches.

    Programs print on pages of whole millimetres and of whole points, and shrink the drawing a
    little when those are not the same; 127 mm is the least that is both.
    """
    step = mm(5 * CM_PER_INCH)
    return ceil((size + 2 * _MARGIN) / step) * step


class DrawingPen:
    """A pen on the model space of a drawing. ``on`` gives what an entity of an ink carries."""

    def __init__(
        self,
        space: Any,
        profile: DxfProfile = DxfProfile.DRAWING,
        on: Callable[[str], dict[str, Any]] = on_layer,
    ) -> None:
        self._space, self._splines, self._on = space, profile is DxfProfile.SPLINES, on

    def begin_piece(self, code: str, title: str) -> None:
        """Pieces are told apart by where they lie."""

    def end_piece(self) -> None:
        """Nothing to close."""

    def curve(self, layer: str, curve: Curve) -> None:
        """A LINE, LWPOLYLINE or SPLINE; a notch also a POINT where it starts."""
        look = self._on(layer)
        if curve.degree == 1 and len(curve.controls) == 2:
            self._space.add_line(at_mm(curve.start), at_mm(curve.end), dxfattribs=look)
        elif curve.degree == 3 and self._splines:
            self._space.add_open_spline(
                [(*xy, 0.0) for xy in rows_mm(curve.controls)],
                degree=3,
                knots=[float(k) for k in curve.knots],
                dxfattribs=look,
            )
        else:
            self._polyline(curve.flatten(CLOSE), look, close=False)
        if layer == Ink.NOTCH:
            self._space.add_point(at_mm(curve.start), dxfattribs=look)

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """One closed LWPOLYLINE; in the splines profile each edge on its own if any is curved."""
        if self._splines and any(curve.degree == 3 for curve in curves):
            for curve in curves:
                self.curve(layer, curve)
            return
        points = np.vstack([curve.flatten(CLOSE)[:-1] for curve in curves])
        self._polyline(points, self._on(layer), close=True)

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A CIRCLE."""
        self._space.add_circle(at_mm(at), mm(radius), dxfattribs=self._on(layer))

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A TEXT."""
        look = {
            **self._on(layer),
            "style": _STYLE,
            "insert": at_mm(at),
            "rotation": degrees(angle),
        }
        self._space.add_text(dxf_words(words), height=mm(height), dxfattribs=look)

    def _polyline(self, points: FloatArray, look: dict[str, Any], *, close: bool) -> None:
        line = self._space.add_lwpolyline(rows_mm(points), close=close, dxfattribs=look)
        line.dxf.flags |= _DASHES_RUN_ON


def at_mm(p: Point) -> tuple[float, float]:
    """A point in millimetres, to a millionth: the same on every machine."""
    return round(mm(p.x), _PLACES), round(mm(p.y), _PLACES)


def rows_mm(xy: FloatArray) -> list[tuple[float, float]]:
    """Points, shape (n, 2), in millimetres."""
    return [at_mm(Point(float(x), float(y))) for x, y in xy]
