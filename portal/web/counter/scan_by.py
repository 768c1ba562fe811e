"""Who made an offline scan: it counts for its scanner, not for who signed in next.

A page gives its scans a signature of its person, so that nobody can scan for a colleague. The
signature lives in the tab: a device that was restarted without a network knows nobody, and its
scans count for the one who signs in and sends them. Both are recorded.
"""

import hashlib
import hmac

from flask import current_app

from portal.web.kit.http.guards import the_person
from portal.web.kit.request_context import now

HOLDS_S = 24 * 60 * 60


def mark() -> str:
    """Return the signature of the person at this page."""
    text = f"{the_person().person_id}.{int(now().timestamp())}"
    return f"{text}.{_signed(text)}"


def who_scanned(given: str) -> int | None:
    """Return the person of a signature; None when it is invalid or too old."""
    text, _dot, signature = given.rpartition(".")
    person, _dot, since = text.partition(".")
    if not hmac.compare_digest(signature.encode(), _signed(text).encode()):
        return None
    return int(person) if now().timestamp() - int(since) <= HOLDS_S else None


def _signed(text: str) -> str:
    secret = str(current_app.secret_key).encode()
    return hmac.new(secret, b"scan-by:" + text.encode(), hashlib.sha256).hexdigest()[:32]
