"""What was seen at fittings, without a browser: said, tried, kept with her, withdrawn, and never
changed once it is in the book."""

from __future__ import annotations

import datetime
import tomllib
from math import radians
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from drafting.units import CM_PER_INCH
from garment.toile import fitting_words
from tests.workroom.desk.conftest import begin, client_of, content_of, full, save
from workroom.book.book import Book
from workroom.desk.preview import look_at

TODAY = datetime.date.today()
DAY = "2026-03-20"
RIDES = {"date": DAY, "seen": "collar rides up"}
STANDS = {"date": DAY, "seen": "stands away at the back neck", "amount": 0.5}


def rows_of(client: TestClient, order: int) -> list[dict[str, Any]]:
    return list(content_of(client, order)["content"]["toile"])


def card_of(client: TestClient, order: int) -> dict[str, Any]:
    return tomllib.loads(client.get(f"/orders/{order}/card.toml").text)


def look(**more: Any) -> dict[str, Any]:
    return dict(look_at(full(**more)).told)


def numbers(told: dict[str, Any]) -> dict[str, str]:
    return {row["name"]: row["after"] for row in told["compared"]["numbers"]}


# ---- kept with her ------------------------------------------------------------------------


def test_what_was_seen_is_kept_with_its_day_and_holds_for_all_her_orders(
    client: TestClient, book: Path
) -> None:
    order = begin(client)
    answer = save(client, order, full(toile=[RIDES, STANDS])).json()
    with Book(book) as opened:
        found = opened.corrections_of(1)
    usual = fitting_words().seen["collar rides up"].usual
    assert [(one.date.isoformat(), one.seen, one.amount) for one in found] == [
        (DAY, "collar rides up", usual),  # none was given
        (DAY, "stands away at the back neck", 0.5),
    ]
    assert all(one.in_force for one in found)
    assert answer["fittings"] == rows_of(client, order)
    assert [one["id"] for one in answer["fittings"]] == [one.id for one in found]
    client.post("/clients/1/orders")
    assert rows_of(client, 2) == rows_of(client, order)
    assert len(card_of(client, 2)["toile"]) == 2
    page = client.get("/clients/1").text
    assert "collar rides up" in page
    assert "holds" in page


def test_inches_are_kept_as_centimetres(client: TestClient, book: Path) -> None:
    order = begin(client, unit="in")
    content = {"unit": "in", "date": DAY, "toile": [{**RIDES, "amount": "1/4"}]}
    assert save(client, order, content).status_code == 200
    with Book(book) as opened:
        (one,) = opened.corrections_of(1)
    assert one.amount == pytest.approx(CM_PER_INCH / 4)
    again = content_of(client, order)["content"]
    assert save(client, order, again, 2).status_code == 200  # what the page shows is what it has


def test_what_is_withdrawn_stays_in_the_book_with_the_day(client: TestClient, book: Path) -> None:
    order = begin(client)
    (row,) = save(client, order, full(toile=[RIDES])).json()["fittings"]
    answer = save(client, order, full(toile=[{**row, "withdrawn": True}]), 2)
    assert answer.json()["fittings"] == []
    with Book(book) as opened:
        (one,) = opened.corrections_of(1)
    assert (one.in_force, one.withdrawn, one.seen) == (False, TODAY, "collar rides up")
    assert "toile" not in card_of(client, order)
    assert f"withdrawn {TODAY}" in client.get("/clients/1").text


def test_a_page_that_says_nothing_of_fittings_leaves_them_alone(
    client: TestClient, book: Path
) -> None:
    order = begin(client)
    save(client, order, full(toile=[RIDES]))
    assert save(client, order, full(order="other"), 2).status_code == 200
    assert len(rows_of(client, order)) == 1


@pytest.mark.parametrize(
    "wrong",
    [{"amount": "0.9 cm"}, {"seen": "collar too high"}, {"date": "2026-03-21"}, {"amount": []}],
)
def test_what_lies_in_the_book_is_never_changed(
    client: TestClient, book: Path, wrong: dict[str, Any]
) -> None:
    order = begin(client)
    (row,) = save(client, order, full(toile=[RIDES])).json()["fittings"]
    answer = save(client, order, full(order="other", toile=[{**row, **wrong}]), 2)
    assert answer.status_code == 422
    with Book(book) as opened:
        assert opened.order(order).name == "Blouse"
    assert rows_of(client, order) == [row]


def test_two_windows_on_her_fittings(client: TestClient, book: Path) -> None:
    """One adds to the corrections on one order, one withdraws on another: the second is refused,
    whole, however old its order is."""
    order = begin(client)
    (row,) = save(client, order, full(toile=[RIDES])).json()["fittings"]
    client.post("/clients/1/orders")
    assert save(client, 2, {"date": DAY, "toile": [row, STANDS]}).status_code == 200
    for rows in ([{**row, "withdrawn": True}], [row], []):
        answer = save(client, order, full(order="other", toile=rows), 2)
        assert answer.status_code == 409
        assert "another window changed what holds" in answer.json()["said"][0]
    with Book(book) as opened:
        assert [one.in_force for one in opened.corrections_of(1)] == [True, True]
        assert opened.order(order).name == "Blouse"


def test_another_clients_corrections_are_out_of_reach(client: TestClient, book: Path) -> None:
    hers = begin(client)
    (row,) = save(client, hers, full(toile=[RIDES])).json()["fittings"]
    other = begin(client, "Eve")
    answer = save(client, other, full(toile=[{**row, "withdrawn": True}]))
    assert answer.status_code == 409
    assert rows_of(client, hers) == [row]


def test_all_that_is_wrong_is_told_and_nothing_is_kept(client: TestClient, book: Path) -> None:
    order = begin(client)
    rows = [
        {"date": DAY, "seen": "collar rids up"},
        {"date": DAY, "seen": "collar rides up", "amount": 9},
        {"date": "soon", "seen": "front neck too deep"},
        {"seen": "front neck too high"},
        STANDS,
    ]
    answer = save(client, order, full(toile=rows))
    assert answer.status_code == 422
    said = answer.json()["said"]
    assert len(said) == 4
    assert "collar rides up?" in said[0]
    assert "0.05 to 2 cm" in said[1]
    with Book(book) as opened:
        assert opened.corrections_of(1) == ()
        assert opened.sets_of(1) == ()


def test_more_than_a_card_holds_is_refused(client: TestClient) -> None:
    order = begin(client)
    assert save(client, order, full(toile=[RIDES] * 61)).status_code == 422
    assert save(client, order, full(toile=[RIDES] * 60)).status_code == 200
    rows = rows_of(client, order)
    assert save(client, order, full(toile=[*rows, STANDS]), 2).status_code == 422
    gone = {**rows[0], "withdrawn": True}
    assert save(client, order, full(toile=[gone, *rows[1:], STANDS]), 2).status_code == 200


def test_words_of_another_time_are_shown_and_can_be_withdrawn(book: Path) -> None:
    client = client_of(book)
    order = begin(client)
    with Book(book) as opened:
        opened.add_correction(1, TODAY, "sits <b>oddly</b>", 0.7)
    (row,) = rows_of(client, order)
    told = look(toile=[row, STANDS])
    assert told["fittings"]["rows"][0] is None
    assert told["fittings"]["rows"][1]["said"].startswith("both side neck points move in")
    assert "<b>oddly" not in client.get("/clients/1").text
    assert save(client, order, full(toile=[{**row, "withdrawn": True}])).status_code == 200
    assert rows_of(client, order) == []


def test_what_was_said_and_not_saved_waits_in_the_book(client: TestClient) -> None:
    order = begin(client)
    (row,) = save(client, order, full(toile=[RIDES])).json()["fittings"]
    typed = full(toile=[{**row, "withdrawn": True}, {**STANDS, "amount": "half typ"}])
    client.post(f"/orders/{order}/typing", json={"content": typed, "version": 2})
    assert content_of(client, order)["typed"]["content"]["toile"] == typed["toile"]
    assert rows_of(client, order) == [row]


# ---- before and after ---------------------------------------------------------------------


def test_before_and_after_are_the_two_drafts() -> None:
    """Each side is what a look at that draft alone shows."""
    before, after = look(), look(toile=[STANDS])
    shown = {row["name"]: (row["before"], row["after"]) for row in after["compared"]["numbers"]}
    assert shown["whole neckline"] == (before["neck"]["whole_said"], after["neck"]["whole_said"])
    assert shown["whole neckline"][0] != shown["whole neckline"][1]
    collars = [dict(one["numbers"]) for one in (before, after)]
    assert shown["neck seam"] == (collars[0]["neck seam"], collars[1]["neck seam"])
    drafts = [look_at(full(**more)).order for more in ({}, {"toile": [STANDS]})]
    exact = [order.collar.numbers for order in drafts if order and order.collar]
    for name, was in exact[0].items():  # nothing that can be seen is left out, nothing else told
        least = radians(0.05) if name.endswith("angle") else 0.005
        assert (name.replace("_", " ") in shown) == (abs(exact[1][name] - was) >= least), name
    edges = {row["name"]: (row["before"], row["after"]) for row in after["compared"]["edges"]}
    lengths = [
        {
            edge["name"]: edge["length"]
            for piece in one["pieces"]
            if piece["title"] == "Back bodice"
            for edge in piece["edges"]
        }
        for one in (before, after)
    ]
    assert edges["neckline, Back bodice"] == (lengths[0]["neckline"], lengths[1]["neckline"])


def test_a_check_that_fails_after_it_stands_among_what_changed() -> None:
    told = look(toile=[{**STANDS, "amount": 1}, {"date": DAY, "seen": "front neck too deep"}])
    were = {(one["name"], one["where"]): one["verdict"] for one in look()["checks"]}
    now = {(one["name"], one["where"]): one for one in told["checks"]}
    flipped = {
        f"{name} ({where}), wanted {one['wanted']}" if where else f"{name}, wanted {one['wanted']}"
        for (name, where), one in now.items()
        if one["verdict"] != were.get((name, where)) and one["verdict"] != "pass"
    }
    assert flipped
    assert flipped <= {row["name"] for row in told["compared"]["checks"]}


def test_what_holds_already_is_before_and_after_when_nothing_is_new() -> None:
    kept = {"id": 7, **STANDS, "amount": "0.5 cm"}
    assert look(toile=[kept])["compared"] is None
    assert look(toile=[kept])["neck"] == look(toile=[STANDS])["neck"]
    gone = look(toile=[{**kept, "withdrawn": True}])
    assert gone["neck"] == look()["neck"]
    assert numbers(gone)["whole neckline"] == look()["neck"]["whole_said"]


def test_the_drawing_shows_only_what_moved_as_it_was() -> None:
    assert "class='was'" not in look()["svg"]
    svg = look(toile=[RIDES])["svg"]
    assert svg.count("class='was'") == 2  # upper and under collar; the stand and the bodice stay
    for part in svg.split("<g ")[1:]:
        assert ("class='was'" in part) == ("collar</title>" in part)


def test_what_does_not_fit_the_order_is_said_and_kept_all_the_same(client: TestClient) -> None:
    told = look(collar={"kind": "flat"}, toile=[{"date": DAY, "seen": "collar too high"}])
    (row,) = told["fittings"]["rows"]
    assert row["idle"]
    assert "the flat collar has nothing to change for it" in row["said"]
    assert "collar too high" in told["fittings"]["idle"]
    assert "collar rides up" not in told["fittings"]["idle"]
    assert told["compared"]["numbers"] == told["compared"]["edges"] == []
    bare = look(collar={}, toile=[RIDES])
    assert "this order has no collar" in bare["fittings"]["rows"][0]["said"]
    order = begin(client)
    assert save(client, order, full(collar={}, toile=[RIDES])).status_code == 200
    assert len(rows_of(client, order)) == 1


def test_a_mistake_is_told_at_its_own_row() -> None:
    rows = [
        {"id": 3, "date": DAY, "seen": "of another time", "amount": "1 cm"},
        {"id": 4, **RIDES, "amount": "0.7 cm", "withdrawn": True},
        {**STANDS, "amount": "half"},
    ]
    (problem,) = look(toile=rows)["problems"]
    assert problem["key"] == "toile.2.amount"


def test_fittings_that_go_too_far_are_said_with_what_each_turns() -> None:
    told = look(toile=[{**RIDES, "amount": 2}, {**RIDES, "amount": 2}])
    (problem,) = told["problems"]
    assert problem["key"] == "toile"
    assert "too far" in problem["said"]
    assert all("2.00 cm" in row["said"] for row in told["fittings"]["rows"])
    kept = {"id": 1, **RIDES, "amount": "2 cm"}
    after = look(toile=[kept, {**kept, "id": 2, "withdrawn": True}])
    assert after["compared"]["refused"].startswith("the fittings go too far")
