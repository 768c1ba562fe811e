"""Staff cookies: the key of a session on the server, and the key of a device.

Customers have neither; their link is their key.
"""

from datetime import timedelta

from flask import g, request
from werkzeug.wrappers import Response

from portal.orders.access.staff_sessions import Current, current
from portal.web.kit.request_context import cookie_name, read_shop, settings, unit

A_YEAR = timedelta(days=365)


def current_person() -> Current | None:
    """Return who is signed in on this device, queried at most once a request."""
    if "staff" not in g:
        g.staff = current(unit(), session_key(), read_shop)
    found: Current | None = g.staff
    return found


def person_id() -> int | None:
    """Return the id under which events of this request are recorded."""
    who = current_person()
    return who.person_id if who else None


def session_key() -> str:
    """Return the session key that the browser sent, or ""."""
    return request.cookies.get(cookie_name("staff"), "")


def device_key() -> str:
    """Return the device key that the browser sent, or ""."""
    return request.cookies.get(cookie_name("device"), "")


def remember(response: Response, key: str) -> None:
    """Set the session cookie, until the browser is closed."""
    _set(response, "staff", key, None)


def remember_device(response: Response, key: str) -> None:
    """Set the device cookie: it marks a known device for rate limits, and opens nothing."""
    _set(response, "device", key, A_YEAR)


def forget(response: Response) -> None:
    """Delete the session cookie."""
    response.delete_cookie(
        cookie_name("staff"), path="/", secure=settings().https, httponly=True, samesite="Lax"
    )


def _set(response: Response, what: str, key: str, age: timedelta | None) -> None:
    response.set_cookie(
        cookie_name(what),
        key,
        max_age=age,
        path="/",
        secure=settings().https,
        httponly=True,
        samesite="Lax",
    )
