"""Whatever happens to the desk: what it said was saved is in the book."""

from __future__ import annotations

import random
import signal
import threading
import time
from pathlib import Path

import httpx2
import pytest

from tests.workroom.desk.conftest import Desk
from workroom.book.book import Book
from workroom.desk.guard import cookie_name


def saves_until_it_dies(desk: Desk, order: int, first: int, seen: list[int]) -> None:
    """Save a growing bust over and over; note each that was acknowledged."""
    host = desk.origin.removeprefix("http://")
    with httpx2.Client(base_url=desk.origin, cookies={cookie_name(host): desk.token}) as client:
        with Book(desk.book) as book:
            version = book.order(order).version
        for number in range(first, first + 10_000):
            taken = {"bust_girth": number}
            content = {"date": "2026-03-14", "measurements": taken, "order": str(number)}
            try:
                answer = client.post(
                    f"/orders/{order}/save", json={"content": content, "version": version}
                )
            except httpx2.TransportError:
                return
            assert answer.status_code == 200, answer.text
            version = answer.json()["version"]
            seen.append(number)


def test_a_desk_killed_at_random_moments_keeps_every_acknowledged_save(book: Path) -> None:
    """200 saves and more over HTTP, in five desks and more, each killed at a random moment."""
    with Book(book) as opened:
        order = opened.add_order(opened.add_client("Ann").id, "", {"unit": "cm"}).id
    moments = random.Random(11)
    acknowledged: list[int] = []
    tries = 0
    while len(acknowledged) < 200 or tries < 5:
        tries += 1
        desk = Desk(book)
        seen: list[int] = []
        saving = threading.Thread(
            target=saves_until_it_dies, args=(desk, order, 1000 * tries, seen)
        )
        saving.start()
        enough = moments.randint(20, 60)
        while len(seen) < enough and saving.is_alive():
            time.sleep(0.002)
        time.sleep(moments.uniform(0.0, 0.1))
        desk.stop(signal.SIGKILL)
        saving.join(20)
        assert not saving.is_alive()
        assert seen, "no save came through before it was killed"
        with Book(book) as opened:
            saved = opened.order(order)
            kept = {int(one.taken["bust_girth"]) for one in opened.sets_of(saved.client)}
        assert set(seen) <= kept
        assert int(saved.name) >= seen[-1]  # the order is the last acknowledged, or one further
        assert opened.path.stat().st_mode & 0o077 == 0
        acknowledged += seen


def test_many_windows_at_once_lose_nothing_and_overwrite_nothing(desk: Desk) -> None:
    """Eight windows save one order over and over: exactly one wins each version."""
    with Book(desk.book) as book:
        order = book.add_order(book.add_client("Ann").id, "", {"unit": "cm"}).id
    host = desk.origin.removeprefix("http://")
    won: list[int] = []
    strange: list[str] = []

    def window(name: str) -> None:
        version = 1
        with httpx2.Client(base_url=desk.origin, cookies={cookie_name(host): desk.token}) as client:
            while version <= 12:
                content = {"order": name, "date": "2026-03-14"}
                answer = client.post(
                    f"/orders/{order}/save",
                    json={"content": content, "version": version},
                    headers={"Accept": "application/json"},
                    timeout=60,
                )
                if answer.status_code == 200:
                    won.append(version)
                elif answer.status_code != 409:
                    strange.append(answer.text)
                    return
                version += 1

    windows = [threading.Thread(target=window, args=(str(n),)) for n in range(8)]
    for one in windows:
        one.start()
    for one in windows:
        one.join(60)
    assert strange == []
    assert len(won) == len(set(won)), "two windows won the same version"
    with Book(desk.book) as book:
        assert book.order(order).version == len(won) + 1


def test_the_desk_listens_to_this_machine_alone(desk: Desk) -> None:
    assert desk.origin.startswith("http://127.0.0.1:")
    assert httpx2.get(f"{desk.origin}/").status_code == 403
    assert httpx2.get(f"{desk.origin}/", headers={"Host": "evil.example"}).status_code == 421
    chunked = httpx2.post(f"{desk.origin}/clients", content=iter([b"name=Eve"]))
    assert chunked.status_code == 411
    opened = httpx2.get(desk.address, follow_redirects=False)
    assert opened.status_code == 303
    desk.stop()
    with pytest.raises(httpx2.TransportError):
        httpx2.get(f"{desk.origin}/")
