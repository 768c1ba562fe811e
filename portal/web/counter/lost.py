"""A part or a bag that can't be found: written off, or found again."""

from typing import Any

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.orders.counter import lost as verbs
from portal.orders.counter import lost_bags
from portal.orders.counter.job_view import code_of_part
from portal.orders.kernel.errors import Refusal
from portal.shop.money import Money
from portal.shop.roles import Role
from portal.web.counter.desk import (
    WRONG,
    add_error,
    attempt,
    expected_event_id,
    job_of,
    me,
    page,
    to,
)
from portal.web.kit.forms import OnceForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


class LostForm(OnceForm):
    """How it was lost."""

    reason = TextField(
        _l("How it was lost"),
        [Required(_l("Enter how it was lost. The customer will read this."))],
        longest=verbs.LONGEST_REASON,
    )
    expected_event_id = HiddenField()


@require_role(Role.OFFICE)
@checks_its_form
def lost(part_id: int) -> Response:
    """Show the order without the part; write it off and ask the customer."""
    job = job_of(code_of_part(unit(), part_id))
    part = next(one for one in job.parts if one.id == part_id)
    form = LostForm(data={"expected_event_id": str(job.last_event_id)})
    if form.validate_on_submit():
        try:
            verbs.write_off(
                unit(),
                part_id,
                form.reason.data or "",
                expected_event_id=expected_event_id(),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
            form.expected_event_id.data = str(job.last_event_id)
        else:
            flash(_("Written off. We have asked the customer how to go on."), "go")
            return to("job", code=job.row.code)
    status = WRONG if form.errors or form.form_errors else 200
    weighed = None if part.lost else verbs.weigh_loss(unit(), part_id)
    amount = Money(weighed.amount_minor, job.row.currency) if weighed else None
    return page("lost", status, job=job, part=part, form=form, weighed=weighed, amount=amount)


@require_role(Role.COUNTER)
def found(part_id: int) -> Response:
    """Put a found part back into the job."""
    code = code_of_part(unit(), part_id)

    def work() -> Any:
        verbs.found(unit(), part_id, who=me())
        return _("Part found.")

    return attempt(work, to("job", code=code))


@require_role(Role.COUNTER)
@checks_its_form
def lose_bag(code: str, label: str) -> Response:
    """Ask how a bag was lost; write it off and ask the customer."""
    job = job_of(code)
    bag = next((one for one in job.bags if one.label == label and one.present), None)
    if bag is None:
        return to("job", code=code)
    form = LostForm(data={"expected_event_id": str(job.last_event_id)})
    if form.validate_on_submit():
        try:
            lost_bags.lose_bag(
                unit(),
                job.id,
                label,
                form.reason.data or "",
                expected_event_id=expected_event_id(),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
            form.expected_event_id.data = str(job.last_event_id)
        else:
            flash(_("Written off. We have asked the customer how to go on."), "go")
            return to("job", code=code)
    status = WRONG if form.errors or form.form_errors else 200
    return page("lost_bag", status, job=job, bag=bag, form=form)


@require_role(Role.COUNTER)
def found_bag(code: str) -> Response:
    """Note that a lost bag is here again."""
    job = job_of(code)

    def work() -> Any:
        lost_bags.found_bag(unit(), job.id, request.form.get("label", ""), who=me())
        return _("Bag found.")

    return attempt(work, to("job", code=code))
