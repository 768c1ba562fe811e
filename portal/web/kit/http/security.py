"""The headers of every response. Nothing is allowed but what this portal serves.

Checked against the HTTP Observatory's rules: CSP from `default-src 'none'`, no unsafe-inline.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from flask import Flask, Response, g, request

View = TypeVar("View", bound=Callable[..., Any])

CSP = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "worker-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
ALWAYS = {
    "Content-Security-Policy": CSP,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Embedder-Policy": "require-corp",
    "X-Frame-Options": "DENY",
    "X-Permitted-Cross-Domain-Policies": "none",
}
OFF = "geolocation=(), microphone=(), payment=(), usb=(), browsing-topics=()"
YEAR = 31_536_000
HSTS = f"max-age={2 * YEAR}; includeSubDomains"


def in_the_open(view: View) -> View:
    """Mark a page as public: search engines may list it, browsers may cache it."""
    view.in_the_open = True  # type: ignore[attr-defined]  # read back by `_is_open`
    return view


def init_app(app: Flask) -> None:
    https = app.extensions["settings"].https

    @app.after_request
    def headers(response: Response) -> Response:
        response.headers.update(ALWAYS)
        if https:
            response.headers["Strict-Transport-Security"] = HSTS
        # only the counter scans codes with the camera
        camera = "camera=(self)" if request.blueprint == "counter" else "camera=()"
        response.headers["Permissions-Policy"] = f"{camera}, {OFF}"
        if not g.get("is_asset"):
            _privately(response, everyone=_is_open(app))
        return response


def _is_open(app: Flask) -> bool:
    view = app.view_functions.get(request.endpoint or "")
    return bool(getattr(view, "in_the_open", False))


def _privately(response: Response, *, everyone: bool) -> None:
    """Forbid caching and indexing of pages behind a link or a sign-in."""
    if everyone:
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return
    response.headers.setdefault("Cache-Control", "no-store")
    if not g.get("names_nobody"):
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
