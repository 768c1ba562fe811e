"""Ready parts: the pickup code for who knows the telephone, and when the customer means to come."""

from flask import flash, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.counter.contact_by_link import contact_now
from portal.orders.counter.link_digits import prove
from portal.orders.customer.pickup_times import (
    PickupTime,
    choose_pickup,
    named_time,
    pickup_times,
)
from portal.orders.customer.status_view import StatusPage
from portal.orders.kernel.errors import Refusal, Refused
from portal.shop.invoicing.pay_ways import pay_ways
from portal.shop.moves import JobState
from portal.web.kit.forms import OnceForm, PageForm, RadioChoiceField, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.i18n.languages import clock_time
from portal.web.kit.i18n.languages import day as day_text
from portal.web.kit.paper import qr
from portal.web.kit.request_context import unit
from portal.web.status import digits
from portal.web.status.page import look

WRONG = 422


class PickupCodeForm(PageForm):
    """The last digits of the telephone, for which the pickup code is shown."""

    digits = digits.digits_field()


class PickupTimeForm(OnceForm):
    """The hour in which the customer means to come."""

    slot = RadioChoiceField(_l("When will you come?"), [Required(_l("Choose a time."))])


@checks_its_form
def code(token: str) -> ResponseReturnValue:
    """Ask for the digits; then the job's page shows the pickup code in this browser."""
    page = look(token)
    if page.state is not JobState.READY:
        return _to_job(page)
    form = PickupCodeForm()
    if form.is_submitted() and form.validate():
        try:
            prove(unit(), page.token, str(form.digits.data or ""))
        except Refusal as refusal:
            form.add_error(refusal.key or "digits", refusal.sentence)
        else:
            digits.remember(page.token)
            return _to_job(page)
    now = contact_now(unit(), page.token)
    body = render_template("status/code.html", job=page, now=now, form=form)
    return make_response(body, WRONG if form.errors or form.form_errors else 200)


@checks_its_form
def pickup_time(token: str) -> ResponseReturnValue:
    """Show the hours in which parts can be collected; note the one that was chosen."""
    page = look(token)
    try:
        times = pickup_times(unit(), page.token)
    except Refused:
        return _to_job(page)
    form = PickupTimeForm(data={"slot": _chosen(page, times)})
    form.slot.choices = [(one.name, _span(one)) for one in times]
    if form.is_submitted() and form.validate():
        start = named_time(str(form.slot.data))
        assert start is not None  # it is one of the choices
        try:
            choose_pickup(unit(), page.token, start, once_token=str(form.once.data or ""))
        except Refusal as refusal:
            form.add_error(refusal.key or "slot", refusal.sentence)
        else:
            flash(
                _("Thank you. We expect you on %(day)s, %(time)s.", day=day_text(start),
                  time=clock_time(start)),
                "go",
            )  # fmt: skip
            return _to_job(page)
    body = render_template("status/pickup_time.html", job=page, form=form)
    return make_response(body, WRONG if form.errors or form.form_errors else 200)


def pay(token: str) -> ResponseReturnValue:
    """Show how what is owed can be paid from home."""
    page = look(token)
    if not page.pays_from_home:
        return _to_job(page)
    ways = pay_ways(page.shop.invoicing, page.shop.name, page.balance.to_pay, page.code)
    return make_response(render_template("status/pay.html", job=page, ways=ways, qr=qr.svg))


def _to_job(page: StatusPage) -> ResponseReturnValue:
    return redirect(url_for("status.show", token=page.token), 303)


def _chosen(page: StatusPage, times: tuple[PickupTime, ...]) -> str | None:
    return next((one.name for one in times if one.start == page.pickup_at), None)


def _span(one: PickupTime) -> str:
    return f"{day_text(one.start)}, {clock_time(one.start)}–{clock_time(one.end)}"
