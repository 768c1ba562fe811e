"""The customer changes the drop-off by the link: another time, or none."""

from flask import flash, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.orders.counter import customer_changes as changes
from portal.orders.counter.customer_changes import DropOffChange
from portal.orders.customer.status_view import StatusPage
from portal.orders.kernel.errors import Already, Overtaken, Refusal, Refused, Taken
from portal.shop.pricing.statements import DateStatement
from portal.web.kit.drop_off_form import MoveForm
from portal.web.kit.forms import OnceForm, PageForm, TextField
from portal.web.kit.i18n.languages import clock_time, render
from portal.web.kit.i18n.languages import day as day_text
from portal.web.kit.request_context import number_of, unit
from portal.web.status.page import look

WRONG = 422


class CallOffForm(OnceForm):
    """The confirmation: the digits are asked for where something was paid."""

    expected_event_id = HiddenField()
    digits = TextField(_l("Last four digits of your phone number"), longest=12)


def move(token: str) -> ResponseReturnValue:
    """Show the free times, each with its promise; move the drop-off to one of them."""
    page, view = _page_and_change(token)
    if view is None:
        return _nothing_to_change(page)
    form = MoveForm.of(view.free)
    if form.is_submitted() and form.validate():
        start, agreed = form.chosen
        try:
            changes.move_by_link(
                unit(),
                page.token,
                start,
                agreed=agreed,
                expected_event_id=number_of(form.expected_event_id.data),
                once_token=str(form.once.data or ""),
            )
        except (Refused, Overtaken, Taken) as refusal:
            form.add_error(refusal.key or "slot", refusal.sentence)
            page, view = _page_and_change(token)
            if view is None:
                return _nothing_to_change(page)
            form.slot.choices = MoveForm.of(view.free).slot.choices
        else:
            day, time = day_text(start), clock_time(start)
            flash(_("Your drop-off is now on %(day)s, %(time)s.", day=day, time=time), "go")
            return redirect(url_for("status.show", token=page.token), 303)
    return _show("status/move.html", page, view, form)


def call_off(token: str) -> ResponseReturnValue:
    """Ask whether the order is to be cancelled, with what becomes of the deposit; cancel it."""
    page, view = _page_and_change(token)
    if view is None:
        return _nothing_to_change(page)
    form = CallOffForm()
    if form.is_submitted() and form.validate():
        try:
            changes.call_off_by_link(
                unit(),
                page.token,
                digits=str(form.digits.data or ""),
                expected_event_id=number_of(form.expected_event_id.data),
                once_token=str(form.once.data or ""),
            )
        except Already:
            return _nothing_to_change(page)
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            flash(_("Your order is cancelled."), "tell")
            return redirect(url_for("status.show", token=page.token), 303)
    return _show("status/call_off.html", page, view, form)


def _page_and_change(token: str) -> tuple[StatusPage, DropOffChange | None]:
    """Return the job, and what can be changed; None where its parts are no longer expected."""
    page = look(token)
    try:
        return page, changes.drop_off_change(unit(), page.token)
    except Refused:
        return page, None


def _nothing_to_change(page: StatusPage) -> ResponseReturnValue:
    flash(_("The drop-off can't be changed any more. This is how your job stands."), "tell")
    return redirect(url_for("status.show", token=page.token), 303)


def _show(name: str, page: StatusPage, view: DropOffChange, form: PageForm) -> ResponseReturnValue:
    form["expected_event_id"].data = str(view.last_event_id)
    says = {one.name: _promise(one.offer.date) for one in view.free}
    body = render_template(name, job=page, view=view, form=form, says=says)
    return make_response(body, WRONG if form.errors or form.form_errors else 200)


def _promise(date: DateStatement) -> str:
    if not date.firm:
        return render(date.sentence)
    day, time = day_text(date.promised), clock_time(date.promised)
    return str(_("Ready by %(day)s, %(time)s", day=day, time=time))
