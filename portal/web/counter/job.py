"""One job, and the small actions on it that need no page of their own."""

from typing import Any

from flask import request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter import bags, cancellation, check_in, findings, hand_back, hanging
from portal.shop.roles import Role
from portal.shop.states import AnsweredHow
from portal.web.counter import gauge
from portal.web.counter.desk import attempt, job_of, me, page, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def job(code: str) -> Response:
    inspected = request.args.get("inspected", "")
    where = gauge.after(int(inspected)) if inspected.isdecimal() and len(inspected) < 10 else ""
    return page("job", job=job_of(code), marked=request.args.get("part", ""), where=where)


@require_role(Role.COUNTER)
def start(code: str) -> Response:
    seen = job_of(code)

    def work() -> Any:
        check_in.start(unit(), seen.id, who=me())
        return _("Work has started.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def ready(code: str) -> Response:
    seen = job_of(code)

    def work() -> Any:
        hand_back.make_ready(unit(), seen.id, who=me())
        return _("Ready. The customer has been told.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def take_back(code: str) -> Response:
    """Take a ready job back into work."""
    seen = job_of(code)

    def work() -> Any:
        hand_back.take_back(unit(), seen.id, request.form.get("reason", ""), who=me())
        return _("The job is back in work.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def bag_here(code: str) -> Response:
    """Record that a hardware bag is here, or lost."""
    seen = job_of(code)
    label, here = request.form.get("label", ""), request.form.get("present") == "yes"

    def work() -> None:
        bags.set_bag(unit(), seen.id, label, present=here, who=me())

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def hang(code: str) -> Response:
    """Save where the parts of a set hang, as it was agreed with the customer."""
    seen = job_of(code)
    key, place = request.form.get("set", "")[:8], request.form.get("hang", "")

    def work() -> Any:
        hanging.agree_hanging(unit(), seen.id, key, place, who=me())
        return _("Saved. The card at Coat says it.")

    return attempt(work, to("job", code=code, _anchor=f"hang-{key}"))


@require_role(Role.COUNTER)
def answer(code: str) -> Response:
    """Record the customer's answer to a finding, given at the counter."""
    seen = job_of(code)
    said = request.form.get("answer", "")
    number = request.form.get("finding", "")

    def work() -> Any:
        if not number.isdecimal() or said not in {"yes", "no", "withdraw"}:
            return None
        if said == "withdraw":
            findings.withdraw(unit(), seen.id, int(number), who=me())
            return _("Finding withdrawn. Check the parts again.")
        findings.answer_finding(
            unit(), seen.id, int(number), accepted=said == "yes", how=AnsweredHow.COUNTER, who=me()
        )
        return _("The customer agreed.") if said == "yes" else _("The customer declined.")

    back = "check_in" if request.form.get("back") == "check-in" else "job"
    return attempt(work, to(back, code=code))


@require_role(Role.COUNTER)
def end(code: str) -> Response:
    """End a job that will not be done: cancelled by its customer, or refused by us."""
    seen = job_of(code)
    turned = request.form.get("how") == "turn_away"

    def work() -> Any:
        verb = cancellation.turn_away if turned else cancellation.call_off
        verb(unit(), seen.id, request.form.get("reason", ""), who=me())
        return (
            _("Not accepted. The tags are free again.")
            if turned
            else _("Cancelled. The tags are free again.")
        )

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def not_brought(code: str) -> Response:
    seen = job_of(code)

    def work() -> Any:
        cancellation.mark_no_show(unit(), seen.id, who=me())
        return _("Marked as not brought.")

    return attempt(work, to("today"))
