"""Protection against forged forms."""

from collections.abc import Callable
from typing import Any, TypeVar

from flask import Flask, request
from flask_wtf import CSRFProtect
from flask_wtf.csrf import CSRFError, generate_csrf

from portal.web.kit.http import errors

View = TypeVar("View", bound=Callable[..., Any])
CHANGES = frozenset({"POST", "PUT", "PATCH", "DELETE"})


def checks_its_form(view: View) -> View:
    """Mark a view whose own form checks the token, so that it can show the input again."""
    view.checks_its_form = True  # type: ignore[attr-defined]  # read back below
    return view


def init_app(app: Flask) -> None:
    """Require a token on every POST; it lives as long as the browser's session."""
    app.config["WTF_CSRF_TIME_LIMIT"] = None
    app.config["WTF_CSRF_CHECK_DEFAULT"] = False
    # browsers send no referrer (our own policy), so the strict check of it would refuse everyone
    app.config["WTF_CSRF_SSL_STRICT"] = False
    guard = CSRFProtect(app)
    app.jinja_env.globals["csrf_token"] = generate_csrf

    @app.before_request
    def check() -> None:
        if request.routing_exception is not None:
            return  # no such page, or not by this method: there is nothing to protect
        view = app.view_functions.get(request.endpoint or "")
        if request.method in CHANGES and not getattr(view, "checks_its_form", False):
            guard.protect()

    @app.errorhandler(CSRFError)
    def stale(_problem: Any) -> Any:
        return errors.stale_form()
