"""Under whose name a kept scan counts: the one who scanned, not the one who opened the device next.

A page gives its scans a mark of its person, signed so that nobody can make one for a colleague.
The mark lives in the tab: a device that was opened anew without a network knows of nobody, and
what it keeps counts for the one who signs in and sends it. Both are said and written down.
"""

import hashlib
import hmac

from flask import current_app

from portal.web.kit.http.guards import the_person
from portal.web.kit.request_context import now

HOLDS_S = 24 * 60 * 60


def mark() -> str:
    """Return the mark of the person at this page."""
    text = f"{the_person().person_id}.{int(now().timestamp())}"
    return f"{text}.{_signed(text)}"


def who_scanned(given: str) -> int | None:
    """Return whose mark this is; None when it is none of ours, or an old one."""
    text, _dot, signature = given.rpartition(".")
    person, _dot, since = text.partition(".")
    if not hmac.compare_digest(signature.encode(), _signed(text).encode()):
        return None
    return int(person) if now().timestamp() - int(since) <= HOLDS_S else None


def _signed(text: str) -> str:
    secret = str(current_app.secret_key).encode()
    return hmac.new(secret, b"scan-by:" + text.encode(), hashlib.sha256).hexdigest()[:32]
