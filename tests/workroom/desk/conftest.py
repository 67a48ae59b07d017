"""The desk under test: its app in this process, and the real thing with a real browser."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from starlette.testclient import TestClient

from drafting.library import data_folder
from workroom.book.place import VARIABLE
from workroom.desk.guard import cookie_name
from workroom.desk.server import desk_app

ROOT = Path(__file__).resolve().parents[3]
TOKEN = "a-token-of-this-test"
HOST = "127.0.0.1:8000"
#: What each test may wait for at most, milliseconds: the machine may be busy.
PATIENCE = 30_000


def demo_measurements() -> dict[str, Any]:
    """The demo client's."""
    text = (data_folder() / "clients" / "demo.toml").read_text(encoding="utf-8")
    return dict(tomllib.loads(text)["measurements"])


def client_of(book: Path) -> TestClient:
    """A browser that was let in."""
    app = desk_app(book, TOKEN)
    client = TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=True)
    client.cookies.set(cookie_name(HOST), TOKEN)
    return client


def begin(client: TestClient, name: str = "Ann", unit: str = "cm") -> int:
    """A new client with an order; its number."""
    answer = client.post("/clients", data={"name": name, "unit": unit}, follow_redirects=False)
    assert answer.status_code == 303
    return int(answer.headers["location"].rsplit("/", 1)[1])


def save(client: TestClient, order: int, content: Any, version: int = 1) -> Any:
    return client.post(
        f"/orders/{order}/save",
        json={"content": content, "version": version},
        headers={"Accept": "application/json"},
    )


def content_of(client: TestClient, order: int) -> dict[str, Any]:
    page = client.get(f"/orders/{order}").text
    text = page.split('id="content">', 1)[1].split("</script>", 1)[0]
    return dict(json.loads(text))


def full(**more: Any) -> dict[str, Any]:
    return {
        "client": "Ann",
        "date": "2026-03-14",
        "unit": "cm",
        "order": "Blouse",
        "measurements": demo_measurements(),
        "collar": {"kind": "two-piece shirt"},
        **more,
    }


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return tmp_path / "home" / "clients.db"


@pytest.fixture
def client(book: Path) -> TestClient:
    return client_of(book)


class Desk:
    """A desk that was started as a maker starts it."""

    def __init__(self, book: Path, port: int = 0) -> None:
        self.book = book
        self.process = subprocess.Popen(
            [sys.executable, "-m", "workroom", "desk", "--port", str(port), "--no-browser"],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd=ROOT,
            env={**os.environ, VARIABLE: str(book), "PYTHONUNBUFFERED": "1"},
        )
        assert self.process.stdout is not None
        said = self.process.stdout.readline()
        if "http://" not in said:
            said += self.process.communicate(timeout=20)[0]
            raise AssertionError(f"the desk did not start ({self.process.returncode}): {said}")
        self.address = said.split()[-1]
        self.origin, self.token = self.address.split("/?key=")

    def stop(self, how: int = signal.SIGTERM) -> None:
        self.process.send_signal(how)
        self.process.wait(timeout=20)
        assert self.process.stdout is not None
        self.process.stdout.close()


@pytest.fixture
def desk(book: Path) -> Iterator[Desk]:
    started = Desk(book)
    yield started
    if started.process.poll() is None:
        started.stop()


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--lang=en-GB"]
        )
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A window; whatever it complains of fails the test."""
    context = browser.new_context(
        viewport={"width": 1440, "height": 900},
        accept_downloads=True,
        locale="en-GB",
        reduced_motion="reduce",
    )
    context.set_default_timeout(PATIENCE)
    window = context.new_page()
    complaints: list[str] = []
    window.on("pageerror", lambda error: complaints.append(str(error)))
    window.on(
        "console",
        lambda said: complaints.append(said.text) if "Content Security" in said.text else None,
    )
    window.on(
        "request",
        lambda asked: complaints.append(asked.url) if not _own(asked.url) else None,
    )
    yield window
    context.close()
    assert complaints == []


def _own(url: str) -> bool:
    return url.startswith(("http://127.0.0.1:", "data:", "blob:"))
