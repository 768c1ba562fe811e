"""The workers of the server: a request is read whole before a thread takes it.

Gunicorn's threads read a request themselves, so that a few connections that send a byte a second
would hold all of them. Here the loop of the process reads what comes in, and who is too slow is let
go; an answer is handed to the system whole, as far as its buffer reaches.
"""

import re
import selectors
import socket
import struct
import time
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from gunicorn.workers.gthread import ThreadWorker

from portal.cli.framing import Framing

PIECE = 65_536
# the largest that any page of ours takes, and what all requests of a process may hold together
MOST_HELD, MOST_TOGETHER = 66_000_000, 300_000_000
# who sends may take so long, and for a body so many seconds more as it has bytes for this rate
HEAD_S, BODY_S, SLOWEST_RATE = 15.0, 30.0, 16_000
SEND_S, SEND_BUFFER = 20, 1_000_000
EXPECTS = re.compile(rb"\r\nexpect:[ \t]*100-continue", re.IGNORECASE)


@dataclass
class Incoming:
    """A request that is being read, and until when it may take."""

    conn: Any
    held: bytearray
    until: float
    framing: Framing = field(default_factory=lambda: Framing(MOST_HELD))
    waits: bool = field(default=False)

    def take(self, piece: bytes, now: float) -> None:
        """Add what has come in."""
        had_head = bool(self.framing.head)
        self.held += piece
        self.framing.look(self.held)
        if self.framing.head and not had_head:
            self.until = now + BODY_S + self.framing.body / SLOWEST_RATE
            if EXPECTS.search(self.framing.head) and not self.ready:
                self.conn.sock.send(b"HTTP/1.1 100 Continue\r\n\r\n")

    @property
    def ready(self) -> bool:
        """Whether a thread can take it: it is whole, or is refused by what there is."""
        whole = self.framing.whole
        return self.framing.hopeless or (whole is not None and len(self.held) >= whole)


class BufferingWorker(ThreadWorker):  # type: ignore[misc]  # gunicorn ships no types
    """Gunicorn's threads, behind a loop that reads requests."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.incoming: list[Incoming] = []

    def enqueue_req(self, conn: Any) -> None:
        """Read a request of a new or a kept connection; a thread gets it when it is whole."""
        conn.init()
        _bound(conn.sock)
        conn.sock.settimeout(0)
        now = time.monotonic()
        incoming = Incoming(conn, bytearray(), now + HEAD_S)
        incoming.take(conn.parser.unreader.take_buffered(), now)
        self._read(incoming)

    def _read(self, incoming: Incoming, _sock: Any = None) -> None:
        ended = False
        try:
            while not incoming.ready and not ended:
                piece = incoming.conn.sock.recv(PIECE)
                ended = not piece
                incoming.take(piece, time.monotonic())
        except (BlockingIOError, InterruptedError):
            self._wait(incoming)
            return
        except OSError:
            ended = True
        self._stop_waiting(incoming)
        if ended and not incoming.ready:
            self._close(incoming)
        else:
            if incoming.framing.hopeless:  # no thread waits for more of it
                incoming.conn.sock.shutdown(socket.SHUT_RD)
            incoming.conn.parser.unreader.unread(bytes(incoming.held))
            incoming.conn.data_ready = True
            super().enqueue_req(incoming.conn)

    def _wait(self, incoming: Incoming) -> None:
        if incoming.waits:
            return
        if sum(len(one.held) for one in self.incoming) > MOST_TOGETHER:
            self._close(incoming)
            return
        incoming.waits = True
        self.incoming.append(incoming)
        read = partial(self._read, incoming)
        self.poller.register(incoming.conn.sock, selectors.EVENT_READ, read)

    def _stop_waiting(self, incoming: Incoming) -> None:
        if incoming.waits:
            incoming.waits = False
            self.incoming.remove(incoming)
            self.poller.unregister(incoming.conn.sock)

    def _close(self, incoming: Incoming) -> None:
        self.nr_conns -= 1
        incoming.conn.close()

    def murder_pending(self) -> None:
        """Let go who was too slow."""
        super().murder_pending()
        now = time.monotonic()
        for one in [one for one in self.incoming if one.until < now]:
            self._stop_waiting(one)
            self._close(one)


def _bound(sock: socket.socket) -> None:
    """Bound what a slow reader of an answer can cost: a wide buffer, and a time for the rest."""
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_SNDTIMEO, struct.pack("ll", SEND_S, 0))
