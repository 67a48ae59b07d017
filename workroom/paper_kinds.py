"""The kinds of papers an order's folder may hold, by the word a maker chooses them with."""

from __future__ import annotations

from collections.abc import Mapping

#: The kinds, and what they are.
KINDS: Mapping[str, str] = {
    "all": "every one of these",
    "dxf": "the DXF drawings",
    "pictures": "PNG and SVG",
    "print": "true-size PDF: pages for a home printer, one large sheet",
    "booklets": "PDF to read: worksheet, order of making, report",
    "checks": "the checks and the report as text, which every folder holds",
}
