"""Whatever is sent to the desk: never a fault of its own, never a traceback, nothing outside the
book."""

from __future__ import annotations

import datetime
import json
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from blocks.body.measures import measurements
from garment.toile import fitting_words
from tests.workroom.desk.conftest import client_of, demo_measurements
from workroom.book.book import Book

SETTINGS = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
NASTY = [
    "<script>alert(1)</script>",
    "</script><img src=x onerror=alert(1)>",
    "\"><svg onload='alert(1)'>",
    "{{ 7 * 7 }}",
    "'; DROP TABLE client;--",
    "../../../etc/passwd",
    "..\\..\\book.db",
    "a\nb\r\nSet-Cookie: x=1",
    "‮evil‬",
    "مارتا",
    "e" + "́" * 500,
    "\0",
    "\x1b[31m",
    "𝕬" * 60,
    "x" * 10_240,
    "con",
    "-- %s %d {0}",
]
#: Parts of content a page could send wrong.
plain: st.SearchStrategy[Any] = (
    st.none()
    | st.booleans()
    | st.integers(min_value=-(10**40), max_value=10**40)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=30)
    | st.sampled_from(NASTY)
)
values = st.recursive(
    plain,
    lambda inside: (
        st.lists(inside, max_size=3) | st.dictionaries(st.text(max_size=12), inside, max_size=3)
    ),
    max_leaves=8,
)
keys = st.sampled_from(
    ["client", "date", "unit", "order", "notes", "garment", "neckline", "collar", "measurements"]
)
tables = st.dictionaries(
    st.sampled_from(
        [*measurements(), "kind", "method", "fit", "style", "ease", "darts", "stand_back"]
    )
    | st.text(max_size=8),
    values,
    max_size=5,
)
#: What was seen at fittings, as a page could send it wrong.
seen = st.lists(
    st.dictionaries(
        st.sampled_from(["id", "date", "seen", "amount", "withdrawn"]) | st.text(max_size=8),
        values
        | st.sampled_from([*fitting_words().seen, "2026-03-20", "0.7 cm", 0.7, 1, True, "1/4"]),
        max_size=5,
    )
    | values,
    max_size=4,
)
contents = st.builds(
    lambda content, rows: content if rows is None else {**content, "toile": rows},
    st.dictionaries(keys | st.text(max_size=8), values | tables, max_size=6),
    st.none() | seen | values,
)


@contextmanager
def fresh() -> Iterator[tuple[TestClient, Path]]:
    """A desk with one client and one order; afterwards nothing may lie beside the book."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "home" / "clients.db"
        client = client_of(place)
        client.post("/clients", data={"name": "Ann"})
        yield client, place
        beside = {str(path.relative_to(folder)) for path in Path(folder).rglob("*")}
        names = {f"home/clients.db{end}" for end in ("", "-wal", "-shm")}
        assert beside <= names | {"home"}


def sound(answer: Any) -> None:
    """No fault of the desk's own, nothing of its insides told."""
    assert answer.status_code < 500
    assert "Traceback" not in answer.text
    assert "site-packages" not in answer.text


def still_works(client: TestClient) -> None:
    """Every page of what is in the book opens, and its data can be read by a browser."""
    for path in ("/", "/clients/1", "/orders/1", "/orders/1/card.toml"):
        answer = client.get(path)
        assert answer.status_code == 200, path
    page = client.get("/orders/1").text
    told = page.split('id="content">', 1)[1].split("</script>", 1)[0]
    json.loads(told, parse_constant=lambda word: pytest.fail(f"no browser reads {word}"))
    assert page.count("<script") == 3
    assert page.count("</script>") == 3


@SETTINGS
@given(content=contents)
def test_any_content_is_looked_at(content: dict[str, Any]) -> None:
    with fresh() as (client, _):
        answer = client.post("/look", content=json.dumps(content))
        sound(answer)
        assert answer.status_code == 200
        told = answer.json()
        assert told["problems"] or told["svg"]


@SETTINGS
@given(content=contents, version=st.integers(0, 2) | values)
def test_any_content_is_saved_or_refused_and_the_order_still_opens(
    content: dict[str, Any], version: Any
) -> None:
    with fresh() as (client, _):
        sent = json.dumps({"content": content, "version": version})
        for path in ("/orders/1/save", "/orders/1/typing"):
            answer = client.post(path, content=sent)
            sound(answer)
            assert answer.status_code in (200, 204, 409, 422)
        still_works(client)
        sound(client.get("/orders/1/papers.zip"))


@settings(SETTINGS, max_examples=20)
@given(rows=seen, kept=st.booleans())
def test_anything_seen_is_kept_as_a_card_can_have_it_or_refused(rows: Any, kept: bool) -> None:
    """With a sound order round it, so that nothing but the fittings can be refused; what comes into
    the book can be drafted from, and what lies there stays as it is."""
    with fresh() as (client, place):
        with Book(place) as book:
            before = book.add_correction(1, datetime.date(2026, 3, 14), "collar rides up", 0.7)
        own = {"id": 1, "date": "2026-03-14", "seen": "collar rides up", "amount": "0.7 cm"}
        content = {
            "client": "Ann",
            "date": "2026-03-14",
            "measurements": demo_measurements(),
            "toile": [own, *rows] if kept else rows,
        }
        looked = client.post("/look", content=json.dumps(content))
        sound(looked)
        assert looked.status_code == 200
        answer = client.post(
            "/orders/1/save", content=json.dumps({"content": content, "version": 1})
        )
        sound(answer)
        assert answer.status_code in (200, 409, 422)
        still_works(client)
        with Book(place) as book:
            found = book.corrections_of(1)
        assert found[0] in (before, replace(before, in_force=False, withdrawn=found[0].withdrawn))
        for one in found:
            assert 0.05 <= one.amount <= fitting_words().seen[one.seen].most
        if answer.status_code != 200:
            assert found == (before,)
        else:
            card = tomllib.loads(client.get("/orders/1/card.toml").text)
            assert len(card.get("toile", [])) == sum(one.in_force for one in found)


@pytest.mark.parametrize("text", NASTY)
def test_nasty_words_in_the_book_are_shown_as_text(text: str) -> None:
    with fresh() as (client, place):
        with Book(place) as book:
            book.add_correction(1, datetime.date(2026, 3, 14), text, 0.7)
        still_works(client)
        page = client.get("/clients/1").text
        assert "<script>alert" not in page
        assert "<img" not in page
        assert "<svg onload" not in page


@SETTINGS
@given(name=st.text(max_size=150) | st.sampled_from(NASTY), notes=st.sampled_from(NASTY))
def test_any_name_and_note(name: str, notes: str) -> None:
    with fresh() as (client, place):
        made = {"name": name.encode("utf-8", "surrogatepass"), "unit": notes}
        answer = client.post("/clients", data=made, follow_redirects=False)
        sound(answer)
        assert answer.status_code in (303, 422)
        fields = {"name": made["name"], "notes": notes, "version": "1"}
        sound(client.post("/clients/1/change", data=fields))
        still_works(client)
        with Book(place) as book:
            for one in book.clients():
                assert 1 <= len(one.name) <= 120
                assert one.name.isprintable() or "‍" in one.name or "‌" in one.name


@pytest.mark.parametrize("text", NASTY)
def test_names_are_shown_as_text_and_files_are_named_plainly(text: str) -> None:
    with fresh() as (client, _):
        content = {"date": "2026-03-14", "order": text, "measurements": demo_measurements()}
        saved = client.post("/orders/1/save", json={"content": content, "version": 1})
        sound(saved)
        still_works(client)
        if saved.status_code == 200:
            page = client.get("/").text
            assert "<script>alert" not in page
            assert "<img" not in page
            assert "49" not in page.replace("49;", "")
        head = client.get("/orders/1/card.toml").headers["content-disposition"]
        assert head == 'attachment; filename="card.toml"'


def test_a_folder_is_named_plainly_whatever_the_order_is_called() -> None:
    with fresh() as (client, _):
        content = {
            "date": "2026-03-14",
            "order": "../../<b>Ünï\"';أ",
            "collar": {"kind": "band"},
            "measurements": demo_measurements(),
        }
        client.post("/orders/1/save", json={"content": content, "version": 1})
        answer = client.get("/orders/1/papers/checks.txt")
        assert answer.status_code == 200
        name = answer.headers["content-disposition"].split('"')[1]
        assert name == "Ann-2026-03-14-b-Uni-checks.txt"


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b'"text"',
        b"{",
        b"\xff\xfe",
        b"[" * 200_000,
        b'{"measurements":' * 50_000,
        b'{"a":' * 900 + b"1" + b"}" * 900,
        b'{"measurements": {"bust_girth": NaN}}',
        b'{"measurements": {"bust_girth": Infinity}}',
        b'{"measurements": {"bust_girth": 1e999}}',
        b'{"measurements": {"bust_girth": ' + b"9" * 4000 + b"}}",
        b'{"measurements": {"bust_girth": ' + b"9" * 9000 + b"}}",
        b'{"order": "\\ud800"}',
        b'{"collar": {"\\ud800": 1}}',
        b'{"collar": {"kind": {"a": {"b": {"c": {"d": 1}}}}}}',
        b'{"toile": {}}',
        b'{"toile": [1, "x"]}',
        b'{"toile": [{"id": 1e999}]}',
        b'{"toile": [{"seen": {"a": {"b": {"c": 1}}}}]}',
        json.dumps({"toile": [{"id": n} for n in range(5000)]}).encode(),
        b'{"toile": [{"seen": "\\ud800"}]}',
        json.dumps({"collar": {f"k{n}": n for n in range(5000)}}).encode(),
        json.dumps({"notes": "x" * 900_000}).encode(),
        json.dumps({"collar": {"kind": "x" * 10_240}}).encode(),
    ],
)
def test_broken_and_huge_bodies(body: bytes) -> None:
    with fresh() as (client, _):
        for path in ("/look", "/orders/1/save", "/orders/1/typing"):
            sound(client.post(path, content=body))
        wrapped = b'{"version": 1, "content": ' + body + b"}"
        for path in ("/orders/1/save", "/orders/1/typing"):
            answer = client.post(path, content=wrapped)
            sound(answer)
            assert answer.status_code == 422
        for path in ("/clients", "/cards", "/clients/1/change", "/clients/1/erase"):
            sound(client.post(path, content=body))
            multipart = {"Content-Type": "multipart/form-data; boundary=x"}
            sound(client.post(path, content=body, headers=multipart))
        still_works(client)


NUMBERS = ["0", "1", "9", "99999999999", "9223372036854775808", "9" * 300, "-1", "1.5", "x", "%00"]


@pytest.mark.parametrize("number", NUMBERS)
def test_any_number_of_client_and_order(number: str) -> None:
    with fresh() as (client, _):
        for path in (
            f"/clients/{number}",
            f"/orders/{number}",
            f"/orders/{number}/card.toml",
            f"/orders/{number}/papers",
            f"/orders/{number}/papers.zip",
            f"/orders/{number}/papers/report.pdf",
        ):
            answer = client.get(path)
            sound(answer)
            if number != "1":
                assert answer.status_code == 404
        for path in (
            f"/clients/{number}0/change",
            f"/clients/{number}0/erase",
            f"/clients/{number}0/orders",
            f"/orders/{number}0/save",
            f"/orders/{number}0/typing",
        ):
            answer = client.post(path, data={"sure": "yes", "name": "Eve", "version": "1"})
            sound(answer)
            assert answer.status_code in (404, 422)
        still_works(client)


@SETTINGS
@given(card=st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode()))
def test_any_file_as_a_card(card: bytes) -> None:
    with fresh() as (client, place):
        answer = client.post("/cards", files={"card": ("../x.toml", card)})
        sound(answer)
        assert answer.status_code == 422
        sound(client.post("/cards", data={"card": "text"}))
        with Book(place) as book:
            assert [one.name for one in book.clients()] == ["Ann"]


@pytest.mark.parametrize(
    "path",
    [
        "/static/../server.py",
        "/static/%2e%2e/server.py",
        "/static/..%2fserver.py",
        "/static/fitting",
        "/static//etc/passwd",
        "/pages/base.html",
        "/docs",
        "/openapi.json",
    ],
)
def test_nothing_but_the_pages_own_files_is_served(path: str) -> None:
    with fresh() as (client, _):
        answer = client.get(path)
        sound(answer)
        assert answer.status_code == 404


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH", "OPTIONS", "HEAD"])
def test_other_ways_of_asking_change_nothing(method: str) -> None:
    with fresh() as (client, place):
        for path in ("/clients", "/clients/1/erase?sure=yes", "/orders/1/save", "/look"):
            answer = client.request(method, path)
            sound(answer)
            assert answer.status_code in (404, 405)
        with Book(place) as book:
            assert len(book.clients()) == 1
