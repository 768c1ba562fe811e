"""Error pages: the refusals of `orders` and other errors, with what to do next."""

import logging
import re

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
    Unavailable,
    Unknown,
)
from portal.orders.kernel.unit import refusal_of
from portal.web.kit.http.logs import request_id
from portal.web.kit.http.unreadable import is_unreadable

log = logging.getLogger("portal.web")
RETRY_S = "30"

REFUSALS: dict[type[Exception], int] = {
    Refused: 409,
    Overtaken: 409,
    Taken: 409,
    Unknown: 404,
    Expired: 410,
    Busy: 503,
    RateLimited: 429,
}


# never shown or sent again: what is secret, and what a form gets anew
SECRET = re.compile(r"(?:^|_)(?:password|pin|code)$|^csrf_token$")
HIDDEN = frozenset({"once", "agreed", "version", "points", "sets"})
MOST_AGAIN = 400  # fields


def page(
    status: int, title: str, says: Message | str, *, mark: str = "", again: bool = False
) -> Response:
    """Return an error page; `mark` is the id in the log.

    With `again` it shows what was typed, and a button that sends it once more.
    """
    sent = _sent() if again else []
    typed = [(name, text) for name, text in sent if text and not _is_hidden(name)]
    body = render_template(
        "error.html", status=status, title=title, says=says, mark=mark, sent=sent, typed=typed
    )
    return make_response(body, status)


def _sent() -> list[tuple[str, str]]:
    """Return the fields of the form that was sent, without secrets and files."""
    if request.method != "POST" or request.is_json:
        return []
    every = list(request.form.items(multi=True))
    secret = any(SECRET.search(name) for name, _ in every if name != "csrf_token")
    if secret or len(every) > MOST_AGAIN:
        return []
    return [(name, text) for name, text in every if not SECRET.search(name)]


def _is_hidden(name: str) -> bool:
    return name in HIDDEN or name.startswith("expected_")


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


def _refused(refusal: Refusal | Busy) -> Response:
    titles = {
        Refused: _("You can't do this now"),
        Overtaken: _("Someone else changed this first"),
        Taken: _("This time has been taken"),
        Unknown: _("We can't find this"),
        Expired: _("This link has expired"),
        Busy: _("Nothing was booked or changed"),
        RateLimited: _("Wait a moment, then try again."),
    }
    kind = next(k for k in REFUSALS if isinstance(refusal, k))
    if isinstance(refusal, Unavailable):
        log.error("unavailable %s", request_id(), exc_info=refusal)
    answer = page(REFUSALS[kind], titles[kind], refusal.sentence, again=kind is Busy)
    if kind is Busy:
        answer.headers["Retry-After"] = RETRY_S
    return answer


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
    if (refusal := refusal_of(problem)) is not None:
        log.error("unavailable %s", mark, exc_info=problem)
        return _refused(refusal)
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
