"""The desk in a real browser, as a maker uses it.

With ``NECKARC_PICTURES`` naming a folder, the newcomer's path leaves its pictures there.
"""

from __future__ import annotations

import io
import os
import re
import time
import zipfile
from pathlib import Path

import ezdxf
import pypdfium2
import pytest
from ezdxf import recover
from playwright.sync_api import Browser, Page, Route, expect

from collars.registry import COLLARS
from tests.workroom.desk.conftest import PATIENCE, Desk, demo_measurements
from workroom.book.book import Book

expect.set_options(timeout=PATIENCE)
#: What has the focus, if something lies on it.
HIDDEN = """() => {
  const held = document.activeElement;
  const box = held.getBoundingClientRect();
  const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
  const seen = top && (top === held || held.contains(top) || top.contains(held));
  return seen ? '' : held.id || held.outerHTML;
}"""
NEEDED = ("bust_girth", "waist_girth", "back_waist_length", "neck_base_girth")


def begin(page: Page, desk: Desk, name: str = "Marta Ilves", unit: str = "cm") -> None:
    """From the desk's address to an empty fitting."""
    page.goto(desk.address)
    page.get_by_label("Her name").fill(name)
    page.get_by_label("centimetres" if unit == "cm" else "inches").check()
    page.get_by_role("button", name="Begin a fitting").click()
    expect(page.locator("#verdict")).to_contain_text("still to take")


def measure(page: Page, keys: tuple[str, ...] | None = None) -> None:
    """Type the demo client's measurements."""
    for key, value in demo_measurements().items():
        if keys is None or key in keys:
            page.locator(f"#f-measurements-{key}").fill(str(value))


def drawn(page: Page) -> None:
    """Wait until what stands on the page is drawn."""
    expect(page.locator("#drawing:not(.stale) svg .edge").first).to_be_attached()


def settled(page: Page) -> None:
    """Wait until the desk has answered all that was typed."""
    was, since = page.locator("#fitting").get_attribute("data-redrawn"), time.monotonic()
    while time.monotonic() - since < 0.4:
        page.wait_for_timeout(50)
        now = page.locator("#fitting").get_attribute("data-redrawn")
        if now != was or page.locator("#fitting").get_attribute("aria-busy") == "true":
            was, since = now, time.monotonic()


def view_box(page: Page) -> list[float]:
    return [
        float(part) for part in str(page.locator("#drawing svg").get_attribute("viewBox")).split()
    ]


def save(page: Page) -> None:
    page.locator("#save").click()
    expect(page.locator("#state")).to_have_text("saved")


def picture(page: Page, name: str, of: str = "") -> None:
    folder = os.environ.get("NECKARC_PICTURES")
    if folder:
        if page.locator("#fitting").count():
            settled(page)
        for place in page.locator(".where code:first-child").all():
            place.evaluate("code => { code.textContent = '~/.local/share/neckarc/clients.db'; }")
        if of:
            page.locator(of).evaluate("part => part.scrollIntoView()")
        page.screenshot(path=Path(folder) / f"{name}.png", animations="disabled")


def test_a_newcomers_path_from_an_empty_book_to_papers(page: Page, desk: Desk) -> None:
    page.goto(desk.address)
    expect(page.get_by_text("Nobody yet")).to_be_visible()
    picture(page, "1-who")
    begin(page, desk)
    page.locator("#f-measurements-bust_girth").focus()
    expect(page.locator("#how")).to_contain_text("over both bust points")
    expect(page.locator("#figure svg .tape.on[data-key=bust_girth]")).to_have_count(2)
    picture(page, "2-measures", "#measures")
    measure(page, NEEDED)
    drawn(page)
    estimate = page.locator("#f-measurements-stature")
    expect(estimate).to_have_attribute("placeholder", re.compile(r"≈ \d+\.\d cm"))
    measure(page)
    page.locator("input[name=kind][value='two-piece shirt']").check()
    expect(page.locator("#drawing .name", has_text="Collar stand")).to_be_attached()
    picture(page, "3-collar", "#collar")
    page.get_by_role("button", name="Save and make the papers").click()
    expect(page.locator("#papers-state")).to_contain_text("papers are ready")
    expect(page.locator("#state")).to_have_text("saved")
    picture(page, "4-papers", "#papers")

    def got(name: str) -> bytes:
        with page.expect_download() as download:
            page.locator("#files a", has_text=name).first.click()
        return Path(download.value.path()).read_bytes()

    document, auditor = recover.read(io.BytesIO(got("The pieces for any CAD")))
    assert not auditor.has_errors
    assert len(document.modelspace()) > 20
    assert document.units == ezdxf.units.MM
    report = pypdfium2.PdfDocument(got("Report for her file"))
    words = "".join(p.get_textpage().get_text_range() for p in report)
    report.close()
    assert "Marta Ilves" in words
    with zipfile.ZipFile(io.BytesIO(got("All papers in one folder"))) as archive:
        assert archive.testzip() is None
        listed = page.locator("#files li").count() - 1
        assert len(archive.namelist()) == listed
    with page.expect_download() as download:
        page.get_by_role("link", name="The client card").click()
    assert 'client = "Marta Ilves"' in Path(download.value.path()).read_text("utf-8")


def test_a_correction_by_button_and_undo(page: Page, desk: Desk) -> None:
    begin(page, desk)
    measure(page, NEEDED)
    page.locator("#f-garment-method").select_option("bust-proportional")
    drawn(page)
    both = page.locator("[data-correction=both]")
    expect(both).to_have_attribute("aria-pressed", "true")
    front = page.locator("[data-correction=front]")
    settled(page)
    neckline = "#drawing .edge[data-name=neckline][data-piece='Front bodice']"
    before = page.locator(neckline).get_attribute("data-length")
    front.click()
    expect(front).to_have_attribute("aria-pressed", "true")
    expect(both).to_have_attribute("aria-pressed", "false")
    expect(page.locator("#f-neckline-fit")).to_have_value("front")
    settled(page)
    assert page.locator(neckline).get_attribute("data-length") != before
    page.locator("#undo").click()
    expect(both).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#f-neckline-fit")).to_have_value("both")
    settled(page)
    assert page.locator(neckline).get_attribute("data-length") == before
    for _ in range(12):  # typing a number is one thing to undo, not one for each key
        if page.locator("#undo").is_enabled():
            page.locator("#undo").click()
    expect(page.locator("#f-measurements-bust_girth")).to_have_value("")
    expect(page.locator("#undo")).to_be_disabled()


def test_a_slip_is_caught_as_it_is_typed(page: Page, desk: Desk) -> None:
    begin(page, desk)
    bust = page.locator("#f-measurements-bust_girth")
    bust.fill("37")
    hint = page.locator("#f-measurements-bust_girth-hint")
    expect(hint).to_contain_text("Is it in inches?")
    expect(bust).to_have_attribute("aria-invalid", "true")
    bust.fill("94")
    expect(hint).to_be_empty()
    page.locator("#f-measurements-waist_girth").fill("7.75")
    waist = page.locator("#f-measurements-waist_girth-hint")
    expect(waist).to_contain_text("Is the decimal point right?")
    page.locator("#f-measurements-waist_girth").fill("122")
    expect(waist).to_contain_text("?")
    expect(page.locator("#f-measurements-waist_girth")).not_to_have_attribute(
        "aria-invalid", "true"
    )
    page.locator("#f-measurements-waist_girth").fill("seventy")
    expect(waist).to_contain_text("✗")


def test_a_second_client_a_restart_and_all_is_there(page: Page, desk: Desk) -> None:
    begin(page, desk, "Marta Ilves")
    measure(page)
    page.get_by_label("Order").fill("Blouse 12")
    save(page)
    page.get_by_role("link", name="Neckarc").click()
    page.get_by_label("Her name").fill("Zoë Ø'Hara")
    page.get_by_role("button", name="Begin a fitting").click()
    measure(page, NEEDED)
    page.locator("input[name=kind][value=flat]").check()
    page.locator("#f-collar-width").fill("7")
    save(page)
    desk.stop()
    again = Desk(desk.book, port=int(desk.origin.rsplit(":", 1)[1]))
    try:
        page.goto(again.address)
        expect(page.locator("#people > li")).to_have_count(2)
        page.get_by_role("link", name="Blouse 12").click()
        for key, value in demo_measurements().items():
            field = page.locator(f"#f-measurements-{key}")
            assert float(field.input_value()) == value, key
        page.go_back()
        page.get_by_role("link", name="Order 2").click()
        expect(page.locator("#f-collar-width")).to_have_value("7")
        expect(page.locator("input[value=flat]")).to_be_checked()
        drawn(page)
        page.get_by_role("link", name="Zoë Ø'Hara").click()
        expect(page.get_by_role("heading", level=1)).to_have_text("Zoë Ø'Hara")
        page.get_by_label("Yes, delete her").check()
        page.get_by_role("button", name="Erase this client").click()
        expect(page.get_by_role("status")).to_contain_text("Deleted Zoë Ø'Hara")
        for file in desk.book.parent.iterdir():
            assert "Ø'Hara".encode() not in file.read_bytes()
    finally:
        again.stop()


def test_by_keyboard_alone(page: Page, desk: Desk) -> None:
    page.goto(desk.address)
    press = page.keyboard.press

    def on() -> str:
        return str(page.evaluate("document.activeElement.id"))

    press("Tab")
    press("Enter")  # skip to the content
    press("Tab")
    assert on() == "name"
    page.keyboard.type("Marta Ilves")
    press("Enter")
    expect(page.locator("#verdict")).to_contain_text("still to take")
    for _ in range(40):
        if on() == "f-measurements-bust_girth":
            break
        press("Tab")
    assert on() == "f-measurements-bust_girth"
    for key in NEEDED:
        assert on() == f"f-measurements-{key}"
        page.keyboard.type(str(demo_measurements()[key]))
        press("Enter")
    drawn(page)
    press("Shift+Enter")
    assert on() == "f-measurements-neck_base_girth"
    field = page.locator("#f-measurements-neck_base_girth")
    press("ArrowUp")
    expect(field).to_have_value("37.5")
    press("ArrowDown")
    press("ArrowDown")
    expect(field).to_have_value("37.3")
    press("Tab")
    press("ArrowUp")  # one that was not taken steps from its estimate
    assert re.fullmatch(r"\d+(\.\d)?", page.locator("#f-measurements-stature").input_value())
    settled(page)
    press("Control+s")
    expect(page.locator("#state")).to_have_text("saved")
    page.locator("#drawing").focus()
    press(".")
    expect(page.locator("#edge")).to_contain_text("Back bodice")
    before = view_box(page)
    press("+")
    press("ArrowRight")
    assert view_box(page) != before
    press("0")
    assert view_box(page) == before


def test_the_focus_is_always_to_be_seen(page: Page, desk: Desk) -> None:
    """Tabbing through, what has the focus is never under the sticky parts."""
    for width, height in ((1440, 900), (820, 1180), (420, 900)):
        page.set_viewport_size({"width": width, "height": height})
        begin(page, desk)
        measure(page, NEEDED)
        drawn(page)
        page.locator("#f-measurements-bust_girth").focus()
        for _ in range(30):
            page.keyboard.press("Tab")
            hidden = page.evaluate(HIDDEN)
            assert hidden == "", f"{hidden} is hidden at {width}"


@pytest.mark.parametrize("width", [320, 420, 820, 1180])
def test_nothing_is_wider_than_the_screen(page: Page, desk: Desk, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})

    def fits() -> None:
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{page.url} is {wide} wide"

    page.goto(desk.address)
    fits()
    begin(page, desk, "Maximiliane-Wilhelmine von Hohenlohe-Schillingsfürst-und-noch-viel-mehr")
    fits()
    measure(page)
    page.locator("input[name=kind][value=notched]").check()
    drawn(page)
    for summary in page.locator("details:not([open]) > summary").all():
        if summary.is_visible():
            summary.click()
    settled(page)
    fits()
    page.locator("#f-measurements-bust_girth").fill("12345678901234567890")
    settled(page)
    fits()
    page.locator("#f-measurements-bust_girth").fill("94")
    save(page)
    page.locator(".whose a").click()
    page.wait_for_url("**/clients/*")
    fits()


def test_in_inches(page: Page, desk: Desk) -> None:
    begin(page, desk, "Ann", "in")
    bust = page.locator("#f-measurements-bust_girth")
    bust.fill("37")
    bust.press("ArrowUp")
    expect(bust).to_have_value("37 1/16")
    bust.press("ArrowDown")
    bust.press("ArrowDown")
    expect(bust).to_have_value("36 15/16")
    page.locator("#f-measurements-waist_girth").fill("30 1/2")
    page.locator("#f-measurements-back_waist_length").fill("15 9/16")
    page.locator("#f-measurements-neck_base_girth").fill("14,75")
    drawn(page)
    lengths = page.locator("#drawing .edge").evaluate_all("all => all.map(e => e.dataset.length)")
    assert all(re.fullmatch(r"[\d /]+ in|[\d.]+ in", one) for one in lengths), lengths
    expect(page.locator("#neck-picture")).to_contain_text("in")
    save(page)
    page.reload()
    expect(bust).to_have_value("36 15/16")
    page.get_by_label("Tape in").select_option("cm")
    expect(page.locator("#turned")).to_contain_text("now read as centimetres")
    page.locator("#turned button").click()
    expect(bust).to_have_value("93.8")
    drawn(page)
    page.locator("#undo").click()
    page.locator("#undo").click()
    expect(bust).to_have_value("36 15/16")
    expect(page.get_by_label("Tape in")).to_have_value("in")


def test_what_is_typed_outlives_a_reload_and_lies_in_the_book_alone(page: Page, desk: Desk) -> None:
    begin(page, desk)
    page.locator("#f-measurements-bust_girth").fill("94.3")
    with page.expect_response(lambda answer: answer.url.endswith("/typing")):
        page.locator("#f-measurements-waist_girth").fill("77")
    warned: list[str] = []
    page.on("dialog", lambda dialog: (warned.append(dialog.type), dialog.accept()))
    page.reload()
    assert warned == ["beforeunload"]
    expect(page.locator("#found")).to_contain_text("This is what you typed")
    expect(page.locator("#f-measurements-bust_girth")).to_have_value("94.3")
    expect(page.locator("#state")).to_have_text("not saved yet")
    kept = page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]")
    assert kept == [0, 0, ""]
    with Book(desk.book) as book:
        assert book.sets_of(1) == ()
    page.get_by_role("button", name="Go back to the saved order").click()
    expect(page.locator("#f-measurements-bust_girth")).to_have_value("")
    page.get_by_role("button", name="Go back to what I typed").click()
    expect(page.locator("#f-measurements-bust_girth")).to_have_value("94.3")
    save(page)
    warned.clear()
    page.reload()
    assert warned == []
    expect(page.locator("#found")).to_be_hidden()


def test_two_windows_on_one_order(page: Page, desk: Desk, browser: Browser) -> None:
    begin(page, desk)
    other = page.context.new_page()
    other.goto(page.url)
    page.get_by_label("Order").fill("the first")
    save(page)
    other.get_by_label("Order").fill("the second")
    other.locator("#save").click()
    expect(other.locator("#state")).to_contain_text("another window saved this order")
    expect(other.locator("#found")).to_contain_text("What you typed here is kept")
    other.on("dialog", lambda dialog: dialog.accept())
    other.get_by_role("button", name="Reload", exact=True).click()
    expect(other.locator("#found")).to_contain_text("saved in another window")
    expect(other.get_by_label("Order")).to_have_value("the first")
    other.get_by_role("button", name="Show what I typed").click()
    expect(other.get_by_label("Order")).to_have_value("the second")
    save(other)
    with Book(desk.book) as book:
        assert book.order(1).name == "the second"


def test_a_late_drawing_says_nothing_over_a_refused_save(page: Page, desk: Desk) -> None:
    begin(page, desk)
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_label("Order").fill("the second")
    save(other)
    held: list[Route] = []
    late = True
    page.route("**/look", lambda route: held.append(route) if late else route.continue_())
    page.get_by_label("Order").fill("the first")
    page.locator("#save").click()
    refusal = "another window saved this order"
    expect(page.locator("#state")).to_contain_text(refusal)
    assert held
    late = False
    for drawing in held:
        drawing.continue_()
    settled(page)
    expect(page.locator("#state")).to_contain_text(refusal)
    page.get_by_label("Order").fill("the third")
    expect(page.locator("#state")).to_have_text("not saved yet")


def test_edges_tell_what_they_are_sewn_to_and_failed_checks_point(page: Page, desk: Desk) -> None:
    begin(page, desk)
    measure(page)
    page.locator("input[name=kind][value='two-piece shirt']").check()
    expect(page.locator("#drawing .name", has_text="Collar stand")).to_be_attached()
    page.locator("#drawing .hit[data-piece='Upper collar'][data-name='stand seam']").hover(
        force=True, position={"x": 4, "y": 4}
    )
    page.locator("#drawing .hit[data-piece='Upper collar'][data-name='stand seam']").dispatch_event(
        "pointerover", {"bubbles": True}
    )
    expect(page.locator("#edge")).to_contain_text("Sewn to Collar stand, stand seam")
    expect(page.locator("#drawing .partner")).not_to_have_count(0)
    page.locator("#f-collar-fall_back").fill("2")
    page.locator("#f-collar-stand_back").fill("1.5")
    expect(page.locator("#stamp")).to_contain_text("NOT FOR CUTTING")
    expect(page.locator("#verdict")).to_contain_text("failed")
    expect(page.locator("#papers-warning")).to_be_visible()
    expect(page.locator("#drawing .pointed")).not_to_have_count(0)
    whole = view_box(page)
    page.locator("#check-list .fail button").first.click()
    assert view_box(page) != whole
    expect(page.locator("#drawing .looked-at")).not_to_have_count(0)
    picture(page, "5-failed")
    page.locator("#words summary").click()
    expect(page.locator("#pieces")).to_contain_text("sewn to neckline of Back bodice")


def test_every_collar_is_drawn_from_its_picture(page: Page, desk: Desk) -> None:
    begin(page, desk)
    measure(page)
    drawn(page)
    for kind in COLLARS:
        page.locator(f"input[name=kind][value='{kind}']").check()
        settled(page)
        expect(page.locator("#problems")).to_be_hidden()
        drawn(page)
        assert page.locator("#collar-fields .field").count() > 0
        for slider in page.locator("#collar-fields input[type=range]").all():
            low, value, high = (
                float(slider.evaluate(f"e => e.{part}")) for part in ("min", "value", "max")
            )
            assert low <= value <= high
        first = page.locator("#collar-fields .slider").first
        field = first.locator("input[data-number]")
        first.locator("input[type=range]").press("ArrowRight")
        expect(field).not_to_have_value("")
        settled(page)
