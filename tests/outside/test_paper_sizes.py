"""Paper sizes against the standards, and against the pages of our files as PDFium reads them."""

from __future__ import annotations

import pytest

from drafting.drawing.drawing import Labels
from tests import pdfs, shapes
from workroom.papers.pages.one_sheet import sheet_bytes
from workroom.papers.pages.tiled import tiled_bytes
from workroom.papers.sheet.content import SheetContent
from workroom.papers.sheet.paper_sizes import paper_size, paper_sizes

SMALL = SheetContent("Stand", (shapes.stand(),), Labels("Zoë Müller"))


@pytest.mark.parametrize(
    ("name", "width", "height"), [("A4", 21.0, 29.7), ("A3", 29.7, 42.0), ("A0", 84.1, 118.9)]
)
def test_iso_sizes(name: str, width: float, height: float) -> None:
    """ISO 216, trimmed sizes: A0 is 841 x 1189 mm, A3 297 x 420, A4 210 x 297."""
    size = paper_size(name)

    assert (size.width, size.height) == pytest.approx((width, height), abs=1e-9)


def test_the_a_series_keeps_its_rule() -> None:
    """ISO 216: A0 is a square metre, sides as 1 to the square root of 2, rounded to millimetres;
    each size is the one before cut in half."""
    for name in ("A4", "A3", "A0"):
        size = paper_size(name)
        assert size.height == pytest.approx(size.width * 2**0.5, abs=0.1)
    assert paper_size("A0").width * paper_size("A0").height == pytest.approx(10_000, abs=10)
    assert paper_size("A4").height == paper_size("A3").width
    assert paper_size("A4").width == pytest.approx(paper_size("A3").height / 2, abs=0.05)


@pytest.mark.parametrize(
    ("name", "width", "height"), [("Letter", 8.5, 11.0), ("ANSI E", 34.0, 44.0)]
)
def test_ansi_sizes(name: str, width: float, height: float) -> None:
    """ANSI/ASME Y14.1, decimal inch sizes: A (Letter) is 8.5 x 11 in, E 34 x 44 in."""
    size = paper_size(name)

    assert (size.width / 2.54, size.height / 2.54) == pytest.approx((width, height), abs=1e-9)


@pytest.mark.parametrize(
    ("name", "sides"), [("A4", (210, 297)), ("Letter", (215.9, 279.4)), ("A3", (297, 420))]
)
def test_home_pages_are_of_that_size(name: str, sides: tuple[float, float]) -> None:
    pages = pdfs.opened(tiled_bytes(SMALL, name))

    assert len(pages) > 1
    for page in pages:
        assert [side * pdfs.CM * 10 for side in page.get_size()] == pytest.approx(sides, abs=1e-3)
        assert page.get_cropbox() == page.get_mediabox() == page.get_trimbox()


@pytest.mark.parametrize(
    ("name", "sides"), [("A0", (841, 1189)), ("ANSI E", (34 * 25.4, 44 * 25.4))]
)
def test_large_sheets_are_of_that_size(name: str, sides: tuple[float, float]) -> None:
    (page,) = pdfs.opened(sheet_bytes(SMALL, name))

    assert [side * pdfs.CM * 10 for side in page.get_size()] == pytest.approx(sides, abs=1e-3)


def test_every_size_names_its_standard() -> None:
    for size in paper_sizes().values():
        assert size.source.startswith(("ISO 216", "ANSI/ASME Y14.1"))
