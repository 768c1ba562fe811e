"""Receives the answer to a finding from the status page."""

from flask import flash, make_response, redirect, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.orders.counter.customer_answers import answer_by_link
from portal.orders.customer.status_view import StatusPage
from portal.orders.kernel.errors import Already, Overtaken, RateLimited, Refused
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit
from portal.web.status.page import AnswerForm, form_for, look, read_of, render_status


def answer(token: str) -> ResponseReturnValue:
    view = look(token)
    form = form_for(view)
    if form is None or not (form.yes.data or form.no.data):
        flash(_("There is nothing more to answer."), "tell")
        return redirect(url_for("status.show", token=view.token), 303)
    if not form.validate():
        return _again(view, form)
    try:
        _give(token, form)
    except (Already, Overtaken) as refusal:
        flash(render(refusal.sentence), "caution")
    except (Refused, RateLimited) as refusal:
        form.add_error("digits", render(refusal.sentence))
        return _again(view, form)
    else:
        thanks = (
            _("Thank you. We'll go on with the work.")
            if form.yes.data
            else _("Thank you. We'll call you.")
        )
        flash(thanks, "tell")
    return redirect(url_for("status.show", token=view.token), 303)


def _again(view: StatusPage, form: AnswerForm) -> ResponseReturnValue:
    # the page tells the question as it is now
    form.read.data = read_of(view)
    return make_response(render_status(view, form), 422)


def _give(token: str, form: AnswerForm) -> None:
    answer_by_link(
        unit(),
        token,
        form.question,
        accepted=bool(form.yes.data),
        digits=str(form.digits.data),
        once_token=str(form.once.data),
    )
