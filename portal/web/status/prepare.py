"""The preparation on the phone: what comes off, what is done, and what is left to us."""

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.orders.customer import handing_over, preparing
from portal.orders.customer.preparing import Preparation
from portal.orders.kernel.errors import Already, Refusal, Refused
from portal.web.kit.forms import OnceForm, PageForm, Required, TextField
from portal.web.kit.i18n import measures
from portal.web.kit.i18n.languages import label, render
from portal.web.kit.request_context import unit

WRONG = 422


class TickForm(PageForm):
    """The ticks; their boxes are drawn beside each item."""


class HandOverForm(OnceForm):
    """The confirmation, with price and date as they were read."""

    agreement = HiddenField()
    event = HiddenField()
    digits = TextField(
        _l("Last four digits of your phone number"),
        [Required(_l("Enter the last four digits of your phone number."))],
        longest=12,
    )


def prepare(token: str) -> ResponseReturnValue:
    """Show what comes off and how; save the ticks."""
    view = preparing.preparation(unit(), token)
    form = TickForm()
    if form.is_submitted():
        try:
            preparing.tick(unit(), view.token, frozenset(request.form.getlist("done")[:200]))
        except Refused as refusal:
            flash(render(refusal.sentence), "caution")
            return redirect(url_for("status.show", token=view.token), 303)
        flash(_said(preparing.preparation(unit(), token)), "go")
        return redirect(url_for("status.prepare", token=view.token), 303)
    measures.follow(view.units)
    return render_template("status/prepare.html", view=view, form=form)


def cannot(token: str, name: str) -> ResponseReturnValue:
    """Tell what it costs that we take an item off, and until when; take it over."""
    form = HandOverForm()
    try:
        weighed = handing_over.weigh_hand_over(unit(), token, name)
    except Refused as refusal:
        flash(render(refusal.sentence), "tell")
        return redirect(url_for("status.prepare", token=token), 303)
    if form.is_submitted() and form.validate():
        read = {"agreement": str(form.agreement.data), "event": str(form.event.data or "0")}
        try:
            handing_over.hand_over(
                unit(),
                token,
                name,
                read=read,
                digits=str(form.digits.data),
                once_token=str(form.once.data),
            )
        except Already:
            return redirect(url_for("status.prepare", token=token), 303)
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
            weighed = handing_over.weigh_hand_over(unit(), token, name)
        else:
            flash(_("We take it off: %(what)s.", what=_items(weighed)), "go")
            return redirect(url_for("status.prepare", token=token), 303)
    form.agreement.data, form.event.data = weighed.agreement, str(weighed.last_event_id)
    body = render_template("status/cannot.html", token=token, view=weighed, form=form)
    return make_response(body, WRONG if form.errors or form.form_errors else 200)


def _items(weighed: handing_over.HandOver) -> str:
    return ", ".join(str(label(one)) for one in weighed.items)


def _said(view: Preparation) -> str:
    if not view.open:
        return str(_("Saved. Everything is off: you're ready to come."))
    done, every = len(view.tasks) - len(view.open), len(view.tasks)
    return str(_("Saved: %(done)s of %(all)s done.", done=done, all=every))
