"""What the counter's pages share: the person, where a scan counts, and flash messages."""

from collections.abc import Callable
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.counter.hand_back import NotYet
from portal.orders.counter.job_view import JobView, code_of_part, job_view
from portal.orders.kernel.checks import CheckOpen
from portal.orders.kernel.errors import Refusal
from portal.shop.moves import JobState
from portal.shop.route import ON_THE_FLOOR, SCANNED_TO, STATIONS
from portal.web.kit.http.guards import the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit

WRONG = 422
# what the scripts must know of the route to read a scan without the server
SCANS = {
    "stations": " ".join(SCANNED_TO),
    "looks_only": " ".join(("floor:", *(f"floor:{one}" for one in STATIONS if one.is_gate))),
}


def me() -> int:
    """Return the id of the person at this device."""
    return the_person().person_id


def to(endpoint: str, **values: Any) -> Response:
    """Redirect to a page of the counter."""
    return redirect(url_for(f"counter.{endpoint}", **values), code=303)


def attempt(work: Callable[[], Any], then: Response, *, back: str = "") -> Response:
    """Call `work`, flash the result or the refusal, and redirect to `then` either way.

    Where a test stands against it, its page opens instead, with the way `back`.
    """
    try:
        says = work()
    except CheckOpen as refusal:
        return to_check(refusal, back)
    except Refusal as refusal:
        tell_refusal(refusal)
    else:
        if says:
            flash(render(says), "go")
    return then


def tell_refusal(refusal: Refusal) -> None:
    """Flash every reason of a refusal."""
    if isinstance(refusal, NotYet):
        for _field, says in refusal.reasons:
            flash(render(says), "stop")
    else:
        flash(render(refusal.sentence), "stop")


def to_check(refusal: CheckOpen, back: str) -> Response:
    """Tell a refusal, and open the test that it is about; `back` is where its reader came from."""
    tell_refusal(refusal)
    return to("check", **where_of(refusal), back=back or None)


def where_of(refusal: CheckOpen) -> dict[str, Any]:
    """Return the address values of the test that a refusal is about."""
    code = code_of_part(unit(), refusal.part_id)
    return {"code": code, "kind": refusal.kind.value, "part": refusal.part_id}


def page(template: str, status: int = 200, *, where: str = "", **values: Any) -> Response:
    """Render a counter page; `where` is what a scan on it means."""
    body = render_template(
        f"counter/{template}.html",
        where=where,
        person=the_person(),
        stages=ON_THE_FLOOR,
        **values,
    )
    return make_response(body, status)


def job_of(code: str) -> JobView:
    """Return the job of a code in an address."""
    return job_view(unit(), code)


def expected_event_id() -> int:
    """Return the number of the last event that the sent page showed; 0 when it names none."""
    text = request.form.get("expected_event_id", "")
    return int(text) if text.isdecimal() and len(text) < 18 else 0


def read_question() -> CustomerQuestion:
    """Return what the sent page told of everything that waits for an answer."""
    return CustomerQuestion.read(request.form.get("read", "")[:400])


def page_of_job(job: JobView) -> Response:
    """Redirect to a job's next step: its check-in, its hand-back, or its own page."""
    if job.row.state.is_expected:
        return to("check_in", code=job.row.code)
    if job.row.state is JobState.READY:
        return to("hand_back", code=job.row.code)
    return to("job", code=job.row.code)


def add_error(form: Any, refusal: Refusal) -> None:
    """Add a refusal to the field that it is about."""
    if isinstance(refusal, NotYet):
        for field, says in refusal.reasons:
            form.add_error(field, says)
    else:
        form.add_error(refusal.key, refusal.sentence)


def counted_parts(count: int) -> Any:
    """Return '1 part' or '4 parts'."""
    return _("1 part") if count == 1 else _("%(count)s parts", count=count)
