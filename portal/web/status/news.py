"""Of what the customer is told: each kind is switched on and off behind the link."""

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.messages import Message
from portal.orders.kernel import telling
from portal.orders.kernel.errors import Unknown
from portal.shop.states import LetterKind
from portal.shop.telling import CHOICES, title_of
from portal.web.kit.forms import CheckboxField, MultiCheckboxField, PageForm
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import settings, unit

ONE_CLICK = ("List-Unsubscribe", "One-Click")  # RFC 8058, section 3.1


class NewsForm(PageForm):
    """One box for each kind of news, and one for text messages."""

    kinds = MultiCheckboxField(
        _l("We write to you about"),
        choices=lambda: [(one.value, render(title_of(one))) for one in CHOICES],
    )
    by_text = CheckboxField(_l("Also by text message"))


def news(token: str) -> ResponseReturnValue:
    """Show what the customer is told, and save the choices."""
    view = telling.telling(unit(), token)
    on = [one.value for one in CHOICES if one not in view.off]
    form = NewsForm(data={"kinds": on, "by_text": view.by_text})
    form.kinds.choices = [(one.value, render(title_of(one))) for one in view.kinds]
    texts = bool(settings().text_url) and view.has_phone
    if form.is_submitted() and form.validate():
        chosen = {LetterKind(one) for one in form.kinds.data or ()}
        by_text = bool(form.by_text.data) and texts
        telling.choose(unit(), view.token, chosen, by_text=by_text)
        flash(_("Saved."), "go")
        return redirect(url_for("status.news", token=view.token), 303)
    body = render_template("status/news.html", view=view, form=form, texts=texts)
    return make_response(body, 422 if form.errors else 200)


@checks_its_form
def one_kind(token: str, kind: str) -> ResponseReturnValue:
    """Ask whether a kind is to be switched off (GET), or do it at one press (POST, RFC 8058).

    The press comes from a mail program, which has no cookie of ours: there is no token to check.
    It can do nothing but this, and whoever holds the link could do it on the page.
    """
    view = telling.telling(unit(), token)
    chosen = next((one for one in CHOICES if one.value == kind), None)
    if chosen is None:
        raise Unknown(Message("There is no such news to switch off."))
    if request.method == "POST":
        if request.form.get(ONE_CLICK[0]) != ONE_CLICK[1]:
            return make_response("", 400)
        telling.switch_off(unit(), view.token, chosen)
    done = request.method == "POST" or chosen in view.off
    return render_template("status/news_off.html", view=view, kind=chosen, done=done)
