"""Messages to browsers: web push (RFC 8030), encrypted for one browser and signed as ours.

The body is JSON: `title`, `body`, `tag` (the same when it is sent again, so that a browser shows it
once, also as the header `Topic`) and `path`, the page that a press opens. Only the browser can read
it. Any 2xx answer means taken; 404 and 410 end a subscription; 408, 425, 429 and 5xx are tried
again, any other answer is final.
"""

import json
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from hashlib import blake2s
from http.client import HTTPException
from urllib.parse import urlsplit

from portal.craft.messages import Message
from portal.notices.outbox import Claimed
from portal.notices.push_addresses import is_public, is_push_address
from portal.notices.text_messages import LATER, NoRedirect
from portal.notices.transport import LONGEST_WHY, Unsent

TIMEOUT_S = 5.0
# how long the service keeps a message for a browser that is off: the news of a day ago is old
TTL_S = 24 * 3600
# RFC 8292, section 2: at most 24 hours ahead
SIGNED_FOR_S = 12 * 3600
GONE = frozenset({404, 410})


@dataclass(frozen=True, slots=True)
class Subscription:
    """Where a browser takes messages, and the keys that they are encrypted with."""

    endpoint: str
    p256dh: str
    auth: str


class SubscriptionGone(Exception):
    """The browser takes no messages any more."""


@dataclass
class PushSender:
    """Sends to push services. `contact` is who they can ask, `mailto:` or `https:` (RFC 8292).

    `local` lets it send to this machine and without TLS, for a trial.
    """

    private_key: str = field(repr=False)
    contact: str
    local: bool = False
    timeout_s: float = TIMEOUT_S

    def send(self, to: Subscription, claimed: Claimed, now_s: int) -> None:
        """Send one message to one browser; raise SubscriptionGone or Unsent."""
        if not is_push_address(to.endpoint, local=self.local):
            raise SubscriptionGone
        if not self.local and not is_public(to.endpoint):
            raise Unsent(Message("We can't reach the push service ({why}).", why="address"))
        request = self._request(to, claimed, now_s)
        try:
            with _opener().open(request, timeout=self.timeout_s):
                return
        except urllib.error.HTTPError as answer:
            code = answer.code
            answer.close()
        except (OSError, HTTPException, ValueError) as wrong:
            why = f"{type(wrong).__name__}: {wrong}"[:LONGEST_WHY]
            raise Unsent(Message("We can't reach the push service ({why}).", why=why)) from None
        if code in GONE:
            raise SubscriptionGone
        why_not = Message("The push service did not take it ({code}).", code=code)
        raise Unsent(why_not, forever=not (code >= 500 or code in LATER))

    def _request(self, to: Subscription, claimed: Claimed, now_s: int) -> urllib.request.Request:
        return urllib.request.Request(  # noqa: S310  # `is_push_address` checked the scheme
            to.endpoint,
            data=_encrypted(to, json.dumps(said_in(claimed)).encode()),
            method="POST",
            headers={
                "Content-Type": "application/octet-stream",
                "Content-Encoding": "aes128gcm",
                "TTL": str(TTL_S),
                "Urgency": "normal",
                "Topic": _tag(claimed),
                "Authorization": self._signed(to.endpoint, now_s),
            },
        )

    def _signed(self, endpoint: str, now_s: int) -> str:
        from py_vapid import Vapid02  # noqa: PLC0415  # only who sends needs it

        parts = urlsplit(endpoint)
        claims = {
            "aud": f"{parts.scheme}://{parts.netloc}",
            "exp": now_s + SIGNED_FOR_S,
            "sub": self.contact,
        }
        return str(Vapid02.from_string(self.private_key).sign(claims)["Authorization"])


def said_in(claimed: Claimed) -> dict[str, str]:
    """Return what a browser shows: the kind of news and the works; no name, sum or code."""
    shop_name, _, link = claimed.text.partition("\n")
    path = urlsplit(link.strip()).path
    return {"title": shop_name, "body": claimed.subject, "tag": _tag(claimed), "path": path}


def _tag(claimed: Claimed) -> str:
    # RFC 8030, section 5.4: at most 32 characters of base64url
    return blake2s(claimed.message_id.encode(), digest_size=16).hexdigest()


def _encrypted(to: Subscription, body: bytes) -> bytes:
    from pywebpush import WebPusher  # noqa: PLC0415  # loads much, and only who sends needs it

    keys = {"p256dh": to.p256dh, "auth": to.auth}
    pusher = WebPusher({"endpoint": to.endpoint, "keys": keys})
    return bytes(pusher.encode(body)["body"])


def _opener() -> urllib.request.OpenerDirector:
    return urllib.request.build_opener(NoRedirect)
