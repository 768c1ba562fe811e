"""Error pages: the refusals of `orders` and other errors, with what to do next."""

import logging

from flask import Flask, Response, make_response, render_template, request
from flask_babel import gettext as _
from werkzeug.exceptions import BadRequest, HTTPException

from portal.craft.messages import Message
from portal.orders.kernel.errors import (
    Busy,
    Expired,
    Overtaken,
    RateLimited,
    Refusal,
    Refused,
    Taken,
    Unknown,
)
from portal.web.kit.http.logs import request_id
from portal.web.kit.http.unreadable import is_unreadable

log = logging.getLogger("portal.web")

REFUSALS: dict[type[Exception], int] = {
    Refused: 409,
    Overtaken: 409,
    Taken: 409,
    Unknown: 404,
    Expired: 410,
    Busy: 503,
    RateLimited: 429,
}


def page(status: int, title: str, says: Message | str, *, mark: str = "") -> Response:
    """Return an error page; `mark` is the id in the log."""
    body = render_template("error.html", status=status, title=title, says=says, mark=mark)
    return make_response(body, status)


def init_app(app: Flask) -> None:
    """Register the handlers of refusals and errors."""
    for kind in REFUSALS:
        app.register_error_handler(kind, _refused)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _accident)


def stale_form() -> Response:
    """Return the page for a form whose session has ended."""
    return page(
        400,
        _("This page was open for too long"),
        _("We haven't changed anything. Go back, reload the page and try again."),
    )


def _refused(refusal: Refusal) -> Response:
    titles = {
        Refused: _("You can't do this now"),
        Overtaken: _("Someone else changed this first"),
        Taken: _("This time has been taken"),
        Unknown: _("We can't find this"),
        Expired: _("This link has expired"),
        Busy: _("One moment"),
        RateLimited: _("Wait a moment, then try again."),
    }
    kind = next(k for k in REFUSALS if isinstance(refusal, k))
    return page(REFUSALS[kind], titles[kind], refusal.sentence)


def _http(problem: HTTPException) -> Response:
    code = problem.code or 500
    pages = {
        400: (_("We couldn't read what you sent"), _("Go back and try again.")),
        403: (
            _("You can't open this page"),
            _("Your sign-in doesn't give access to this page. Ask the office if you need it."),
        ),
        404: (
            _("Page not found"),
            _(
                "Check the address: part of it may be missing. If it came from a slip, scan the "
                "QR code again."
            ),
        ),
        405: (_("You can't do this here"), _("Go back and use the buttons on the page.")),
        413: (
            _("This file is too large"),
            _("We haven't saved anything. Send a smaller photo, or go on without one."),
        ),
        429: (_("Too many requests"), _("Wait a minute, then try again.")),
    }
    if code in pages:
        response = page(code, *pages[code])
    elif code < 500:
        response = page(code, _("That did not work"), _("Go back and try again."))
    else:
        return _accident(problem)
    if problem.get_response().headers.get("Allow"):
        response.headers["Allow"] = problem.get_response().headers["Allow"]
    return response


def _accident(problem: Exception) -> Response:
    mark = request_id()
    if is_unreadable(problem):
        log.warning("unreadable %s", mark, exc_info=problem)
        return _http(BadRequest())
    log.error("accident %s on %s %s", mark, request.method, request.url_rule, exc_info=problem)
    return page(
        500,
        _("Sorry, something went wrong"),
        _(
            "Your earlier answers are saved. If it happens again, call us and tell us the "
            "number below."
        ),
        mark=mark,
    )
