"""Ask us: the customer's questions about a job, and our answers, on one page behind the link."""

from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.orders.customer import asking
from portal.orders.kernel.errors import RateLimited, Refusal, Refused
from portal.shop.states import ThreadKind
from portal.web.kit.forms import AreaField, OnceForm, PhotoField, Required
from portal.web.kit.request_context import settings, unit
from portal.web.kit.typed_text import plain
from portal.web.status.page import look

WRONG, SLOW_DOWN = 422, 429


class WriteForm(OnceForm):
    """What the customer writes, with a photo; `kept` is the token of a photo that was sent before.

    Words that name the matter are given by the page.
    """

    text = AreaField(
        _l("Your question"),
        [Required(_l("Write what it is about."))],
        longest=asking.LONGEST,
        filters=[plain],
    )
    photo = PhotoField(_l("Photo"))
    kept = HiddenField()


def ask(token: str) -> ResponseReturnValue:
    """Show the questions and answers about a job, and take another question."""
    view = look(token)
    form = WriteForm()
    if form.is_submitted() and take(form, view.token, ThreadKind.QUESTION):
        flash(_("We have your question."), "go")
        return redirect(url_for("status.ask", token=view.token), 303)
    talk, by_letter = asking.talk_behind(unit(), view.token, ThreadKind.QUESTION)
    body = render_template("status/ask.html", view=view, talk=talk, by_letter=by_letter, form=form)
    return make_response(body, _status(form))


def take(form: WriteForm, token: str, kind: ThreadKind) -> bool:
    """Send what was written; False where the form has to be shown again, with its errors.

    A photo is kept even when something else is wrong, or it would have to be chosen again.
    """
    if request.form.get("unwanted"):
        asking.drop_photo(unit(), token)
        form.kept.data = ""
        return False
    good = form.validate()
    if not _keep_photo(form, token) or not good:
        return False
    try:
        asking.write_by_link(
            unit(),
            token,
            kind,
            asking.Written(str(form.text.data), str(form.kept.data or "")),
            once_token=str(form.once.data or ""),
            address=request.remote_addr or "",
        )
    except (Refused, RateLimited) as refusal:
        return form.add_error(refusal.key or "text", refusal.sentence)
    return True


def _keep_photo(form: WriteForm, token: str) -> bool:
    sent: Any = form.photo.data
    if not getattr(sent, "filename", ""):
        return True
    try:
        limit = settings().photo_limit_mb
        form.kept.data = asking.keep_photo(unit(), token, sent.stream, limit_mb=limit)
    except Refusal as refusal:
        return form.add_error(refusal.key or "photo", refusal.sentence)
    return True


def _status(form: WriteForm) -> int:
    return WRONG if form.errors else 200
