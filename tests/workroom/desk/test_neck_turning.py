"""The collar on the neck in a real browser: opened, turned by hand, key and button, and read."""

from __future__ import annotations

from playwright.sync_api import Page, expect

from tests.workroom.desk.conftest import Desk
from tests.workroom.desk.test_browser import begin, measure, picture, settled


def opened(page: Page, desk: Desk) -> None:
    begin(page, desk)
    measure(page)
    page.locator("input[name=kind][value='two-piece shirt']").check()
    settled(page)
    page.locator("#on-neck > summary").click()
    expect(page.locator("#on-neck-picture svg")).to_be_visible()


def test_it_is_turned_by_hand_key_and_button_and_says_from_where(page: Page, desk: Desk) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.emulate_media(reduced_motion="reduce")
    begin(page, desk)
    measure(page)
    page.locator("input[name=kind][value='two-piece shirt']").check()
    settled(page)
    assert not any(url.endswith("/neck") for url in asked)  # closed, it costs nothing
    page.locator("#on-neck > summary").click()
    place, said = page.locator("#on-neck-picture"), page.locator("#on-neck-from")
    expect(place.locator("svg")).to_be_visible()
    assert sum(url.endswith("/neck") for url in asked) == 1
    expect(said).to_contain_text("her front and left")
    picture(page, "7-on-the-neck", "#on-neck")
    page.get_by_role("button", name="Back", exact=True).click()
    expect(said).to_contain_text("her back,")
    expect(place.locator(".front")).to_have_count(0)
    page.get_by_role("button", name="Front", exact=True).click()
    expect(place.locator(".front")).to_have_count(1)
    place.focus()
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    expect(said).to_contain_text("her front and left")
    page.keyboard.press("ArrowUp")
    expect(said).to_contain_text("20° above")
    box = place.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 100, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 100, steps=4)
    page.mouse.up()
    expect(said).to_contain_text("her front,")
    assert place.locator(".sign").count() > 0  # strained cells carry signs
    expect(page.locator("#on-neck-said")).to_contain_text("off at centre front")


def test_what_is_typed_while_it_is_open_is_shown_anew(page: Page, desk: Desk) -> None:
    opened(page, desk)
    words = page.locator("#on-neck-said")
    before = words.inner_text()
    page.locator("#f-collar-stand_back").fill("4")
    expect(words).not_to_have_text(before)
    page.locator("input[name=kind][value='flat']").check()
    expect(page.locator("#on-neck-why")).to_contain_text("Only collars with a stand")
    expect(page.locator("#on-neck-shown")).to_be_hidden()


def test_nothing_moves_by_itself_for_who_wants_no_motion(page: Page, desk: Desk) -> None:
    page.emulate_media(reduced_motion="reduce")
    opened(page, desk)
    drawings = page.evaluate(
        """async () => {
          const place = document.getElementById('on-neck-picture');
          let count = 0;
          new MutationObserver(() => { count += 1; }).observe(place, {childList: true});
          document.querySelector('.around [data-turn="180"]').click();
          await new Promise((done) => setTimeout(done, 500));
          return count;
        }"""
    )
    assert drawings == 1
