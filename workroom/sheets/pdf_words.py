"""Words on PDF pages: one font for all, embedded, and a box for every letter it lacks.

The font is DejaVu Sans, which comes with matplotlib: Latin, Greek, Cyrillic, Armenian, Georgian,
Hebrew and Arabic letters, under a licence that allows embedding.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from pathlib import Path

from drafting.lettering import one_line, shortened
from drafting.units import POINTS_PER_CM
from workroom.sheets.right_to_left import laid_out
from workroom.sheets.svg_pen import CAPITAL

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
