"""A pen that draws on a PDF page: true Bezier curves, real text, each ink in its layer."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from contextlib import nullcontext
from functools import cache, lru_cache
from math import cos, pi, sin
from pathlib import Path
from typing import Any

from drafting.drawing.lettering import one_line, shortened
from drafting.drawing.signs import Ink
from drafting.geometry.curves import Curve, bezier
from drafting.geometry.points import Point
from drafting.units import MM_PER_CM, POINTS_PER_CM
from workroom.papers.pdf.file import PdfFile
from workroom.papers.pictures.svg_pen import CAPITAL
from workroom.papers.sheet.layers import Layer
from workroom.papers.sheet.layers import layer as layer_of

# ---- Words in the order and the shapes in which their letters stand on the line

_RIGHT = ("R", "AL")
_NUMBER = re.compile(r"(\d+(?:[.,:/+-]\d+)*)")
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
_LAM = "\u0644"


def laid_out(words: str) -> str:
    """One line of text as its letters stand from left to right."""
    words = unicodedata.normalize("NFC", words)
    if not any(unicodedata.bidirectional(c) in _RIGHT for c in words):
        return words
    clusters = _clusters(_joined(words))
    ways = _ways(clusters)
    runs: list[tuple[bool, list[str]]] = []
    for right, cluster in zip(ways, clusters, strict=True):
        if not runs or runs[-1][0] != right:
            runs.append((right, []))
        runs[-1][1].append(cluster)
    first = next(way for way in map(_way, clusters) if way is not None)
    if first:
        runs.reverse()
    return "".join(
        "".join(cluster.translate(_MIRRORED) for cluster in reversed(run))
        if right
        else "".join(run)
        for right, run in runs
    )


def _clusters(words: str) -> list[str]:
    """Letters, each with the marks that stand on it, and whole numbers."""
    found: list[str] = []
    for part in _NUMBER.split(words):
        if _NUMBER.fullmatch(part):
            found.append(part)
            continue
        for c in part:
            if found and unicodedata.combining(c):
                found[-1] += c
            else:
                found.append(c)
    return found


def _way(cluster: str) -> bool | None:
    """Whether a letter is read to the left (``True``), to the right, or with its neighbours."""
    kind = unicodedata.bidirectional(cluster[0])
    return True if kind in _RIGHT else False if kind == "L" else None


def _ways(clusters: list[str]) -> list[bool]:
    """Numbers go with the letters before them; spaces and signs with their neighbours when these
    agree, else with the first letter."""
    strong = [_way(cluster) for cluster in clusters]
    base = next((way for way in strong if way is not None), False)
    last = base
    for k, cluster in enumerate(clusters):
        if _NUMBER.fullmatch(cluster):
            strong[k] = last
        last = last if strong[k] is None else bool(strong[k])
    found: list[bool] = []
    for k, way in enumerate(strong):
        if way is None:
            before = found[-1] if found else base
            after = next((later for later in strong[k:] if later is not None), base)
            way = before if before == after else base
        found.append(way)
    return found


@cache
def _shapes() -> dict[str, dict[str, str]]:
    """Arabic letters (and lam-alef pairs) with their shapes: isolated, initial, medial, final."""
    found: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFBB2), *range(0xFBD3, 0xFBEA), *range(0xFBFC, 0xFC00)):
        _note(found, code)
    for code in range(0xFE80, 0xFEFD):
        _note(found, code)
    return found


def _note(found: dict[str, dict[str, str]], code: int) -> None:
    parts = unicodedata.decomposition(chr(code)).split()
    if parts and parts[0] in ("<isolated>", "<initial>", "<medial>", "<final>"):
        letters = "".join(chr(int(part, 16)) for part in parts[1:])
        if len(letters) == 1 or letters[0] == _LAM:
            found.setdefault(letters, {}).setdefault(parts[0][1:-1], chr(code))


def _joined(words: str) -> str:
    """Arabic letters in the shapes they have beside their neighbours."""
    shapes = _shapes()
    letters: list[str] = []
    for c in words:
        if letters and letters[-1] == _LAM and _LAM + c in shapes:
            letters[-1] += c
        else:
            letters.append(c)
    out = []
    for k, letter in enumerate(letters):
        own = shapes.get(letter)
        if own is None:
            out.append(letter)
            continue
        before = shapes.get(_neighbour(letters, k, -1), {})
        after = shapes.get(_neighbour(letters, k, 1), {})
        to_right = "initial" in before and "final" in own
        to_left = "initial" in own and "final" in after
        kind = ("isolated", "initial", "final", "medial")[to_left + 2 * to_right]
        out.append(own.get(kind, letter))
    return "".join(out)


def _neighbour(letters: list[str], k: int, step: int) -> str:
    """The next letter, marks passed over."""
    k += step
    while 0 <= k < len(letters) and unicodedata.combining(letters[k][0]):
        k += step
    return letters[k] if 0 <= k < len(letters) else ""


# ---- Words on PDF pages: one font for all, embedded, and a box for every letter it lacks

#: What the font is called among reportlab's.
FONT = "NeckarcSans"
BOX = "\u25a1"
_DOT = " · "
#: No line of ours has room for more letters.
_LONGEST = 300
#: A number and its unit stay on one line.
_UNIT = re.compile(r"(?<=\d) (?=(?:cm|in|%)(?!\w))")
_KEPT = "\u00a0"


@cache
def load_font() -> str:
    """Make the font known to reportlab; its name comes back."""
    import matplotlib
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"
    pdfmetrics.registerFont(TTFont(FONT, str(path)))
    return FONT


@cache
def _letters() -> frozenset[int]:
    """The characters the font can draw."""
    from reportlab.pdfbase import pdfmetrics

    face = pdfmetrics.getFont(load_font()).face
    return frozenset(code for code in face.charToGlyph if code < 0x10000)


@lru_cache(maxsize=4096)
def drawable(words: str) -> str:
    """Words as they are drawn: on one line, from left to right, a box for each missing letter.

    Facts with a dot between them keep their order, whichever way each of them is read.
    """
    facts = one_line(words).split(_DOT)
    placed = _DOT.join(laid_out(fact) for fact in facts)
    return "".join(c if ord(c) in _letters() else BOX for c in placed)


def type_size(height: float) -> float:
    """Type size in points for capitals of a height in centimetres."""
    return height / CAPITAL * POINTS_PER_CM


@lru_cache(maxsize=4096)
def width_of(words: str, height: float) -> float:
    """How long a line of text is as drawn, centimetres."""
    from reportlab.pdfbase import pdfmetrics

    points = pdfmetrics.stringWidth(drawable(words), load_font(), type_size(height))
    return float(points) / POINTS_PER_CM


def wrapped(words: str, height: float, width: float) -> tuple[str, ...]:
    """A sentence on lines that are no longer than ``width`` (cm), unless a word is."""
    lines: list[str] = []
    for kept in _UNIT.sub(_KEPT, one_line(words)).split(" "):
        word = kept.replace(_KEPT, " ")
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, height) <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def fitted(words: str, height: float, width: float) -> str:
    """Words cut short with an ellipsis until they are no longer than ``width`` (cm)."""
    kept = shortened(words, _LONGEST)
    if width_of(kept, height) <= width:
        return kept
    low, high = 0, len(kept)
    while high - low > 1:
        middle = (low + high) // 2
        fits = width_of(kept[:middle].rstrip() + "…", height) <= width
        low, high = (middle, high) if fits else (low, middle)
    return kept[:low].rstrip() + "…"


#: Handles of a quarter circle as a share of the radius: within 0.03 % of the true circle.
_ROUND = 4 / 3 * (2**0.5 - 1)


class PdfPen:
    """Draws on the open page of a file. ``inks`` and ``pieces`` give the layer of an ink or of a
    piece (by its code); what has none is always shown. ``look`` is how an ink looks."""

    def __init__(
        self,
        file: PdfFile,
        inks: Mapping[Ink, str] | None = None,
        pieces: Mapping[str, str] | None = None,
        look: Callable[[str], Layer] = layer_of,
    ) -> None:
        self._look = look
        self._file, self._inks, self._pieces = file, inks or {}, pieces or {}
        self._canvas: Any = file.canvas
        self._open: list[bool] = []

    def begin_piece(self, code: str, title: str) -> None:
        """Open the piece's layer."""
        key = self._pieces.get(code)
        self._open.append(key is not None)
        if key is not None:
            self._canvas.addLiteral(f"/OC /{key} BDC")

    def end_piece(self) -> None:
        """Close it."""
        if self._open.pop():
            self._canvas.addLiteral("EMC")

    def curve(self, layer: str, curve: Curve) -> None:
        """An open path."""
        self._draw(layer, (curve,), closed=False)

    def outline(self, layer: str, curves: tuple[Curve, ...]) -> None:
        """A closed path."""
        self._draw(layer, curves, closed=True)

    def dot(self, layer: str, at: Point, radius: float) -> None:
        """A circle."""
        self._draw(layer, circle(at, radius), closed=True)

    def text(self, layer: str, at: Point, words: str, height: float, angle: float = 0.0) -> None:
        """A line of text. What is drawn otherwise than it is read says so to readers of text."""
        drawn = drawable(words)
        if not drawn:
            return
        read = one_line(words)
        with self._within(layer):
            if drawn != read:
                said = ("\ufeff" + read).encode("utf-16-be").hex().upper()
                self._canvas.addLiteral(f"/Span <</ActualText <{said}>>> BDC")
            text = self._canvas.beginText()
            text.setFont(load_font(), type_size(height))
            text.setFillColor(_colour(self._look(layer).rgb))
            x, y = _points(at)
            text.setTextTransform(cos(angle), sin(angle), -sin(angle), cos(angle), x, y)
            text.textOut(drawn)
            self._canvas.drawText(text)
            if drawn != read:
                self._canvas.addLiteral("EMC")

    def _draw(self, layer: str, curves: tuple[Curve, ...], *, closed: bool) -> None:
        path = self._canvas.beginPath()
        path.moveTo(*_points(curves[0].start))
        for curve in curves:
            for piece in curve.beziers():
                steps = [value for point in piece[1:] for value in _points(point)]
                (path.curveTo if len(piece) == 4 else path.lineTo)(*steps)
        if closed:
            path.close()
        look = self._look(layer)
        per_mm = POINTS_PER_CM / MM_PER_CM
        with self._within(layer):
            self._canvas.setStrokeColor(_colour(look.rgb))
            self._canvas.setLineWidth(look.width_mm * per_mm)
            self._canvas.setDash([dash * per_mm for dash in look.dash_mm])
            self._canvas.drawPath(path, stroke=1, fill=0)

    def _within(self, layer: str) -> Any:
        key = self._inks.get(Ink(layer))
        return nullcontext() if key is None else self._file.within(key)


@cache
def _colour(rgb: str) -> Any:
    from reportlab.lib.colors import toColor

    return toColor(rgb)


def circle(at: Point, radius: float) -> tuple[Curve, ...]:
    """Four Bezier quarters."""
    quarters = []
    for k in range(4):
        a, b = (Point(cos(turn), sin(turn)) * radius for turn in (k * pi / 2, (k + 1) * pi / 2))
        quarters.append(bezier(at + a, at + a + b * _ROUND, at + b + a * _ROUND, at + b))
    return tuple(quarters)


def _points(p: Point) -> tuple[float, float]:
    return p.x * POINTS_PER_CM, p.y * POINTS_PER_CM
