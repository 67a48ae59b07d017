"""Worksheet, report and order of making on paper, read back with an independent reader."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pypdfium2
import pytest

from drafting.library import data_folder
from drafting.pieces.checks import Verdict
from drafting.units import POINTS_PER_CM
from garment.garment import Garment, make_garment
from workroom.card.card import read_card_text
from workroom.making import order_of_making
from workroom.papers.booklets.report import report, report_bytes
from workroom.papers.booklets.report_pdf import making_bytes, report_pdf_bytes
from workroom.papers.booklets.worksheet_pdf import worksheet_bytes

DEMO = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
MAKERS: dict[str, Callable[[Garment], bytes]] = {
    "worksheet": worksheet_bytes,
    "report": report_pdf_bytes,
    "making": making_bytes,
}


def order_of(text: str = DEMO) -> Garment:
    return make_garment(read_card_text(text, "card"))


def in_inches() -> str:
    """The demo client's card written in inches, exactly."""
    head, tail = DEMO.split("[measurements]")
    lines = []
    for line in tail.splitlines():
        found = re.fullmatch(r"(\w+) = ([\d.]+)", line)
        if found and found[1] not in ("shoulder_slope", "neck_lean"):
            line = f'{found[1]} = "{found[2]} cm"'
        lines.append(line)
    return head.replace('unit = "cm"', 'unit = "in"') + "[measurements]\n" + "\n".join(lines) + "\n"


def text_of(data: bytes) -> list[str]:
    """The words on each page."""
    document = pypdfium2.PdfDocument(data)
    return [page.get_textpage().get_text_range() for page in document]


@pytest.mark.parametrize("name", list(MAKERS))
def test_every_page_says_whose_it_is_and_the_same_order_gives_the_same_bytes(name: str) -> None:
    order = order_of()
    data = MAKERS[name](order)
    assert data == MAKERS[name](order)
    pages = text_of(data)
    for number, page in enumerate(pages, start=1):
        assert "Marta Ilves · Blouse 12 · 2026-03-14" in page
        assert f"· {number}" in page


def test_the_report_is_one_page_with_every_check_and_measurement() -> None:
    order = order_of()
    (page,) = text_of(report_pdf_bytes(order))
    words = " ".join(page.split())
    for check in order.checks:
        assert check.name in words
        if check.verdict is not Verdict.PASS:
            assert check.advice.split(".")[0] in words
    for row in report(order)["measurements"]:
        assert row["name"] in words
    assert "direct-measure" in report_bytes(order).decode()


def test_the_report_as_data_holds_what_was_measured_and_what_was_guessed() -> None:
    bare = "\n".join(line for line in DEMO.splitlines() if not line.startswith("scye_depth"))
    told = json.loads(report_bytes(order_of(bare)))
    rows = {row["key"]: row for row in told["measurements"]}
    assert rows["bust_girth"]["value"] == 94.0
    assert not rows["bust_girth"]["estimated"]
    assert rows["scye_depth"]["estimated"]
    assert rows["scye_depth"]["used"]
    assert told["for_cutting"]
    assert told["neckline"]["whole"] == pytest.approx(37.9, abs=1e-3)


def test_a_draft_that_fails_is_stamped_on_every_page() -> None:
    tight = DEMO.replace("neck_girth = 33.2", "neck_girth = 36.8").replace(
        'kind = "two-piece shirt"', 'kind = "two-piece shirt"\nrise = 3.5'
    )
    order = order_of(tight)
    assert order.stamp
    for maker in MAKERS.values():
        for page in text_of(maker(order)):
            assert "NOT FOR CUTTING" in page


def test_a_card_in_inches_gives_letter_pages_and_sixteenths_and_the_same_geometry() -> None:
    inches, metric = order_of(in_inches()), order_of()
    for one, other in zip(inches.pieces, metric.pieces, strict=True):
        for a, b in zip(one.edges, other.edges, strict=True):
            assert abs(a.curve.controls - b.curve.controls).max() < 1e-9
    for maker in MAKERS.values():
        page = pypdfium2.PdfDocument(maker(inches))[0]
        assert page.get_size() == pytest.approx((612.0, 792.0))
        wide, tall = pypdfium2.PdfDocument(maker(metric))[0].get_size()
        assert wide / POINTS_PER_CM == pytest.approx(21.0, abs=0.01)
        assert tall / POINTS_PER_CM == pytest.approx(29.7, abs=0.01)
    words = " ".join(text_of(worksheet_bytes(inches)))
    assert "20 1/2 in" in words  # half the width, 52.0 cm
    assert not re.search(r"\d cm\b", " ".join(words.split("Front bodice")[1:]))


@pytest.mark.parametrize(
    "client",
    ["<b>Ann</b> & Co", "שרה כהן", "陳美玲 Chan", "a" * 120, "Zoë {bust} %s \\n </para>"],
)
def test_any_name_can_stand_on_the_pages(client: str) -> None:
    text = DEMO.replace('"Marta Ilves"', json.dumps(client, ensure_ascii=False))
    for maker in MAKERS.values():
        assert text_of(maker(order_of(text)))


def test_without_a_bodice_only_the_collar_is_spoken_of() -> None:
    head = DEMO.split("[measurements]")[0]
    text = (
        head + '[neckline]\nback_arc = 7.6\nfront_arc = 10.9\n[collar]\nkind = "two-piece shirt"\n'
    )
    order = order_of(text)
    steps = " ".join(order_of_making(order).lines())
    assert "side seams" not in steps
    assert "18.5 cm" in steps
    for maker in MAKERS.values():
        assert text_of(maker(order))
    assert json.loads(report_bytes(order))["measurements"] == []
