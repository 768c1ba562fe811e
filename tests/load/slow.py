"""Two hundred clients that send a byte a second, and fifty others, before the whole portal."""

import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

from tests.load.figures import Figures

SLOW, NORMAL, EACH = 200, 50, 10
HEAD = b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "
POST = b"POST /language HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4000\r\n\r\n"


@dataclass
class Line:
    """Where clients connect: a port, and the trust that TLS wants (None: plain)."""

    port: int
    trusting: ssl.SSLContext | None = None

    def connect(self) -> socket.socket:
        raw = socket.create_connection(("127.0.0.1", self.port), 60)
        if self.trusting is None:
            return raw
        return self.trusting.wrap_socket(raw, server_hostname="localhost")


@dataclass
class Crowd:
    """Slow clients, each a byte a second; who is let go connects again at once."""

    line: Line
    stopped: threading.Event = field(default_factory=threading.Event)
    links: dict[int, socket.socket] = field(default_factory=dict)
    again: int = 0

    def run(self) -> None:
        while not self.stopped.is_set():
            began = time.monotonic()
            for number in range(SLOW):
                self._send(number)
            self.stopped.wait(max(0.0, 1 - (time.monotonic() - began)))
        for link in self.links.values():
            link.close()

    def _send(self, number: int) -> None:
        try:
            if number not in self.links:
                self.links[number] = self.line.connect()
                self.links[number].sendall(POST if number % 2 else HEAD)
            self.links[number].sendall(b"x")
        except OSError:
            self.again += 1
            with suppress(KeyError):
                self.links.pop(number).close()


@contextmanager
def slow_crowd(line: Line) -> Iterator[Crowd]:
    """Let the slow ones be there while others come; they are all connected at the start."""
    crowd = Crowd(line)
    work = threading.Thread(target=crowd.run)
    work.start()
    while len(crowd.links) < SLOW and work.is_alive():
        time.sleep(0.1)
    try:
        yield crowd
    finally:
        crowd.stopped.set()
        work.join()


def normal_visitors(line: Line, path: Callable[[int], str], each: int = EACH) -> Figures:
    """Return how long fifty visitors waited, each asking some pages one after the other."""
    figures = Figures()

    def visit(number: int) -> None:
        for turn in range(each):
            began = time.perf_counter()
            try:
                ok = _ask(line, path(number * each + turn))
            except OSError as wrong:
                figures.add(time.perf_counter() - began, wrong=type(wrong).__name__)
            else:
                figures.add(time.perf_counter() - began, wrong="" if ok == "200" else ok)

    visitors = [threading.Thread(target=visit, args=(n,)) for n in range(NORMAL)]
    for one in visitors:
        one.start()
    for one in visitors:
        one.join()
    return figures


def _ask(line: Line, path: str) -> str:
    """Return the status of a page that was read whole."""
    with line.connect() as link:
        link.sendall(
            f"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n".encode()
        )
        got = b""
        while piece := link.recv(65_536):
            got += piece
    return got[9:12].decode()
