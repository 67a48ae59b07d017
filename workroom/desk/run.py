"""Starting the desk: a free port on the loopback address, and the browser."""

from __future__ import annotations

import socket
import threading
import webbrowser
from pathlib import Path

import click
import uvicorn

from drafting.errors import Problem, SheetError
from workroom.desk.guard import new_token
from workroom.desk.server import desk_app

HOST = "127.0.0.1"


def run_desk(book: Path, port: int, browser: bool) -> int:
    """Serve the desk until it is stopped. Raises :class:`SheetError` when the port is taken."""
    token = new_token()
    try:
        listening = socket.create_server((HOST, port))
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
    config = uvicorn.Config(
        desk_app(book, token), log_level="warning", access_log=False, server_header=False
    )
    uvicorn.Server(config).run(sockets=[listening])
    return 0
