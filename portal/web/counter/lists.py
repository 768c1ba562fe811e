"""Where a day begins, the call list, and what waits for pickup."""

from typing import Any

from flask import request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter import call_list, lists_view
from portal.shop.roles import Role
from portal.web.counter.desk import attempt, job_of, me, page, to
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def front() -> Response:
    """Redirect to the page on which a person's day begins."""
    return to("today" if the_person().may(Role.COUNTER) else "floor")


@require_role(Role.COUNTER)
def called(code: str) -> Response:
    """Record that a customer was called."""
    newest = request.form.get("newest", "")

    def work() -> Any:
        if not newest.isdecimal() or len(newest) > 12:
            return None
        call_list.called(unit(), job_of(code).id, int(newest), who=me())
        return _("Call recorded.")

    return attempt(work, to("today"))


@require_role(Role.COUNTER)
def shelf() -> Response:
    """Show what is ready and not picked up."""
    return page("shelf", rows=lists_view.shelf(unit()))
