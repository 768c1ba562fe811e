"""Messages that this browser shows: switched on and off behind the link."""

from flask import current_app, flash, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from werkzeug.wrappers import Response
from wtforms import HiddenField

from portal.notices.push_messages import Subscription
from portal.orders.kernel import push
from portal.orders.kernel.errors import Refused
from portal.web.kit.forms import PageForm
from portal.web.kit.http import assets
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import settings, unit


class PushForm(PageForm):
    """What the browser tells of itself; `on` is empty to switch messages off."""

    endpoint = HiddenField()
    p256dh = HiddenField()
    auth = HiddenField()
    on = HiddenField()


def messages(token: str) -> ResponseReturnValue:
    """Show whether this browser shows messages, and switch them."""
    marks = push.marks_of_browsers(unit(), token)
    form = PushForm()
    if form.is_submitted() and form.validate() and _switch(token, form):
        return redirect(url_for("status.messages", token=token), 303)
    key = push.public_push_key(unit())
    body = render_template("status/push.html", token=token, form=form, key=key, marks=marks)
    return make_response(body, 422 if form.is_submitted() else 200)


def _switch(token: str, form: PushForm) -> bool:
    to = Subscription(form.endpoint.data or "", form.p256dh.data or "", form.auth.data or "")
    if not form.on.data:
        push.switch_off(unit(), token, to.endpoint)
        flash(_("This browser shows no more messages about this order."), "go")
        return True
    try:
        push.switch_on(unit(), token, to, local=settings().push_local)
    except Refused as refusal:
        flash(render(refusal.sentence), "stop")
        return False
    flash(_("This browser now shows messages about this order."), "go")
    return True


def worker() -> Response:
    """Serve the worker from a folder that holds no page, so that it is in charge of none."""
    found: assets.Assets = current_app.extensions["assets"]
    return assets.answer(found.files["js/push_worker.js"], keep="no-cache")
