"""Pages of text and tables for the workroom: type, footers, the stamp. Made with reportlab.

The same content gives the same bytes. A4, or Letter for a card in inches.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Any
from xml.sax.saxutils import escape

from drafting.drawing.lettering import one_line
from drafting.units import LengthUnit
from garment.garment import Garment

FACE, BOLD = "Neckarc", "Neckarc-Bold"
_MARGIN = 48.0
#: Above the first line, where no stamp stands, and below the last, over the foot.
_ABOVE, _BELOW = 30.0, 37.0
_GREY = 0.35


@cache
def letters() -> frozenset[int]:
    """Registers the typeface (DejaVu Sans, embedded in the file) and tells what it can write."""
    from matplotlib import font_manager
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, weight in ((FACE, "normal"), (BOLD, "bold")):
        path = font_manager.findfont(
            font_manager.FontProperties(family="DejaVu Sans", weight=weight)
        )
        pdfmetrics.registerFont(TTFont(name, path))
    return frozenset(pdfmetrics.getFont(FACE).face.charToGlyph)


@lru_cache(maxsize=4096)
def written(text: str) -> str:
    """Text as the typeface can write it: a box for what it lacks, no control signs."""
    known = letters()
    return "".join(sign if ord(sign) in known else "\u25a1" for sign in one_line(text))


@cache
def _styles() -> dict[str, Any]:
    from reportlab.lib.styles import ParagraphStyle

    letters()
    plain = ParagraphStyle("plain", fontName=FACE, fontSize=9.5, leading=13)
    return {
        "plain": plain,
        "small": ParagraphStyle("small", parent=plain, fontSize=8, leading=10.5),
        "tiny": ParagraphStyle("tiny", parent=plain, fontSize=6.8, leading=7.9),
        "step": ParagraphStyle("step", parent=plain, spaceAfter=5),
        "bold": ParagraphStyle("bold", parent=plain, fontName=BOLD),
        "title": ParagraphStyle("title", parent=plain, fontName=BOLD, fontSize=17, leading=22),
        "part": ParagraphStyle(
            "part", parent=plain, fontName=BOLD, fontSize=11, leading=13.5, spaceBefore=4
        ),
        "head": ParagraphStyle(
            "head", parent=plain, fontName=BOLD, fontSize=11.5, leading=15, spaceBefore=10
        ),
    }


def said(text: str, style: str = "plain") -> Any:
    """A paragraph."""
    from reportlab.platypus import Paragraph

    return Paragraph(escape(written(text)), _styles()[style])


def table(
    rows: Sequence[Sequence[str]],
    widths: Sequence[float],
    *,
    head: Sequence[str] = (),
    bold_last: bool = False,
    style: str = "small",
) -> Any:
    """A table of small (or ``tiny``) type; ``widths`` are shares of the page."""
    from reportlab.platypus import Table, TableStyle

    whole = sum(widths)
    across = [share / whole * page_width() for share in widths]
    body = [
        [
            (_bold if bold_last and k == len(row) - 1 else said)(cell, style)
            for k, cell in enumerate(row)
        ]
        for row in rows
    ]
    if head:
        body.insert(0, [_bold(cell, style) for cell in head])
    made = Table(body, colWidths=across, repeatRows=1 if head else 0)
    lines = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 1.5 if style == "small" else 0.1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.0 if style == "small" else 0.9),
        ("LEFTPADDING", (0, 0), (-1, -1), 2.0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4.0),
        ("LINEBELOW", (0, 0), (-1, -1), 0.25, _grey()),
    ]
    made.setStyle(TableStyle(lines))
    return made


def beside(left: Sequence[Any], right: Sequence[Any], width: float) -> Any:
    """Two columns, the right one so wide (points), as one block of a page."""
    from reportlab.platypus import Table, TableStyle

    made = Table([[list(left), list(right)]], colWidths=[page_width() - width, width])
    pads = {"TOP": 4.0, "BOTTOM": 0.0, "LEFT": 6.0, "RIGHT": 0.0}
    bare = [(f"{side}PADDING", (0, 0), (-1, -1), pad) for side, pad in pads.items()]
    made.setStyle(TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), *bare]))
    return made


def _bold(text: str, style: str) -> Any:
    from reportlab.platypus import Paragraph

    return Paragraph(f"<font name='{BOLD}'>{escape(written(text))}</font>", _styles()[style])


def _grey() -> Any:
    from reportlab.lib.colors import Color

    return Color(_GREY, _GREY, _GREY)


def page_width() -> float:
    """Width of the text, points: that of the narrower paper, so that tables fit both."""
    from reportlab.lib.pagesizes import A4

    return float(A4[0]) - 2 * _MARGIN


def booklet(order: Garment, title: str, story: list[Any]) -> bytes:
    """The finished file: ``title`` heads it, every page says whose it is and whether it may be
    cut by."""
    from reportlab.lib.pagesizes import A4, LETTER
    from reportlab.platypus import SimpleDocTemplate

    card = order.commission
    foot = " · ".join(part for part in (card.client, card.order, card.date.isoformat()) if part)
    letters()

    def furnish(canvas: Any, document: Any) -> None:
        canvas.saveState()
        canvas.setFont(FACE, 8)
        width, _ = document.pagesize
        canvas.drawString(_MARGIN, 28, written(foot)[:110])
        canvas.drawRightString(width - _MARGIN, 28, f"{title} · {document.page}")
        if order.stamp:
            canvas.setFont(BOLD, 9)
            canvas.drawString(_MARGIN, document.pagesize[1] - 32, written(order.stamp)[:100])
        canvas.restoreState()

    stream = io.BytesIO()
    document = SimpleDocTemplate(
        stream,
        pagesize=LETTER if card.unit is LengthUnit.INCH else A4,
        leftMargin=_MARGIN,
        rightMargin=_MARGIN,
        topMargin=_MARGIN if order.stamp else _ABOVE,
        bottomMargin=_BELOW,
        title=title,
        author="",
        invariant=1,
    )
    document.build([said(title, "title"), *story], onFirstPage=furnish, onLaterPages=furnish)
    return stream.getvalue()
