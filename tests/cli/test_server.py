"""The server waits for the next bytes of a request no longer than it says. Linux keeps the wait as SO_RCVTIMEO, socket(7)."""

import socket
import struct
from types import SimpleNamespace

import pytest
from gunicorn.workers.gthread import ThreadWorker

from api.cli.server import QUIET_SECONDS, BoundedWorker


def test_each_connection_waits_for_bytes_so_long_and_no_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ThreadWorker, "handle", lambda self, conn: conn)
    ours, theirs = socket.socketpair()

    BoundedWorker.handle(object.__new__(BoundedWorker), SimpleNamespace(sock=ours))
    ours.setblocking(True)

    assert struct.unpack("ll", ours.getsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, 16)) == (QUIET_SECONDS, 0)
    ours.close()
    theirs.close()


def test_a_read_ends_when_the_wait_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ThreadWorker, "handle", lambda self, conn: conn)
    monkeypatch.setattr("api.cli.server.QUIET_SECONDS", 1)
    ours, theirs = socket.socketpair()
    BoundedWorker.handle(object.__new__(BoundedWorker), SimpleNamespace(sock=ours))

    with pytest.raises(BlockingIOError):
        ours.recv(1)

    ours.close()
    theirs.close()
