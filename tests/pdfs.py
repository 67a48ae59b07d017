"""Our PDF files as a reader of other authors (PDFium) sees them: drawing commands and pixels.

Centimetres from the lower left corner of a page, unless said otherwise.
"""

from __future__ import annotations

import ctypes
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as raw

CM = 2.54 / 72.0


@dataclass(frozen=True)
class PathRead:
    """A path: its segments as arrays of two points (straight) or four (Bezier)."""

    segments: tuple[np.ndarray, ...]
    closed: bool
    width: float
    colour: tuple[int, int, int]

    @property
    def points(self) -> np.ndarray:
        return np.vstack([self.segments[0][:1], *(segment[1:] for segment in self.segments)])


def opened(data: bytes) -> Any:
    return pypdfium2.PdfDocument(data)


def paths(page: Any) -> list[PathRead]:
    """Every path of a page, moved as the page moves it."""
    found = []
    for k in range(raw.FPDFPage_CountObjects(page.raw)):
        thing = raw.FPDFPage_GetObject(page.raw, k)
        if raw.FPDFPageObj_GetType(thing) == raw.FPDF_PAGEOBJ_PATH:
            found.append(_path(thing))
    return found


def _path(thing: Any) -> PathRead:
    matrix = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(thing, matrix)
    turn = np.array([[matrix.a, matrix.b], [matrix.c, matrix.d]])
    x, y = ctypes.c_float(), ctypes.c_float()
    run: list[np.ndarray] = []
    segments: list[np.ndarray] = []
    closed = False
    for k in range(raw.FPDFPath_CountSegments(thing)):
        step = raw.FPDFPath_GetPathSegment(thing, k)
        raw.FPDFPathSegment_GetPoint(step, x, y)
        run.append((np.array([x.value, y.value]) @ turn + [matrix.e, matrix.f]) * CM)
        kind = raw.FPDFPathSegment_GetType(step)
        if kind == raw.FPDF_SEGMENT_LINETO or len(run) == 4:
            segments.append(np.array(run))
        if kind != raw.FPDF_SEGMENT_BEZIERTO or len(run) == 4:
            run = run[-1:]
        closed |= bool(raw.FPDFPathSegment_GetClose(step))
    width = ctypes.c_float()
    raw.FPDFPageObj_GetStrokeWidth(thing, width)
    parts = [ctypes.c_uint() for _ in range(4)]
    raw.FPDFPageObj_GetStrokeColor(thing, *parts)
    red, green, blue = (part.value for part in parts[:3])
    return PathRead(tuple(segments), closed, width.value * CM, (red, green, blue))


def length(segments: Sequence[np.ndarray]) -> float:
    """Length of segments end to end; Beziers by many chords."""
    total = 0.0
    u = np.linspace(0.0, 1.0, 2001)[:, None]
    for p in segments:
        if len(p) == 4:
            p = (
                (1 - u) ** 3 * p[0]
                + 3 * (1 - u) ** 2 * u * p[1]
                + 3 * (1 - u) * u**2 * p[2]
                + u**3 * p[3]
            )
        total += float(np.hypot(*np.diff(p, axis=0).T).sum())
    return total


@dataclass(frozen=True)
class Picture:
    """A page in grey, 0 black to 255 white, the first row at the top; ``dots`` per centimetre."""

    grey: np.ndarray
    dots: tuple[float, float]

    def ink(self, xy: np.ndarray) -> np.ndarray:
        """How dark the paper is at points (cm), 0 to 1, between pixels by the nearest four."""
        rows, columns = self.grey.shape
        x = xy[..., 0] * self.dots[0] - 0.5
        y = rows - xy[..., 1] * self.dots[1] - 0.5
        i = np.clip(np.floor(y).astype(int), 0, rows - 2)
        j = np.clip(np.floor(x).astype(int), 0, columns - 2)
        v, u = y - i, x - j
        g = self.grey
        mixed = (
            (1 - v) * ((1 - u) * g[i, j] + u * g[i, j + 1])
            + v * ((1 - u) * g[i + 1, j] + u * g[i + 1, j + 1])
        )  # fmt: skip
        return 1.0 - np.asarray(mixed) / 255.0


def rendered(page: Any, dpi: float) -> Picture:
    """A page drawn by PDFium."""
    # PDFium takes whole pixels, rounded up: a page of 3700.0001 of them must not get one more
    grey = page.render(scale=dpi / 72.0 * (1.0 - 1e-6), grayscale=True).to_numpy()
    grey = grey[..., 0] if grey.ndim == 3 else grey
    wide, tall = (side * CM for side in page.get_size())
    return Picture(np.array(grey), (grey.shape[1] / wide, grey.shape[0] / tall))


def middle_of_line(picture: Picture, at: np.ndarray, across: np.ndarray, reach: float) -> float:
    """How far (cm) from ``at`` in the direction ``across`` the middle of a line lies that is seen
    within ``reach``; not a number where there is too little ink."""
    steps = np.linspace(-reach, reach, 241)
    dark = picture.ink(at + steps[:, None] * across)
    if dark.max() < 0.5:
        return float("nan")
    return float((dark * steps).sum() / dark.sum())
