"""Where a request ends (RFC 9112): told from its bytes alone, as they come in.

Who reads requests before a thread takes them must not be wrong about this: a thread that waits for
the rest of a body is a thread that a stranger holds.
"""

import re
from dataclasses import dataclass, field

LONGEST_HEAD = 64_000
# the line before a chunk, and what may follow the last one
LONGEST_LINE, LONGEST_TRAILER = 4_096, 16_000
END_OF_HEAD, LINE_END = b"\r\n\r\n", b"\r\n"
LENGTH = re.compile(rb"\r\ncontent-length:([^\r]*)", re.IGNORECASE)
CHUNKED = re.compile(rb"\r\ntransfer-encoding:", re.IGNORECASE)
NUMBER = re.compile(rb"[ \t]*0*([0-9]{1,12})[ \t]*\Z")
HEX = re.compile(rb"[ \t]*([0-9a-fA-F]{1,8})[ \t]*\Z")


@dataclass
class Framing:
    """How much of a request there is.

    `whole` is its length once that is known. `hopeless`: no more is read of it, because it is too
    large or broken; the server refuses it by what there is.
    """

    most: int
    whole: int | None = None
    hopeless: bool = False
    body: int = 0  # how long the body is said to be
    head: bytes = field(default=b"", repr=False)
    _at: int = 0  # where the next chunk begins
    _chunked: bool = False
    _last: bool = False

    def look(self, held: bytearray) -> None:
        """Look at all that has come in so far."""
        if not self.head:
            self._look_at_head(held)
        if self._chunked and not self.whole and not self.hopeless:
            self._look_at_chunks(held)
        self.hopeless = self.hopeless or (self.whole or len(held)) > self.most

    def _look_at_head(self, held: bytearray) -> None:
        end = held.find(END_OF_HEAD)
        if end < 0:
            self.hopeless = len(held) > LONGEST_HEAD
            return
        self.head, self._at = bytes(held[: end + 2]), end + len(END_OF_HEAD)
        said = LENGTH.findall(self.head)
        self._chunked = CHUNKED.search(self.head) is not None
        read = NUMBER.match(said[0]) if said else None
        # a length that is none, two of them, or one beside chunks: refused by the head
        self.hopeless = bool(said) and (read is None or len(said) > 1 or self._chunked)
        self.body = int(read[1]) if read else 0
        if not self._chunked:
            self.whole = self._at + self.body

    def _look_at_chunks(self, held: bytearray) -> None:
        while not self._last:
            end = held.find(LINE_END, self._at, self._at + LONGEST_LINE)
            if end < 0:
                self.hopeless = len(held) > self._at + LONGEST_LINE
                return
            size = HEX.match(bytes(held[self._at : end]).partition(b";")[0])
            if size is None:
                self.hopeless = True
                return
            length = int(size[1], 16)
            self._last = length == 0
            # the line end of the last line begins the one that ends the trailer
            self._at = end if self._last else end + 2 * len(LINE_END) + length
            if self._at > self.most:
                self.hopeless = True
                return
        end = held.find(END_OF_HEAD, self._at)
        if end >= 0:
            self.whole = end + len(END_OF_HEAD)
        else:
            self.hopeless = len(held) > self._at + LONGEST_TRAILER
