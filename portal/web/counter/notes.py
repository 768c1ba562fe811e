"""Notes on a job, by staff for staff."""

from typing import Any

from flask import request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.kernel import notes
from portal.shop.roles import Role
from portal.shop.route import ON_THE_FLOOR, PartStage
from portal.web.counter.desk import attempt, job_of, me, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def write(code: str) -> Response:
    """Write a note on a job, for one station or for all."""
    view = job_of(code)

    def work() -> Any:
        notes.write_note(unit(), view.id, request.form.get("text", ""), stage=_stage(), who=me())
        return _("Note saved.")

    return attempt(work, _back(code))


@require_role(Role.FLOOR)
def remove(code: str) -> Response:
    """Remove a note."""
    view = job_of(code)
    number = request.form.get("note", "")

    def work() -> Any:
        notes.remove_note(
            unit(),
            view.id,
            int(number) if number.isdecimal() and len(number) < 12 else 0,
            who=me(),
        )
        return _("Note removed.")

    return attempt(work, _back(code))


def _stage() -> PartStage | None:
    return next((one for one in ON_THE_FLOOR if one.value == request.form.get("stage")), None)


def _back(code: str) -> Response:
    """Return the page that the form stood on."""
    named = request.form.get("back", "")
    page = named if named in ("check_in", "hand_back") else "job"
    return to(page, code=code, _anchor="notes")
