"""The kinds of papers an order's folder may hold, by the word a maker chooses them with."""

from __future__ import annotations

from collections.abc import Mapping

#: The kinds, and what they are.
KINDS: Mapping[str, str] = {
    "all": "every one of these but the projector's",
    "dxf": "the DXF drawings",
    "pictures": "PNG and SVG",
    "print": "true-size PDF: pages for a home printer, one large sheet",
    "booklets": "PDF to read: worksheet, order of making, report",
    "projector": "the large sheet with a grid to set up a projector by; only when asked for",
    "checks": "the checks and the report as text, which every folder holds",
}
