"""Starting the desk: a free port on the loopback address, and the browser."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from collections.abc import AsyncIterator
from pathlib import Path

import click
import uvicorn
from starlette.applications import Starlette

from drafting.errors import Problem, SheetError
from workroom.book.book import Book
from workroom.desk.guard import new_token
from workroom.desk.server import desk_app, warm_up

HOST = "127.0.0.1"


def run_desk(book: Path, port: int, browser: bool) -> int:
    """Serve the desk until it is stopped. Raises :class:`SheetError` when the port is taken."""
    token = new_token()
    try:
        listening = listening_at(port)
    except OSError as error:
        raise SheetError(
            Problem(
                f"this port cannot be used: {error.strerror}",
                key="--port",
                got=str(port),
                advice="Leave --port out: a free one is found.",
            )
        ) from error
    address = f"http://{HOST}:{listening.getsockname()[1]}/?key={token}"
    click.echo(f"The desk is at {address}")
    click.echo(f"Your book: {book}. Stop the desk with Ctrl-C.")
    if browser:
        threading.Timer(0.3, webbrowser.open, (address,)).start()
    app = desk_app(book, token)
    app.router.lifespan_context = _warming
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
    with Book(book):  # held open all the while, so that each save writes its log and no more
        uvicorn.Server(config).run(sockets=[listening])
    return 0


def listening_at(port: int) -> socket.socket:
    """A socket at the port. Raises ``OSError`` when it is taken.

    Answers are sent as soon as they are written: connections take this over from the socket they
    come in by. Otherwise the end of an answer waits until the browser has told that it has the
    beginning, which it does not hurry to do (40 ms measured).
    """
    listening = socket.create_server((HOST, port))
    listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return listening


@contextlib.asynccontextmanager
async def _warming(app: Starlette) -> AsyncIterator[None]:
    """While the first page is being looked at, what drafts is loaded."""
    timer = threading.Timer(0.4, warm_up)
    timer.daemon = True
    timer.start()
    yield
    timer.cancel()
