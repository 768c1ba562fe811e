"""Money of a job: payments, refunds, discounts and goodwill, and putting them right."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from flask import flash
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.craft.messages import Message
from portal.orders.counter import payments as verbs
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal, Unknown
from portal.shop.ledger import EntryKind
from portal.shop.money import Money
from portal.shop.roles import Role
from portal.shop.states import PaymentMethod
from portal.web.counter.desk import WRONG, add_error, job_of, me, page, to
from portal.web.kit.forms import OnceForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit
from portal.web.kit.sum_fields import (
    GIVEN_BACK,
    TAKEN_OFF,
    WAYS,
    Pressed,
    SumField,
    pressed,
    sum_buttons,
)

ENTER_AMOUNT = _l("Enter the amount.")
ENTER_REASON = _l("Enter the reason.")


class PayForm(OnceForm):
    """The amount; its way is the button."""

    amount = SumField(_l("Amount paid now"), [Required(ENTER_AMOUNT)])


class RefundForm(OnceForm):
    """What goes back to the customer, and why."""

    amount = SumField(_l("Amount given back now"), [Required(ENTER_AMOUNT)])
    reason = TextField(_l("Reason"), [Required(ENTER_REASON)], longest=200)


class ReduceForm(OnceForm):
    """What is taken off the price, and why."""

    amount = SumField(_l("Amount off the price"), [Required(ENTER_AMOUNT)])
    reason = TextField(_l("Reason"), [Required(ENTER_REASON)], longest=200)


class ReverseForm(OnceForm):
    """Why an entry is wrong."""

    reason = TextField(_l("What was wrong?"), [Required(ENTER_REASON)], longest=200)


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One page of money: its form, the buttons, the sum to begin with, and what a press does."""

    endpoint: str
    form: type[OnceForm]
    buttons: Mapping[str, Any]
    suggested: Callable[[JobView], Money]
    act: Callable[[JobView, Any, Pressed], None]
    done: Any


@require_role(Role.COUNTER)
@checks_its_form
def pay(code: str) -> Response:
    """A payment before the hand-back: a deposit, or a finding that is paid at once."""
    return _answer(code, PAY)


@require_role(Role.OFFICE)
@checks_its_form
def refund(code: str) -> Response:
    """Money that goes back to the customer."""
    return _answer(code, REFUND)


@require_role(Role.OFFICE)
@checks_its_form
def reduce(code: str) -> Response:
    """A discount, or goodwill for what went wrong."""
    return _answer(code, REDUCE)


@require_role(Role.COUNTER)
@checks_its_form
def reverse(code: str, entry_id: int) -> Response:
    """The counter-entry of an entry that was wrong."""
    job, form = job_of(code), ReverseForm()
    entry = job.account.entry(entry_id)
    if entry is None:
        raise Unknown(Message("We can't find this entry."))
    if form.validate_on_submit():
        once, why = str(form.once.data or ""), str(form.reason.data)
        try:
            verbs.reverse(unit(), job.id, entry_id, why, once_token=once, who=me())
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            flash(_("Reversed."), "go")
            return to("job", code=job.row.code)
    return page("reverse", WRONG if form.errors else 200, job=job, form=form, entry=entry)


def _answer(code: str, sheet: _Sheet) -> Response:
    job = job_of(code)
    begin = sheet.suggested(job)
    form: Any = sheet.form(data={"amount": begin.major if begin.minor else None})
    form.amount.currency = begin.currency
    above = False
    if form.validate_on_submit():
        chosen = pressed(form.amount)
        if not form.amount.money.minor:
            form.add_error("amount", ENTER_AMOUNT)
        elif chosen is not None and chosen.way in sheet.buttons:
            try:
                sheet.act(job, form, chosen)
            except verbs.AboveOwed as refusal:
                above = True
                add_error(form, refusal)
            except Refusal as refusal:
                add_error(form, refusal)
            else:
                flash(str(sheet.done), "go")
                return to("job", code=job.row.code)
    return _pay_page(job, form, sheet, begin, above=above)


def _pay_page(job: JobView, form: Any, sheet: _Sheet, begin: Money, *, above: bool) -> Response:
    amount = form.amount
    readable = above or (amount.data is not None and not amount.errors)
    shown = amount.money if readable else begin
    buttons = sum_buttons(sheet.buttons, shown, confirms=above) if shown.minor else []
    return page(
        "pay",
        WRONG if form.errors else 200,
        job=job,
        form=form,
        buttons=buttons,
        endpoint=sheet.endpoint,
        asked=form.is_submitted() and not form.errors,
        reversible=reversible(job),
    )


def reversible(job: JobView) -> frozenset[int]:
    """Return the entries of a job that the person at this device may reverse."""
    return verbs.reversible(unit(), job.account, who=me())


def _pay(job: JobView, form: Any, chosen: Pressed) -> None:
    verbs.take_payment(
        unit(),
        job.id,
        chosen.minor,
        PaymentMethod(chosen.way),
        confirmed_minor=chosen.minor if chosen.confirms else None,
        once_token=str(form.once.data or ""),
        who=me(),
    )


def _refund(job: JobView, form: Any, chosen: Pressed) -> None:
    way, why, once = PaymentMethod(chosen.way), str(form.reason.data), str(form.once.data or "")
    verbs.refund(unit(), job.id, chosen.minor, way, why, once_token=once, who=me())


def _reduce(job: JobView, form: Any, chosen: Pressed) -> None:
    kind, why, once = EntryKind(chosen.way), str(form.reason.data), str(form.once.data or "")
    verbs.reduce(unit(), job.id, kind, chosen.minor, why, once_token=once, who=me())


def _due_now(job: JobView) -> Money:
    """The deposit while the parts are not done, then all that is owed."""
    deposit = job.account.deposit_due
    return deposit if deposit.minor and job.row.state.is_open else job.account.to_pay


PAY = _Sheet("counter.pay", PayForm, WAYS, _due_now, _pay, _l("Payment recorded."))
REFUND = _Sheet(
    "counter.refund",
    RefundForm,
    GIVEN_BACK,
    lambda job: job.account.credit,
    _refund,
    _l("Refund recorded."),
)
REDUCE = _Sheet(
    "counter.reduce",
    ReduceForm,
    TAKEN_OFF,
    lambda job: Money(0, job.row.currency),
    _reduce,
    _l("Taken off the price."),
)
