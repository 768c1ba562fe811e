"""The five named refusals of `orders`, and the usual accidents, as pages that say what to do."""

import logging

from flask import Flask, Response, make_response, render_template, request
from flask_babel import gettext as _
from werkzeug.exceptions import HTTPException

from portal.orders.errors import (
    Busy,
    Expired,
    MustWait,
    Overtaken,
    Refused,
    Taken,
    Unknown,
)
from portal.web.kit.desk import fresh_token

log = logging.getLogger("portal.web")

REFUSALS: dict[type[Exception], int] = {
    Refused: 409,
    Overtaken: 409,
    Taken: 409,
    Unknown: 404,
    Expired: 410,
    Busy: 503,
    MustWait: 429,
}


def page(status: int, title: str, says: str, *, mark: str = "") -> Response:
    """Return an error page; `mark` is the id under which we logged it."""
    body = render_template("error.html", status=status, title=title, says=says, mark=mark)
    return make_response(body, status)


def catch(app: Flask) -> None:
    """Give every refusal and accident its page."""
    for kind in REFUSALS:
        app.register_error_handler(kind, _refused)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _accident)


def stale_form() -> Response:
    """Return the page for a form that has lost its session."""
    return page(
        400,
        _("This page has been open for too long"),
        _("Nothing was changed. Go back, reload the page and send it again."),
    )


def _refused(refusal: Exception) -> Response:
    titles = {
        Refused: _("That is not possible now"),
        Overtaken: _("Somebody was faster"),
        Taken: _("That place is taken"),
        Unknown: _("We can't find that"),
        Expired: _("This link has run out"),
        Busy: _("One moment"),
        MustWait: _("Please wait a little"),
    }
    kind = next(k for k in REFUSALS if isinstance(refusal, k))
    return page(REFUSALS[kind], titles[kind], getattr(refusal, "sentence", str(refusal)))


def _http(problem: HTTPException) -> Response:
    code = problem.code or 500
    told = {
        400: (_("We could not read that"), _("Please go back and try once more.")),
        403: (_("This room is for others"), _("Your sign-in does not open this page.")),
        404: (
            _("There is no page here"),
            _("The address may be cut short. If it came from a slip, scan the code again."),
        ),
        405: (_("That can't be done here"), _("Please go back and use the buttons of the page.")),
        413: (
            _("That file is too large"),
            _("Nothing was saved. Please send a smaller photo, or go on without one."),
        ),
        429: (_("That was a little fast"), _("Please wait a minute and try once more.")),
    }
    if code in told:
        response = page(code, *told[code])
    elif code < 500:
        response = page(code, _("That did not work"), _("Please go back and try once more."))
    else:
        return _accident(problem)
    if problem.get_response().headers.get("Allow"):
        response.headers["Allow"] = problem.get_response().headers["Allow"]
    return response


def _accident(problem: Exception) -> Response:
    mark = fresh_token()[:8]
    log.error("accident %s on %s %s", mark, request.method, request.url_rule, exc_info=problem)
    return page(
        500,
        _("Something broke on our side"),
        _("Nothing of yours is lost. If it happens again, tell us the number below."),
        mark=mark,
    )
