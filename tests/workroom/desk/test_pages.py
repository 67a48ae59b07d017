"""The desk's pages without a browser: what they do to the book, and whom they turn away."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from urllib.parse import unquote

import pytest
from starlette.testclient import TestClient

from drafting.library import data_folder
from tests.workroom.desk.conftest import (
    HOST,
    TOKEN,
    begin,
    client_of,
    content_of,
    demo_measurements,
    full,
    save,
)
from workroom.book.book import Book
from workroom.card.card import read_card_text
from workroom.desk import server
from workroom.desk.guard import MOST_BYTES, cookie_name

DEMO = (data_folder() / "clients" / "demo.toml").read_bytes()


def test_from_an_empty_book_to_a_saved_order(client: TestClient, book: Path) -> None:
    assert "Nobody yet" in client.get("/").text
    order = begin(client, "Marta <b>Ilves</b>")
    assert save(client, order, full()).json() == {"version": 2, "fittings": []}
    with Book(book) as opened:
        saved = opened.order(order)
        (one,) = opened.sets_of(saved.client)
        assert one.taken == demo_measurements()
        assert saved.measured == one.id
    front = client.get("/").text
    assert "Marta &lt;b&gt;Ilves&lt;/b&gt;" in front
    assert "<b>Ilves" not in front


def test_a_change_of_measurements_is_a_new_set_and_any_other_change_is_none(
    client: TestClient, book: Path
) -> None:
    order = begin(client)
    save(client, order, full())
    save(client, order, full(collar={"kind": "band"}), 2)
    with Book(book) as opened:
        assert len(opened.sets_of(opened.order(order).client)) == 1
    save(client, order, full(measurements={**demo_measurements(), "bust_girth": 96}), 3)
    with Book(book) as opened:
        new, old = opened.sets_of(opened.order(order).client)
        assert (old.taken["bust_girth"], new.taken["bust_girth"]) == (94.0, 96)


def test_an_order_in_another_unit_than_its_set_is_not_taken_anew_by_saving(
    client: TestClient, book: Path
) -> None:
    order = begin(client)
    save(client, order, full())
    with Book(book) as opened:
        was = opened.order(order)
        opened.change_order(was, name="", asked={"unit": "in"}, measured=was.measured)
    content = content_of(client, order)["content"]
    content["collar"] = {"kind": "band"}
    assert save(client, order, content, 3).status_code == 200
    with Book(book) as opened:
        assert len(opened.sets_of(opened.order(order).client)) == 1


def test_two_windows_on_one_order(client: TestClient, book: Path) -> None:
    order = begin(client)
    assert save(client, order, full(order="theirs")).status_code == 200
    answer = save(client, order, full(order="ours", measurements={"bust_girth": 90}))
    assert answer.status_code == 409
    assert "another window saved this order" in answer.json()["said"][0]
    with Book(book) as opened:
        saved = opened.order(order)
        assert saved.name == "theirs"
        assert len(opened.sets_of(saved.client)) == 1  # nothing of the refused save stayed


def test_two_windows_on_one_client(client: TestClient) -> None:
    begin(client)
    fields = {"name": "Anna", "notes": "", "version": "1"}
    assert client.post("/clients/1/change", data=fields).status_code == 200
    answer = client.post("/clients/1/change", data={**fields, "name": "Anja"})
    assert answer.status_code == 409
    assert "nothing was overwritten" in answer.text


def test_what_was_typed_and_not_saved_waits_in_the_book(client: TestClient, book: Path) -> None:
    order = begin(client)
    typed = full(order="half typ")
    path = f"/orders/{order}/typing"
    assert client.post(path, json={"content": typed, "version": 1}).status_code == 204
    assert content_of(client, order)["typed"] == {"version": 1, "content": typed}
    assert content_of(client, order)["content"]["measurements"] == {}  # the order is as it was
    save(client, order, full())
    assert content_of(client, order)["typed"] is None
    client.post(path, json={"content": typed, "version": 2})
    client.post(path, json={"content": {}, "version": 2})
    assert content_of(client, order)["typed"] is None
    client.post(path, json={"content": typed, "version": 2})
    client.post("/clients/1/erase", data={"sure": "yes"})
    for file in book.parent.iterdir():
        assert b"half typ" not in file.read_bytes()


def test_cards_come_in_and_go_out(client: TestClient) -> None:
    answer = client.post("/cards", files={"card": ("../../anna.toml", DEMO)})
    assert answer.status_code == 200
    card = client.get("/orders/1/card.toml")
    assert card.headers["content-disposition"] == 'attachment; filename="card.toml"'
    assert read_card_text(card.text, "a") == read_card_text(DEMO.decode(), "a")
    refused = client.post("/cards", files={"card": ("card.toml", b"\x89PNG\0")})
    assert refused.status_code == 422
    assert "not text" in refused.text


def test_papers_are_those_the_workroom_writes_and_marked_when_a_check_fails(
    client: TestClient,
) -> None:
    order = begin(client, "Zoë Ærøe /../")
    save(client, order, full(collar={"kind": "two-piece shirt", "stand_back": 1.5, "fall_back": 2}))
    told = client.get(f"/orders/{order}/papers").json()
    assert "NOT FOR CUTTING" in told["stamp"]
    names = {one["name"] for one in told["papers"]}
    zipped = client.get(f"/orders/{order}/papers.zip")
    with zipfile.ZipFile(io.BytesIO(zipped.content)) as archive:
        inside = {name.split("/", 1)[1] for name in archive.namelist()}
        (folder,) = {name.split("/", 1)[0] for name in archive.namelist()}
        assert b"NOT FOR CUTTING" in archive.read(f"{folder}/checks.txt")
    assert inside == names
    said = [one["said"] for one in told["papers"]]
    assert len(set(said)) == len(said)
    assert "The pieces on pages of A4, to be joined" in said
    assert folder.endswith("-not-for-cutting")
    assert folder.startswith("Zoë-Ærøe-")
    assert not set(folder) & set("/\\.")
    drawing = client.get(f"/orders/{order}/papers/drawing.dxf")
    assert b"NOT FOR CUTTING" in drawing.content
    assert client.get(f"/orders/{order}/papers/..%2F..%2Fetc%2Fpasswd").status_code == 404
    assert client.get(f"/orders/{order}/papers/none.pdf").status_code == 404


def test_papers_follow_the_order(client: TestClient) -> None:
    order = begin(client)
    assert client.get(f"/orders/{order}/papers").status_code == 422  # nothing measured yet
    save(client, order, full())
    first = client.get(f"/orders/{order}/papers/checks.txt").text
    save(client, order, full(measurements={**demo_measurements(), "bust_girth": 100}), 2)
    assert client.get(f"/orders/{order}/papers/checks.txt").text != first


def test_two_sets_side_by_side(client: TestClient) -> None:
    order = begin(client)
    save(client, order, full(measurements={"bust_girth": 94, "waist_girth": "77,5"}))
    save(client, order, full(measurements={"bust_girth": 96.5, "waist_girth": 77.5}), 2)
    page = client.get("/clients/1").text
    assert "+2.5 cm" in page
    assert page.count('class="changed"') == 1  # 77,5 and 77.5 are the same
    back = client.get("/clients/1?old=2&new=1").text
    assert "−2.5 cm" in back
    assert client.get("/clients/1?old=x&new=99999999999999999999").status_code == 200


def test_erasing_asks_and_says_what_went(client: TestClient, book: Path) -> None:
    order = begin(client, "Zerlina Quaxo")
    save(client, order, full(client="Zerlina Quaxo", order="Wrapdress Yotta"))
    assert client.post("/clients/1/erase", data={}).status_code == 422
    assert client.get("/clients/1").status_code == 200
    said = client.post("/clients/1/erase", data={"sure": "yes"}).text
    assert "Zerlina Quaxo: 1 measurement set, 1 order" in said
    assert client.get("/clients/1").status_code == 404
    for file in book.parent.iterdir():
        assert b"Zerlina" not in file.read_bytes()
        assert b"Yotta" not in file.read_bytes()


# ---- who is let in -----------------------------------------------------------------------


def test_only_this_runs_own_browser_is_let_in(book: Path) -> None:
    client = client_of(book)
    client.cookies.clear()
    assert client.get("/").status_code == 403
    assert client.get("/static/desk.css").status_code == 403
    assert client.get("/?key=wrong").status_code == 403
    opened = client.get(f"/?key={TOKEN}", follow_redirects=False)
    assert opened.status_code == 303
    assert opened.headers["location"] == "/"  # the token does not stay in the address
    cookie = opened.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert client.get("/").status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Host": "evil.example:8000"}, 421),
        ({"Host": "127.0.0.1.evil.example"}, 421),
        ({"Host": "localhost:8000;x=1"}, 421),
        ({"Host": ""}, 421),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://127.0.0.1:8001"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Transfer-Encoding": "chunked"}, 411),
        ({"Content-Length": str(MOST_BYTES + 1)}, 413),
        ({"Content-Length": "9" * 5000}, 400),
        ({"Content-Length": "-1"}, 400),
        ({"Content-Length": "\xb2"}, 400),
    ],
)
def test_what_comes_from_elsewhere_or_too_long_is_refused(
    client: TestClient, headers: dict[str, str], status: int
) -> None:
    encoded = {key: value.encode("latin-1") for key, value in headers.items()}
    answer = client.post("/clients", data={"name": "Eve"}, headers=encoded)
    assert answer.status_code == status
    assert "Nobody yet" in client.get("/").text


def test_every_answer_forbids_what_is_from_elsewhere(client: TestClient) -> None:
    paths = ("/", "/static/desk.css", "/nothing", "/none", "/clients/9", "/form/ell")
    for path in paths:
        headers = client.get(path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert headers["cache-control"] == "no-store"
        assert headers["x-content-type-options"] == "nosniff"


def test_two_desks_do_not_turn_each_other_out() -> None:
    assert cookie_name("127.0.0.1:8000") != cookie_name("127.0.0.1:8001")
    assert cookie_name(HOST) == "neckarc-8000"


def test_pages_name_no_other_host(client: TestClient) -> None:
    begin(client)
    static = Path(__file__).resolve().parents[3] / "workroom" / "desk" / "static"
    texts = [client.get(path).text for path in ("/", "/orders/1", "/clients/1")]
    texts += [file.read_text("utf-8") for file in static.rglob("*") if file.is_file()]
    for text in texts:
        rest = text.replace("http://www.w3.org/2000/svg", "")
        assert "http://" not in rest
        assert "https://" not in rest


def test_papers_of_a_name_in_any_script_come_as_a_file() -> None:
    """Once the answer broke off at the first letter that is none of Latin-1."""
    for name, plain in (("Анна-Zoë.zip", "Zoe.zip"), ("Анна.zip", "order.zip")):
        told = server._file(b"1", name, "application/zip").headers["content-disposition"]
        assert told.startswith(f'attachment; filename="{plain}"; filename*=UTF-8')
        assert unquote(told.rpartition("''")[2]) == name
