"""Under whose name a kept scan counts: the one who scanned, not the one who opened the device next.

A page gives its scans a mark of its person, signed so that nobody can make one for a colleague.
"""

import hashlib
import hmac

from flask import current_app

from portal.web.kit.desk import now
from portal.web.kit.guards import the_person

HOLDS_S = 24 * 60 * 60


def mark() -> str:
    """Return the mark of the person at this page."""
    text = f"{the_person().person_id}.{int(now().timestamp())}"
    return f"{text}.{_signed(text)}"


def who_scanned(given: str) -> int:
    """Return whose mark this is; the person at the page when it is none, or an old one."""
    text, _dot, signature = given.rpartition(".")
    person, _dot, since = text.partition(".")
    if not hmac.compare_digest(signature.encode(), _signed(text).encode()):
        return the_person().person_id
    fresh = now().timestamp() - int(since) <= HOLDS_S
    return int(person) if fresh else the_person().person_id


def _signed(text: str) -> str:
    secret = str(current_app.secret_key).encode()
    return hmac.new(secret, b"scan-by:" + text.encode(), hashlib.sha256).hexdigest()[:32]
