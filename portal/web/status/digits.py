"""The last digits of the telephone: asked for by each page that touches money or a key.

Who has given them once in a browser is known there until it is closed, for that link alone.
"""

import hashlib

from flask import session
from flask_babel import lazy_gettext as _l

from portal.web.kit.forms import Required, TextField

KNOWN = "known"
MOST = 8  # links in one cookie
KEYS = {"inputmode": "numeric", "autocomplete": "off", "size": 6}


def digits_field() -> TextField:
    """Return the field that asks for them."""
    asked = Required(_l("Enter the last four digits of your phone number."))
    return TextField(
        _l("Last four digits of your phone number"), [asked], longest=12, render_kw=KEYS
    )


def remember(token: str) -> None:
    """Note that this browser has given the digits of a link."""
    known = [one for one in session.get(KNOWN, []) if one != _mark(token)]
    session[KNOWN] = [*known, _mark(token)][-MOST:]


def is_known(token: str) -> bool:
    """Return whether this browser has given the digits of a link."""
    return _mark(token) in session.get(KNOWN, [])


def _mark(token: str) -> str:
    """Return what stands for a link in the cookie, which must not hold the link itself."""
    return hashlib.sha256(token.upper().encode()).hexdigest()[:16]
