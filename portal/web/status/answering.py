"""Receives the answer to a finding from the status page."""

from flask import flash, make_response, redirect, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.orders.counter.customer_answers import answer_by_link
from portal.orders.kernel.errors import Already, RateLimited, Refused
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit
from portal.web.status.page import AnswerForm, forms_for, look, render_status


def answer(token: str) -> ResponseReturnValue:
    seen = look(token)
    forms = forms_for(seen)
    pressed = [(number, form) for number, form in forms.items() if form.yes.data or form.no.data]
    if not pressed:
        flash(_("There is nothing more to answer."), "tell")
        return redirect(url_for("status.show", token=seen.token), 303)
    number, form = pressed[0]
    if form.validate() and _taken(token, number, form):
        thanks = (
            _("Thank you. We'll go on with the work.")
            if form.yes.data
            else _("Thank you. We'll call you.")
        )
        flash(thanks, "tell")
        return redirect(url_for("status.show", token=seen.token), 303)
    return make_response(render_status(seen, forms), 422)


def _taken(token: str, number: int, form: AnswerForm) -> bool:
    try:
        answer_by_link(
            unit(),
            token,
            number,
            accepted=bool(form.yes.data),
            digits=str(form.digits.data),
            once_token=str(form.once.data),
        )
    except Already as refusal:
        flash(render(refusal.sentence), "caution")
        return True
    except (Refused, RateLimited) as refusal:
        return form.blame("digits", render(refusal.sentence))
    return True
