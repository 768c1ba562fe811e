"""After the pickup: something is wrong, the same again, the record of the parts."""

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.customer import asking
from portal.orders.customer.order_again import order_again
from portal.orders.customer.record_view import (
    make_record_link,
    record_behind,
    record_handed_on,
)
from portal.orders.kernel.errors import Refusal
from portal.shop.moves import JobState
from portal.shop.states import ThreadKind
from portal.web.kit.forms import OnceForm, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.i18n import measures
from portal.web.kit.i18n.languages import language, render
from portal.web.kit.request_context import unit
from portal.web.status import digits
from portal.web.status.ask import WriteForm, take
from portal.web.status.page import look

WRONG = 422


class AgainForm(OnceForm):
    """The last digits of the telephone: with them the contact comes along."""

    digits = TextField(
        _l("Last four digits of your phone number"), longest=12, render_kw=digits.KEYS
    )


def wrong(token: str) -> ResponseReturnValue:
    """Take what the customer says is wrong with the parts, with a photo; show our answers."""
    view = look(token)
    if view.state is not JobState.HANDED_BACK:
        return redirect(url_for("status.show", token=view.token), 303)
    form = WriteForm()
    form.text.label.text = _("What is wrong?")
    if form.is_submitted() and take(form, view.token, ThreadKind.CASE):
        flash(_("Thank you for telling us. We answer as soon as we can."), "go")
        return redirect(url_for("status.wrong", token=view.token), 303)
    talk, by_letter = asking.talk_behind(unit(), view.token, ThreadKind.CASE)
    body = render_template(
        "status/wrong.html", view=view, talk=talk, by_letter=by_letter, form=form
    )
    return make_response(body, WRONG if form.errors else 200)


@checks_its_form
def again(token: str) -> ResponseReturnValue:
    """Begin a new order like this one."""
    view = look(token)
    form, known = AgainForm(), digits.is_known(view.token)
    if form.is_submitted() and form.validate():
        try:
            draft = order_again(
                unit(),
                view.token,
                digits=str(form.digits.data or ""),
                known=known,
                locale=language(),
                once_token=str(form.once.data or ""),
            )
        except Refusal as refusal:
            form.add_error(refusal.key or "digits", refusal.sentence)
        else:
            return redirect(url_for("intake.resume", token=draft), 303)
    body = render_template("status/again.html", job=view, form=form, known=known)
    return make_response(body, WRONG if form.errors or form.form_errors else 200)


def record(token: str) -> ResponseReturnValue:
    """Show the record of the parts, and its own link where there is one."""
    view = record_behind(unit(), token)
    measures.follow(view.sheet.units)
    own = url_for("status.record_handed_on", record=view.record_token) if view.record_token else ""
    link = f"{unit().base_url.rstrip('/')}{own}" if own else ""
    return make_response(render_template("status/record.html", record=view, link=link))


def record_link(token: str) -> ResponseReturnValue:
    """Make the link by which the record can be handed on."""
    view = look(token)
    try:
        make_record_link(unit(), view.token, once_token=str(request.form.get("once", "")))
    except Refusal as refusal:
        flash(render(refusal.sentence), "caution")
    return redirect(url_for("status.record", token=view.token, _anchor="hand-on"), 303)


def handed_on(record: str) -> ResponseReturnValue:
    """Show a record to who got it with the parts."""
    view = record_handed_on(unit(), record)
    return make_response(render_template("status/record.html", record=view, link=""))
