"""One job, and the small actions on it that need no page of their own."""

from typing import Any

from flask import request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter import (
    cancellation,
    check_in,
    finding_answers,
    findings,
    hand_back,
    hand_back_undo,
    hanging,
    unfetched,
)
from portal.orders.counter.on_account import firm_of_job
from portal.shop.roles import Role
from portal.shop.states import AnsweredHow
from portal.web.counter import desk, gauge
from portal.web.counter.desk import attempt, job_of, me, page, to
from portal.web.counter.pay import reversible
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.request_context import unit


@require_role(Role.FLOOR)
def job(code: str) -> Response:
    inspected = request.args.get("inspected", "")
    where = gauge.after(int(inspected)) if inspected.isdecimal() and len(inspected) < 10 else ""
    view, person = job_of(code), the_person()
    return page(
        "job",
        job=view,
        marked=request.args.get("part", ""),
        where=where,
        may_undo=hand_back_undo.may_undo(
            unit(), view.id, who=person.person_id, office=person.may(Role.OFFICE)
        ),
        reversible=reversible(view),
        firm=firm_of_job(unit(), view.id),
        storage=unfetched.kept_for_pickup(unit(), view.id),
    )


@require_role(Role.COUNTER)
def start(code: str) -> Response:
    view = job_of(code)

    def work() -> Any:
        check_in.start(unit(), view.id, who=me())
        return _("Work has started.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def ready(code: str) -> Response:
    view = job_of(code)

    def work() -> Any:
        hand_back.make_ready(unit(), view.id, who=me())
        return _("Ready. The customer has been told.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def take_back(code: str) -> Response:
    """Take a ready job back into work."""
    view = job_of(code)

    def work() -> Any:
        hand_back.take_back(unit(), view.id, request.form.get("reason", ""), who=me())
        return _("The job is back in work.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def undo_hand_back(code: str) -> Response:
    """Take a hand-back back whole, with the payment that was made with it."""
    view = job_of(code)

    def work() -> Any:
        taken = hand_back_undo.undo_hand_back(
            unit(),
            view.id,
            request.form.get("reason", ""),
            who=me(),
            office=the_person().may(Role.OFFICE),
        )
        if taken:
            return _(
                "Back on the shelf. These tags are on other parts by now: %(tags)s.",
                tags=", ".join(taken),
            )
        return _("Back on the shelf. The payment is taken back too.")

    return attempt(work, to("job", code=code))


@require_role(Role.OFFICE)
def end_unfetched(code: str) -> Response:
    """End a job that nobody collects, once the shop's time is over."""
    view = job_of(code)

    def work() -> Any:
        unfetched.end_unfetched(unit(), view.id, request.form.get("reason", ""), who=me())
        return _("Ended. The tags are free again.")

    return attempt(work, to("job", code=code))


@require_role(Role.OFFICE)
def back_on_shelf(code: str) -> Response:
    """Put a job back on the shelf that was ended because nobody collected it."""
    view = job_of(code)

    def work() -> Any:
        unfetched.back_on_shelf(unit(), view.id, who=me())
        return _("Back on the shelf.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def hang(code: str) -> Response:
    """Save where the parts of a set hang, as it was agreed with the customer."""
    view = job_of(code)
    key, place = request.form.get("set", "")[:8], request.form.get("hang", "")

    def work() -> Any:
        hanging.agree_hanging(unit(), view.id, key, place, who=me())
        return _("Saved. The card at Coat shows it.")

    return attempt(work, to("job", code=code, _anchor=f"hang-{key}"))


@require_role(Role.COUNTER)
def answer(code: str) -> Response:
    """Record the customer's answer to what was found, given at the counter.

    `finding` names one of them, else it is the answer to all that waits.
    """
    view = job_of(code)
    said = request.form.get("answer", "")
    number = request.form.get("finding", "")

    def work() -> Any:
        one = int(number) if number.isdecimal() and len(number) < 12 else 0
        if said == "withdraw" and one:
            findings.withdraw(unit(), view.id, one, who=me())
            return _("Finding withdrawn. Check the parts again.")
        if said == "ask":
            findings.ask(unit(), view.id)
            return _("Asked. One letter tells everything that waits.")
        if said not in {"yes", "no"}:
            return None
        yes, how = said == "yes", AnsweredHow.COUNTER
        if one:
            finding_answers.answer_finding(unit(), view.id, one, accepted=yes, how=how, who=me())
        else:
            finding_answers.answer_all(
                unit(), view.id, desk.read_question(), accepted=yes, how=how, who=me()
            )
        return _("The customer agreed.") if yes else _("The customer declined.")

    back = "check_in" if request.form.get("back") == "check-in" else "job"
    return attempt(work, to(back, code=code))


@require_role(Role.COUNTER)
def end(code: str) -> Response:
    """End a job that will not be done: cancelled by its customer, or refused by us."""
    view = job_of(code)
    turned = request.form.get("how") == "turn_away"

    def work() -> Any:
        verb = cancellation.turn_away if turned else cancellation.call_off
        verb(unit(), view.id, request.form.get("reason", ""), who=me())
        return (
            _("Not accepted. The tags are free again.")
            if turned
            else _("Cancelled. The tags are free again.")
        )

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
def not_brought(code: str) -> Response:
    view = job_of(code)

    def work() -> Any:
        cancellation.mark_no_show(unit(), view.id, who=me())
        return _("Marked as not brought.")

    return attempt(work, to("today"))
