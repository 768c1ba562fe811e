"""Which firm's page is open in this browser. Anyone else is asked for an e-mail address."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from flask import g, redirect, request, url_for
from werkzeug.wrappers import Response

from portal.orders.access.firm_links import SignedInFirm, current_firm
from portal.web.kit.request_context import settings, unit

View = TypeVar("View", bound=Callable[..., Any])


def for_firms(view: View) -> View:
    """Allow only browsers in which a firm's page is open; the view acts for that firm alone."""

    @wraps(view)
    def guarded(*args: Any, **kwargs: Any) -> Any:
        if firm_or_none() is None:
            return redirect(url_for("trade.ask"), 303)
        return view(*args, **kwargs)

    guarded.for_firms = True  # type: ignore[attr-defined]  # read by the test of all routes
    return cast("View", guarded)


def firm_or_none() -> SignedInFirm | None:
    """Return the firm whose page is open, queried at most once a request."""
    if "firm" not in g:
        g.firm = current_firm(unit(), firm_key())
    found: SignedInFirm | None = g.firm
    return found


def the_firm() -> SignedInFirm:
    """Return the firm of a guarded page."""
    found = firm_or_none()
    assert found is not None  # the guard stands before it
    return found


def firm_key() -> str:
    """Return the key that the browser sent, or ""."""
    return request.cookies.get(_name(), "")


def remember(response: Response, key: str) -> None:
    """Set the cookie; how long it opens anything is decided on the server."""
    response.set_cookie(
        _name(),
        key,
        max_age=90 * 24 * 3600,
        path="/",
        secure=settings().https,
        httponly=True,
        samesite="Lax",
    )


def forget(response: Response) -> None:
    """Delete the cookie."""
    response.delete_cookie(
        _name(), path="/", secure=settings().https, httponly=True, samesite="Lax"
    )


def _name() -> str:
    # the prefix makes the browser refuse the cookie when anything weaker tries to set it
    return "__Host-firm" if settings().https else "firm"
