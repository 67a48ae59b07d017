"""What was seen at a fitting, said on the page in a real browser."""

from __future__ import annotations

import datetime
import re

import pytest
import tomli_w
from playwright.sync_api import Locator, Page, expect

from tests.workroom.desk.conftest import Desk, demo_measurements
from tests.workroom.desk.test_accessible import faults
from tests.workroom.desk.test_browser import HIDDEN, drawn, picture, save, settled
from workroom.book.book import Book
from workroom.book.cards import import_card

#: Lets the parts that stay while the page scrolls go along, or stay again.
STUCK = """way => {
  for (const part of document.querySelectorAll('.top, .draft')) part.style.position = way;
}"""
RIDES, BACK = "collar rides up", "stands away at the back neck"


def shirt(page: Page, desk: Desk, unit: str = "cm") -> None:
    """The fitting of a shirt that lies in the book."""
    card = {
        "client": "Marta Ilves",
        "date": datetime.date(2026, 3, 14),
        "unit": unit,
        "collar": {"kind": "two-piece shirt"},
        "measurements": {
            key: value if key in ("shoulder_slope", "neck_lean") else f"{value} cm"
            for key, value in demo_measurements().items()
        },
    }
    with Book(desk.book) as book:
        import_card(book, tomli_w.dumps(card), "card")
    page.goto(desk.address)
    page.get_by_role("link", name="Order 1").click()
    drawn(page)
    settled(page)


def word(page: Page, words: str) -> Locator:
    return page.locator(f".word[data-words='{words}']")


def amount(page: Page, words: str) -> Locator:
    return page.locator("#just-seen").get_by_label(words, exact=False).first


def kept(page: Page, words: str) -> Locator:
    return page.locator("#holding li", has_text=re.compile(words, re.IGNORECASE))


def row(page: Page, name: str) -> list[str]:
    """Before, after and change of a number."""
    place = page.locator("#changes-table tr", has_text=re.compile(f"^{name}")).first
    return place.locator("td").all_text_contents()


def test_what_is_seen_on_the_toile_is_said_tried_and_kept(page: Page, desk: Desk) -> None:
    shirt(page, desk)
    expect(page.locator("#changes")).to_be_hidden()
    word(page, RIDES).click()
    expect(amount(page, "Collar rides up")).to_be_focused()
    expect(amount(page, "Collar rides up")).to_have_attribute("placeholder", "0.7")
    turned = page.locator("#just-seen .turns").first
    expect(turned).to_have_text("The seam of the fall rises more by 0.70 cm.")
    page.keyboard.type("1.2")
    expect(turned).to_have_text("The seam of the fall rises more by 1.20 cm.")
    word(page, BACK).click()
    settled(page)
    before, after, change = row(page, "Whole neckline")
    assert before.removesuffix(" cm") > after.removesuffix(" cm")
    assert change.startswith("−")
    expect(page.locator("#drawing .was")).not_to_have_count(0)
    picture(page, "6-toile", "#just-seen")
    save(page)
    expect(page.locator("#just-seen li")).to_have_count(0)
    expect(kept(page, RIDES)).to_contain_text("1.2 cm")
    expect(kept(page, RIDES)).to_contain_text(str(datetime.date.today()))
    expect(page.locator("#changes")).to_be_hidden()
    expect(page.locator("#drawing .was")).to_have_count(0)
    with Book(desk.book) as book:
        seen = [(one.seen, one.amount) for one in book.corrections_of(1)]
    assert seen == [(RIDES, 1.2), (BACK, 0.3)]
    settled(page)
    whole = page.locator("#neck-picture .number").all_text_contents()
    page.reload()
    drawn(page)
    expect(page.locator("#found")).to_be_hidden()
    expect(page.locator("#holding li")).to_have_count(2)
    assert page.locator("#neck-picture .number").all_text_contents() == whole


def test_undo_and_withdrawing(page: Page, desk: Desk) -> None:
    shirt(page, desk)
    word(page, RIDES).click()
    page.keyboard.type("1.2")
    settled(page)
    page.locator("#undo").click()
    expect(amount(page, "Collar rides up")).to_have_value("")
    page.locator("#undo").click()
    expect(page.locator("#just-seen li")).to_have_count(0)
    expect(word(page, RIDES)).to_have_attribute("aria-pressed", "false")
    word(page, RIDES).click()
    save(page)
    page.locator("#undo").click()  # to undo what was kept is to withdraw it, in the next save
    expect(kept(page, RIDES)).to_contain_text("No longer applied once you save")
    expect(page.locator("#state")).to_have_text("not saved yet")
    page.get_by_role("button", name=f"Apply again: {RIDES}").click()
    expect(kept(page, RIDES)).to_contain_text("rises more by 0.70 cm")
    settled(page)
    expect(page.locator("#state")).to_have_text("saved")
    page.get_by_role("button", name=f"Withdraw: {RIDES}").click()
    settled(page)
    assert row(page, "Fall turning angle")[2].startswith("−")
    save(page)
    expect(page.locator("#holding li")).to_have_count(0)
    with Book(desk.book) as book:
        (one,) = book.corrections_of(1)
    assert not one.in_force
    page.locator("#undo").click()  # and what was withdrawn is said anew
    expect(page.locator("#just-seen li")).to_have_count(1)
    save(page)
    with Book(desk.book) as book:
        assert [one.in_force for one in book.corrections_of(1)] == [False, True]


def test_two_windows_on_one_clients_fittings(page: Page, desk: Desk) -> None:
    shirt(page, desk)
    word(page, BACK).click()
    save(page)
    with Book(desk.book) as book:
        book.add_order(1, "the other", {"unit": "cm"})
    other = page.context.new_page()
    other.goto(f"{desk.origin}/orders/2")
    word(other, "points kick out").click()
    save(other)
    page.get_by_role("button", name=f"Withdraw: {BACK}").click()
    word(page, RIDES).click()
    page.locator("#save").click()
    expect(page.locator("#state")).to_contain_text("another window changed what holds")
    with Book(desk.book) as book:
        assert [(one.seen, one.in_force) for one in book.corrections_of(1)] == [
            (BACK, True),
            ("points kick out", True),
        ]
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Reload", exact=True).click()
    expect(page.locator("#found")).to_contain_text("This is what you typed")
    expect(kept(page, BACK)).to_contain_text("No longer applied")
    expect(kept(page, "points kick out")).to_contain_text("smaller")
    expect(page.locator("#just-seen li")).to_have_count(1)
    save(page)
    with Book(desk.book) as book:
        holding = [one.seen for one in book.corrections_of(1) if one.in_force]
    assert holding == ["points kick out", RIDES]


def test_a_mistake_and_what_does_not_fit_the_order_are_said(page: Page, desk: Desk) -> None:
    shirt(page, desk)
    page.locator("input[name=kind][value=none]").check()
    expect(word(page, RIDES)).to_have_class(re.compile("idle"))
    word(page, RIDES).click()
    expect(page.locator("#just-seen .turns")).to_contain_text("this order has no collar")
    word(page, "front neck too deep").click()
    page.keyboard.type("9")
    field = amount(page, "Front neck too deep")
    expect(field).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#just-seen .hint:not(:empty)")).to_contain_text("0.05 to 3 cm")
    page.locator("#save").click()
    expect(page.locator("#state")).to_contain_text("Not saved: front neck too deep")
    field.fill("0.5")
    save(page)
    expect(page.locator("#holding li")).to_have_count(2)
    expect(kept(page, RIDES)).to_contain_text("no collar")


def test_by_keyboard_and_in_inches(page: Page, desk: Desk) -> None:
    shirt(page, desk, "in")
    page.get_by_label("Find the words").focus()
    page.keyboard.type("back neck st")
    expect(page.locator("#words-left")).to_have_text(re.compile(r"1 of \d\d"))
    page.keyboard.press("Enter")
    field = amount(page, "Stands away at the back neck")
    expect(field).to_be_focused()
    expect(field).to_have_attribute("placeholder", "1/8")
    page.keyboard.press("ArrowUp")
    expect(field).to_have_value("3/16")
    settled(page)
    page.keyboard.press("Control+s")
    expect(page.locator("#state")).to_have_text("saved")
    expect(page.locator("#toile-h")).to_be_focused()  # the field is gone, its place is not lost
    expect(kept(page, BACK)).to_contain_text("3/16 in")
    with Book(desk.book) as book:
        (one,) = book.corrections_of(1)
    assert one.amount == pytest.approx(2.54 * 3 / 16)


@pytest.mark.parametrize("width", [1440, 820, 420])
def test_no_state_has_a_fault_is_too_wide_or_hides_the_focus(
    page: Page, desk: Desk, width: int
) -> None:
    def well() -> None:
        settled(page)
        assert page.evaluate(HIDDEN) == ""
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        here = page.evaluate("window.scrollY")
        page.evaluate(STUCK, "static")  # what is scrolled half under them is no small target
        assert faults(page) == []
        page.evaluate(STUCK, "")
        page.evaluate("here => window.scrollTo(0, here)", here)

    page.set_viewport_size({"width": width, "height": 900})
    shirt(page, desk)
    for words in (RIDES, BACK, "points curl under"):
        word(page, words).click()
        settled(page)
        assert page.evaluate(HIDDEN) == ""
    page.locator("#changes-edges summary").click()
    well()
    amount(page, "Points curl under").fill("half")
    well()
    amount(page, "Points curl under").fill("")
    save(page)
    page.get_by_role("button", name=f"Withdraw: {RIDES}").click()
    well()
    page.locator("input[name=kind][value=flat]").check()
    page.get_by_label("Find the words").fill("collar")
    well()
    for _ in range(8):
        page.keyboard.press("Tab")
        assert page.evaluate(HIDDEN) == ""
    save(page)
    page.locator(".whose a").click()
    expect(page.get_by_role("heading", name="Seen at fittings")).to_be_visible()
    assert faults(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
