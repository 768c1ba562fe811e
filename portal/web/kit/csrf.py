"""Forms are accepted only from our own pages."""

from typing import Any

from flask import Flask
from flask_wtf import CSRFProtect
from flask_wtf.csrf import CSRFError, generate_csrf

from portal.web.kit import errors


def protect(app: Flask) -> None:
    """Ask every POST for its token; the token lives as long as the browser's session."""
    app.config["WTF_CSRF_TIME_LIMIT"] = None
    # browsers send no referrer (our own policy), so the strict check of it would refuse everyone
    app.config["WTF_CSRF_SSL_STRICT"] = False
    CSRFProtect(app)
    app.jinja_env.globals["csrf_token"] = generate_csrf

    @app.errorhandler(CSRFError)
    def stale(_problem: Any) -> Any:
        return errors.stale_form()
