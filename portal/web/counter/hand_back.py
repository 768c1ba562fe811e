"""Hand-back: the pickup code, the count of parts and bags, and the payment."""

from decimal import Decimal
from typing import Any

from flask import flash, request
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.counter import hand_back as verbs
from portal.orders.counter.hand_back import HandBack
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Already, Overtaken, Refusal
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.shop.states import PaymentMethod
from portal.web.counter import bags
from portal.web.counter.desk import WRONG, blame, expected_event_id, job_of, me, page, to
from portal.web.counter.pay_fields import SumField
from portal.web.kit.forms import (
    MultiCheckboxField,
    OnceForm,
    RadioChoiceField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit

KEYS_OF_CODE = {"inputmode": "numeric", "autocomplete": "off", "class": "code-input"}


class HandBackForm(OnceForm):
    """Who collects the parts, what was counted, what was paid."""

    pickup_code = TextField(_l("Pickup code"), longest=12, render_kw=KEYS_OF_CODE)
    override_name = TextField(_l("Handed to"), longest=80)
    override_reason = TextField(_l("Reason for handing back without the code"), longest=200)
    parts = MultiCheckboxField(_l("Count the parts with the customer"))
    bags = MultiCheckboxField(_l("Count the bags with the customer"))
    paid = SumField(_l("Amount paid now"))
    how = RadioChoiceField(_l("Paid by"), choices=PaymentMethod, default=PaymentMethod.CARD.value)
    owing_because = TextField(_l("Reason for the unpaid rest"), longest=200)


@require_role(Role.COUNTER)
@checks_its_form
def hand_back(code: str) -> Response:
    job = job_of(code)
    if job.row.state is not JobState.READY and request.method == "GET":
        return to("job", code=job.row.code)
    form = HandBackForm(data={"paid": _major(job), "parts": [], "bags": []})
    form.paid.currency = job.row.currency
    form.parts.choices = [(str(one.number), render(one.label)) for one in job.here]
    form.bags.choices = [(one.label, one.contents) for one in job.bags]
    if not form.is_submitted():
        return _page(job, form)
    if form.validate():
        try:
            verbs.hand_back(
                unit(),
                job.id,
                _given(form),
                expected_event_id=expected_event_id(),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Already:
            return to("job", code=job.row.code)
        except Overtaken as refusal:
            form.form_errors.append(refusal.sentence)
        except Refusal as refusal:
            blame(form, refusal)
        else:
            flash(
                _("Handed back. The tags are free again, and we have e-mailed the refit guide."),
                "go",
            )
            return to("job", code=job.row.code)
    return _page(job_of(code), form)


def _given(form: HandBackForm) -> HandBack:
    return HandBack(
        pickup_code=form.pickup_code.data or "",
        parts=tuple(int(one) for one in form.parts.data or ()),
        bags=tuple(form.bags.data or ()),
        paid_minor=form.paid.money.minor,
        how=PaymentMethod(form.how.data) if form.how.data else None,
        override_name=form.override_name.data or "",
        override_reason=form.override_reason.data or "",
        owing_because=form.owing_because.data or "",
    )


def _page(job: JobView, form: HandBackForm) -> Response:
    status: int = WRONG if form.errors or form.form_errors else 200
    return page(
        "hand_back",
        status,
        where=f"hand-back:{job.row.code}",
        job=job,
        form=form,
        recount=bags.to_recount(job),
    )


def _major(job: JobView) -> Any:
    return max(job.row.due.major, Decimal(0))
