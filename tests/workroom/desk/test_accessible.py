"""axe-core (MPL-2.0, beside this file with its licence) finds nothing serious, in any state."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.workroom.desk.conftest import Desk
from tests.workroom.desk.test_browser import NEEDED, begin, drawn, measure, save, settled

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text("utf-8")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def faults(page: Page) -> list[str]:
    """Every fault of the page, with where it is. Run in a world of its own, past the page's rules
    for scripts; from the top, for what stands half under the head is measured as half as large."""
    page.evaluate("scrollTo(0, 0)")
    page.evaluate(AXE)
    found: dict[str, Any] = page.evaluate(
        "rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", RULES
    )
    assert len(page.content()) > 500
    return [
        f"{one['impact']} {one['id']}: {node['target']} {node.get('failureSummary', '')}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def test_axe_does_find_faults(page: Page, desk: Desk) -> None:
    page.goto(desk.address)
    page.evaluate("document.querySelector('label[for=name]').remove()")
    assert any(one.startswith("critical label") for one in faults(page))


@pytest.mark.parametrize("width", [1440, 820, 420])
def test_no_page_in_any_state_has_a_fault(page: Page, desk: Desk, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(desk.address)
    assert faults(page) == []
    begin(page, desk)
    assert faults(page) == []  # empty
    page.locator("#f-measurements-bust_girth").fill("37")
    expect(page.locator("#problems")).to_be_visible()
    assert faults(page) == []  # a mistake
    measure(page, NEEDED)
    drawn(page)
    assert faults(page) == []  # estimates
    measure(page)
    page.locator("input[name=kind][value='two-piece shirt']").check()
    settled(page)
    for summary in page.locator("details:not([open]) > summary").all():
        if summary.is_visible():
            summary.click()
    page.locator("#f-collar-rise").focus()
    for name in ("lengths", "construction"):
        page.get_by_label(name).check()
    settled(page)
    assert faults(page) == []  # all open
    page.locator("#f-collar-stand_back").fill("1.5")
    page.locator("#f-collar-fall_back").fill("2")
    expect(page.locator("#stamp")).to_be_visible()
    assert faults(page) == []  # a failed check
    page.locator("#f-collar-stand_back").fill("30")
    expect(page.locator("#before")).to_be_visible()
    assert faults(page) == []  # not drawn
    page.locator("#f-collar-stand_back").fill("3")
    page.locator("#f-collar-fall_back").fill("")
    settled(page)
    page.get_by_label("Tape in").select_option("in")
    expect(page.locator("#turned")).to_be_visible()
    assert faults(page) == []
    page.locator("#undo").click()
    page.get_by_role("button", name="Save and make the papers").click()
    expect(page.locator("#papers-state")).to_contain_text("papers are ready")
    assert faults(page) == []
    page.locator("#f-measurements-bust_girth").fill("95")
    expect(page.locator("#papers-state")).to_contain_text("Something changed since")
    assert faults(page) == []
    save(page)
    page.locator(".whose a").click()
    expect(page.get_by_role("heading", name="Measurements")).to_be_visible()
    assert faults(page) == []  # two sets compared
    page.goto(f"{desk.origin}/clients/99")
    assert faults(page) == []
    page.goto(f"{desk.origin}/clients/1")
    page.get_by_label("Yes, delete her").check()
    page.get_by_role("button", name="Erase this client").click()
    expect(page.get_by_role("status")).to_contain_text("Deleted")
    assert faults(page) == []
    page.goto(f"{desk.origin}/")
    assert faults(page) == []
