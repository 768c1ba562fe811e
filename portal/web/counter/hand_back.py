"""Hand-back: the pickup code, the count of parts and bags, and the payment.

The scan field takes whatever comes: a tag or a bag's label counts, a pickup code is checked. With
a script that happens on the page; without one, `counted` in the address carries the count, so that
the browser's Back has it too.
"""

from typing import Any

from flask import flash, request, session
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.counter import hand_back as verbs
from portal.orders.counter.hand_back import HandBack, is_pickup_code
from portal.orders.counter.job_view import JobView
from portal.orders.counter.on_account import firm_of_job
from portal.orders.kernel.errors import Already, Overtaken, Refusal
from portal.shop.moves import JobState
from portal.shop.roles import Role
from portal.shop.scans import Kind, read_scan, tag_number
from portal.shop.states import PaymentMethod
from portal.web.counter import bags
from portal.web.counter.desk import WRONG, add_error, expected_event_id, job_of, me, page, to
from portal.web.counter.pay import reversible
from portal.web.kit.forms import MultiCheckboxField, OnceForm, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit
from portal.web.kit.sum_fields import SumField

KEYS_OF_CODE = {"inputmode": "numeric", "autocomplete": "off", "class": "code-input"}
SHOWN_CODE = "pickup_code"


class HandBackForm(OnceForm):
    """Who collects the parts, what was counted, what was paid."""

    pickup_code = TextField(_l("Pickup code"), longest=12, render_kw=KEYS_OF_CODE)
    collector = TextField(_l("Handed to, if it is somebody else"), longest=80)
    override_reason = TextField(_l("Reason for handing back without the code"), longest=200)
    parts = MultiCheckboxField(_l("Count the parts with the customer"))
    bags = MultiCheckboxField(_l("Count the bags with the customer"))
    paid = SumField(_l("Amount paid now"))
    owing_because = TextField(_l("Reason for the unpaid rest"), longest=200)
    over_limit_because = TextField(_l("Why may the firm owe more?"), longest=200)


@require_role(Role.COUNTER)
@checks_its_form
def hand_back(code: str) -> Response:
    job = job_of(code)
    if job.row.state is not JobState.READY and request.method == "GET":
        return to("job", code=job.row.code)
    form = HandBackForm(data=_counted(job))
    form.paid.currency = job.row.currency
    form.parts.choices = [(str(one.number), render(one.label)) for one in job.here]
    form.bags.choices = [(one.label, one.contents) for one in job.bags_to_count]
    do = request.form.get("do", "")
    # Enter in a field looks at what was entered; only a button that says what it records records it
    if form.is_submitted():
        _put_in_place(form, job)
    if not form.is_submitted() or not form.validate() or do in ("", "look"):
        return _hand_back_page(job, form)
    try:
        verbs.hand_back(
            unit(),
            job.id,
            _given(form, job, do),
            expected_event_id=expected_event_id(),
            once_token=str(form.once.data or ""),
            who=me(),
        )
    except Already:
        return to("job", code=job.row.code)
    except Overtaken as refusal:
        form.form_errors.append(refusal.sentence)
    except Refusal as refusal:
        add_error(form, refusal)
    else:
        flash(
            _("Handed back. The tags are free again, and we have e-mailed the refit guide."),
            "go",
        )
        return to("job", code=job.row.code)
    return _hand_back_page(job_of(code), form)


def counted_in(address: str, job: JobView) -> list[str]:
    """Return the numbers of parts and the labels of bags that an address counts: 1.3.B1."""
    known = {str(part.number) for part in job.here} | {one.label for one in job.bags_to_count}
    return [one for one in dict.fromkeys(address[:400].split(".")) if one in known]


def part_or_bag(job: JobView, typed: str) -> str:
    """Return the number of the part, or the label of the bag, that was scanned; "" for neither."""
    scanned = read_scan(typed)
    own = job.row.code in scanned.candidates
    if own and scanned.bag in {one.label for one in job.bags_to_count}:
        return scanned.bag
    tag = tag_number(typed) if scanned.kind is Kind.TAG else ""
    for part in job.here:
        if (tag and part.tag == tag) or (own and part.number == scanned.part):
            return str(part.number)
    return ""


def _put_in_place(form: HandBackForm, job: JobView) -> None:
    """Take what was scanned into a field of names to where it belongs: a count, or the code."""
    for field in (form.collector, form.override_reason, form.owing_because):
        typed = str(field.data or "")
        one = part_or_bag(job, typed)
        if one:
            counted = form.parts if one.isdecimal() else form.bags
            counted.data = list(dict.fromkeys([*(counted.data or ()), one]))
        elif typed and is_pickup_code(unit(), job.id, typed):
            form.pickup_code.data = typed
        else:
            continue
        field.data = ""


def keep_code(code: str, digits: str) -> None:
    """Keep the pickup code that was scanned for the page that opens next."""
    session[SHOWN_CODE] = [code, digits]


def _counted(job: JobView) -> dict[str, Any]:
    counted = counted_in(request.args.get("counted", ""), job)
    shown = session.pop(SHOWN_CODE, None) if request.method == "GET" else None
    if shown and shown[0] != job.row.code:
        shown = None
    return {
        "parts": [one for one in counted if one.isdecimal()],
        "bags": [one for one in counted if not one.isdecimal()],
        "pickup_code": shown[1] if shown else "",
    }


def _given(form: HandBackForm, job: JobView, do: str) -> HandBack:
    """Return what was entered; `do` says how much was paid and how: all-card, some-cash, none."""
    how_much, _sep, how = do.partition("-")
    paid = {"all": max(job.row.due.minor, 0), "some": _minor(form)}.get(how_much, 0)
    return HandBack(
        pickup_code=form.pickup_code.data or "",
        parts=tuple(int(one) for one in form.parts.data or ()),
        bags=tuple(form.bags.data or ()),
        paid_minor=paid,
        how=PaymentMethod(how) if how in set(PaymentMethod) else None,
        collector=form.collector.data or "",
        override_reason=form.override_reason.data or "",
        owing_because="" if how_much == "all" else form.owing_because.data or "",
        over_limit_because=form.over_limit_because.data or "",
    )


def _minor(form: HandBackForm) -> int:
    return form.paid.money.minor


def _hand_back_page(job: JobView, form: HandBackForm) -> Response:
    status: int = WRONG if form.errors or form.form_errors else 200
    counted = [*(form.parts.data or ()), *(form.bags.data or ())]
    typed = form.pickup_code.data or ""
    return page(
        "hand_back",
        status,
        where=f"hand-back:{job.row.code}:{'.'.join(counted)}",
        job=job,
        form=form,
        recount=bags.to_recount(job),
        code_is=is_pickup_code(unit(), job.id, typed) if typed else None,
        pay_ways=tuple(PaymentMethod),
        firm=firm_of_job(unit(), job.id),
        reversible=reversible(job),
    )
