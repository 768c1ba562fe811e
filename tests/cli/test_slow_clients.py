"""Clients that send or read slowly hold no thread, and are let go in the end."""

import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress

import pytest

from portal.cli.buffering import MOST_HELD, Incoming
from tests.cli.free_port import free_port
from tests.conftest import HOUSE

SLOW, NORMAL = 200, 50
SERVER = """
import sys
from gunicorn.app.base import BaseApplication
from portal.cli import buffering

buffering.HEAD_S = buffering.BODY_S = float(sys.argv[2])

def app(environ, start):
    body = environ["wsgi.input"].read()
    start("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(str(len(body)))))])
    return [str(len(body)).encode()]

class Server(BaseApplication):
    def load_config(self):
        for key, value in {"bind": f"127.0.0.1:{sys.argv[1]}", "workers": 1, "threads": 2,
                           "worker_class": buffering.BufferingWorker, "loglevel": "critical",
                           "control_socket_disable": True}.items():
            if key in self.cfg.settings:
                self.cfg.set(key, value)
    def load(self):
        return app

Server().run()
"""


def serve(deadline: float) -> Iterator[int]:
    port = free_port()
    call = [sys.executable, "-c", SERVER, str(port), str(deadline)]
    server = subprocess.Popen(call, cwd=HOUSE, env=os.environ | {"PYTHONPATH": str(HOUSE)})
    try:
        for _ in range(300):
            with suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                break
            time.sleep(0.1)
        yield port
    finally:
        server.terminate()
        server.wait(30)


@pytest.fixture
def patient() -> Iterator[int]:
    yield from serve(300)


@pytest.fixture
def strict() -> Iterator[int]:
    yield from serve(0.3)


def connect(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), 60)


def answer_of(sock: socket.socket) -> bytes:
    """Return what comes until the other side closes."""
    got = b""
    with suppress(ConnectionResetError):
        while piece := sock.recv(65_536):
            got += piece
    return got


def post(port: int, body: bytes, *, cut: int = 1, close: bool = True) -> bytes:
    head = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: %d\r\n" % len(body)
    head += b"Connection: close\r\n\r\n" if close else b"\r\n"
    with connect(port) as sock:
        whole = head + body
        for at in range(0, len(whole), max(1, len(whole) // cut)):
            sock.sendall(whole[at : at + max(1, len(whole) // cut)])
        return answer_of(sock)


def test_two_hundred_slow_clients_hold_up_nobody(patient: int) -> None:
    with ExitStack() as stack:
        slow = [stack.enter_context(connect(patient)) for _ in range(SLOW)]
        for number, one in enumerate(slow):
            if number % 2:
                one.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 100\r\n\r\nx")
            else:
                one.sendall(b"GET / HT")
        got: list[bytes] = []
        normal = [
            threading.Thread(target=lambda: got.append(post(patient, b"a=1")))
            for _ in range(NORMAL)
        ]
        for visitor in normal:
            visitor.start()
        for one in slow[1::2]:
            one.sendall(b"x")
        for visitor in normal:
            visitor.join()
        assert len(got) == NORMAL
        assert all(one.endswith(b"\r\n\r\n3") for one in got)
        # a slow one that comes to its end is answered as well
        slow[1].sendall(b"x" * 98)
        came = b""
        while not came.endswith(b"\r\n\r\n100"):
            came += slow[1].recv(65_536)


@pytest.mark.parametrize(
    "sent", [b"", b"GET / HT", b"POST / HTTP/1.1\r\nContent-Length: 9\r\n\r\nx"]
)
def test_who_is_too_slow_is_let_go(strict: int, sent: bytes) -> None:
    with connect(strict) as sock:
        sock.sendall(sent)
        assert answer_of(sock) == b""


HEADS = b"".join(b"X-%d: %s\r\n" % (number, b"x" * 7_000) for number in range(10))


@pytest.mark.parametrize(
    "sent",
    [
        # a chunk that looks like the last one, and a stranger who then says nothing
        b"Transfer-Encoding: chunked\r\n\r\n5\r\n0\r\n\r\n",
        b"Transfer-Encoding: chunked\r\n\r\n0\r\nX: y\r\n",
        b"Transfer-Encoding: chunked\r\n\r\nno number\r\n",
        b"Content-Length: 0000000000000100\r\n\r\nx",
        b"Content-Length: %d\r\n\r\nx" % (MOST_HELD + 1),
        b"Content-Length: 70000000000001\r\n\r\nx",
        b"Content-Length: 9\r\nContent-Length: 9\r\n\r\nx",
        b"Content-Length: 9\r\nTransfer-Encoding: chunked\r\n\r\n5\r\n0\r\n\r\n",
        HEADS,
    ],
)
def test_no_trick_with_lengths_holds_a_thread(patient: int, sent: bytes) -> None:
    with ExitStack() as stack:
        for _ in range(6):  # of two threads
            one = stack.enter_context(connect(patient))
            with suppress(OSError):
                one.sendall(b"POST / HTTP/1.1\r\nHost: x\r\n" + sent)
        assert post(patient, b"a=1").endswith(b"\r\n\r\n3")


def test_pieces_pipelines_and_large_bodies_are_read_as_they_come(patient: int) -> None:
    assert post(patient, b"x" * 3_000_000, cut=70).endswith(b"3000000")
    assert post(patient, b"y" * 300, cut=340).endswith(b"300")
    with connect(patient) as sock:
        sock.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\nGET /2 HTTP/1.1\r\nHost: x\r\n")
        sock.sendall(b"Connection: close\r\n\r\n")
        assert answer_of(sock).count(b"200 OK") == 2
    with connect(patient) as sock:
        sock.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n")
        sock.sendall(b"Connection: close\r\n\r\n5\r\nabcde\r\n")
        sock.sendall(b"0\r\n\r\n")
        assert answer_of(sock).endswith(b"\r\n5")
    with connect(patient) as sock:
        sock.sendall(b"POST / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n")
        for byte in b"5;a=b\r\n0\r\n\r\n\r\n0\r\nX-End: y\r\n\r\n":
            sock.sendall(bytes([byte]))
        sock.sendall(b"GET /2 HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        answers = answer_of(sock)
        assert answers.count(b"200 OK") == 2
        assert b"\r\n\r\n5HTTP/1.1" in answers


def test_who_asks_first_is_told_to_go_on(patient: int) -> None:
    with connect(patient) as sock:
        head = b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 4\r\nExpect: 100-continue\r\n"
        sock.sendall(head + b"Connection: close\r\n\r\n")
        assert sock.recv(100).startswith(b"HTTP/1.1 100")
        sock.sendall(b"body")
        assert answer_of(sock).endswith(b"\r\n4")


def test_what_is_too_large_goes_on_with_its_head_alone() -> None:
    one = Incoming(None, bytearray(), 0)
    one.take(b"POST / HTTP/1.1\r\nContent-Length: %d\r\n\r\n" % (MOST_HELD + 1), 0)
    assert one.ready
