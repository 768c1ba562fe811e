"""Text messages through an HTTP hook that the shop sets: signed, one request each.

The body is JSON: `id` (the same when it is sent again, also as the header `Idempotency-Key`), `to`
(E.164), `text` and `made_at`. `Portal-Signature` is `t=SECONDS,v1=HEX`: HMAC-SHA-256 (RFC 2104) of
`SECONDS.BODY` with the shop's key, so that nobody else can send in its name, nor repeat it later.
Any 2xx answer means taken. 408, 425, 429 and 5xx are tried again, any other answer is final.
"""

import hashlib
import hmac
import json
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from http.client import HTTPException
from typing import Any

from portal.craft.messages import Message
from portal.notices.outbox import Claimed
from portal.notices.transport import LONGEST_WHY, Unsent

TIMEOUT_S = 10.0
LONGEST_TEXT = 320
# RFC 9110 and RFC 6585: the same request may succeed later
LATER = frozenset({408, 425, 429})


class NoRedirect(urllib.request.HTTPRedirectHandler):
    """Follow nothing: a number must not be sent where nobody meant it to go."""

    def redirect_request(self, *_args: Any, **_more: Any) -> None:
        return None


@dataclass
class TextHook:
    """Where text messages go; `now_s` gives the seconds since 1970 for the signature."""

    url: str
    key: str = field(repr=False)
    timeout_s: float = TIMEOUT_S
    opener: urllib.request.OpenerDirector = field(
        default_factory=lambda: urllib.request.build_opener(NoRedirect)
    )

    @property
    def open(self) -> bool:
        """Whether the shop has set one."""
        return bool(self.url)

    def send(self, claimed: Claimed, now_s: int) -> None:
        """Send one message; raise Unsent."""
        request = self._request(claimed, now_s)
        try:
            with self.opener.open(request, timeout=self.timeout_s):
                return
        except urllib.error.HTTPError as answer:
            code = answer.code
            answer.close()
        except (OSError, HTTPException, ValueError) as wrong:
            raise Unsent(_not_reached(wrong), down=True) from None
        forever = not (code >= 500 or code in LATER)
        why = Message("The service for text messages did not take it ({code}).", code=code)
        raise Unsent(why, forever=forever)

    def _request(self, claimed: Claimed, now_s: int) -> urllib.request.Request:
        message_id = claimed.message_id.strip("<>")
        body = json.dumps(
            {
                "id": message_id,
                "to": claimed.to,
                "text": text_of(claimed),
                "made_at": claimed.made_at.isoformat(),
            }
        ).encode()
        return urllib.request.Request(  # noqa: S310  # http and https alone: settings check it
            self.url,
            data=body,
            method="POST",
            headers={
                "Content-Type": "application/json",
                "Idempotency-Key": message_id,
                "Portal-Signature": signature(self.key, now_s, body),
            },
        )


def signature(key: str, now_s: int, body: bytes) -> str:
    """Return the value of the header that proves who sent a body, and when."""
    signed = hmac.new(key.encode(), f"{now_s}.".encode() + body, hashlib.sha256).hexdigest()
    return f"t={now_s},v1={signed}"


def text_of(claimed: Claimed) -> str:
    """Return what stands in a text message: the subject of the letter, and the link."""
    link = next((line for line in claimed.text.splitlines() if line.startswith("http")), "")
    room = LONGEST_TEXT - len(link) - 1
    return f"{claimed.subject[:room]} {link}".strip()


def _not_reached(wrong: Exception) -> Message:
    why = f"{type(wrong).__name__}: {wrong}"[:LONGEST_WHY]
    return Message("We can't reach the service for text messages ({why}).", why=why)
