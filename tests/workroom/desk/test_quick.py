"""What keeps the desk's answers from waiting."""

from __future__ import annotations

import gc
import socket

import pytest

from collars.registry import COLLARS
from workroom.desk.preview import demo_in, look_at
from workroom.desk.run import listening_at
from workroom.desk.server import warm_up


def test_connections_send_at_once() -> None:
    with listening_at(0) as listening, socket.create_connection(listening.getsockname()):
        connection, _ = listening.accept()
        with connection:
            assert connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)


@pytest.mark.parametrize("kind", COLLARS)
def test_the_desk_warms_up_on_what_can_be_drafted(kind: str) -> None:
    assert look_at(demo_in(kind)).order is not None


def test_what_is_loaded_is_not_looked_through_again() -> None:
    try:
        warm_up()
        assert gc.get_freeze_count() > 10 * len(gc.get_objects())
    finally:
        gc.unfreeze()
