"""A mail server on this machine that takes letters, or refuses, stalls and drops, as it is told.

RFC 5321, as much of it as a client needs that sends one letter a connection.
"""

import contextlib
import re
import socketserver
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from typing import Any

SLOW_S = 0.3


class Mood(StrEnum):
    TAKES = "takes"
    SLOW = "takes slowly"
    REFUSES = "refuses"  # at the greeting
    LATER = "asks to come later"  # after the letter
    STALLS = "stalls"  # says nothing at all
    DROPS = "drops"  # hangs up at the greeting
    DROPS_LATE = "takes, and hangs up before it says so"


class PostOffice(socketserver.ThreadingTCPServer):
    """What came in: how often each Message-ID, and to whom it went."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.mood = Mood.TAKES
        self.taken: Counter[str] = Counter()
        self.to: dict[str, str] = {}
        self.met: Counter[str] = Counter()
        self.in_hand = threading.Event()  # a letter is half way

    @property
    def url(self) -> str:
        return f"smtp://127.0.0.1:{self.server_address[1]}"

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A client that was killed is what we are here for."""

    def take(self, letter: str, to: str) -> None:
        found = re.search(r"^Message-ID:\s*(<[^>]+>)", letter, re.M | re.I)
        name = found[1] if found else "none"
        self.taken[name] += 1
        self.to[name] = to


class _Talk(socketserver.StreamRequestHandler):
    server: PostOffice

    def handle(self) -> None:
        mood = self.server.mood
        self.server.met[mood] += 1
        if mood is Mood.STALLS:
            while self.server.mood is Mood.STALLS:
                time.sleep(0.05)
            return
        if mood is Mood.DROPS:
            return
        if mood is Mood.REFUSES:
            self._say("421 closed")
            return
        with contextlib.suppress(OSError):
            self._say("220 here")
            self._listen(mood)

    def _listen(self, mood: Mood) -> None:
        to = ""
        while line := self.rfile.readline().decode(errors="replace").strip():
            word = line.upper()
            if word.startswith("QUIT"):
                self._say("221 bye")
                return
            if word.startswith("RCPT"):
                to = line.partition("<")[2].partition(">")[0]
            if not word.startswith("DATA"):
                self._say("250 yes")
                continue
            self._say("354 go on")
            if not self._letter(mood, to):
                return

    def _letter(self, mood: Mood, to: str) -> bool:
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line.decode(errors="replace"))
        if not line:
            return False
        if mood is Mood.LATER:
            self._say("451 come later")
            return True
        self.server.in_hand.set()
        if mood is Mood.SLOW:
            time.sleep(SLOW_S)
        self.server.take("".join(lines), to)
        self.server.in_hand.clear()
        if mood is Mood.DROPS_LATE:
            return False
        self._say("250 taken")
        return True

    def _say(self, text: str) -> None:
        self.wfile.write(f"{text}\r\n".encode())


@contextmanager
def post_office() -> Iterator[PostOffice]:
    """Run the mail server in threads of its own."""
    with PostOffice() as office:
        threading.Thread(target=office.serve_forever, args=(0.05,), daemon=True).start()
        try:
            yield office
        finally:
            office.mood = Mood.TAKES
            office.shutdown()
