"""The way in: a link is asked for by e-mail, and opened by a press; and the way out."""

from flask import flash, make_response, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.access.firm_links import ask_for_link, end_firm_session, open_link
from portal.orders.kernel.errors import RateLimited, Refused
from portal.web.kit.forms import MailField, PageForm, Required
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit
from portal.web.trade import guard

WRONG, GONE, SLOW_DOWN = 422, 410, 429


class LinkForm(PageForm):
    """The address to which the link is sent."""

    email = MailField(
        _l("Your firm's e-mail address"), [Required(_l("Enter your firm's e-mail address."))]
    )


def ask() -> ResponseReturnValue:
    """Ask for the address; the answer is the same whether we know it or not."""
    if guard.firm_or_none() is not None:
        return redirect(url_for("trade.front"), 303)
    form = LinkForm()
    if not form.is_submitted():
        return render_template("trade/ask.html", form=form, sent=False)
    if not form.validate():
        return render_template("trade/ask.html", form=form, sent=False), WRONG
    try:
        ask_for_link(unit(), str(form.email.data), request.remote_addr or "")
    except RateLimited as refusal:
        form.add_error("email", refusal.sentence)
        return render_template("trade/ask.html", form=form, sent=False), SLOW_DOWN
    return render_template("trade/ask.html", form=form, sent=True)


def open_page(token: str) -> ResponseReturnValue:
    """Show the button that opens the page: programs fetch links of letters ahead of people."""
    return render_template("trade/open.html", token=token)


def use_link(token: str) -> ResponseReturnValue:
    """Open the firm's page in this browser; the link is used up."""
    try:
        key = open_link(unit(), token)
    except Refused as refusal:
        flash(render(refusal.sentence), "stop")
        return render_template("trade/ask.html", form=LinkForm(formdata=None), sent=False), GONE
    answer = make_response(redirect(url_for("trade.front"), 303))
    guard.remember(answer, key)
    return answer


@guard.for_firms
def sign_out() -> ResponseReturnValue:
    """Close the page in this browser."""
    end_firm_session(unit(), guard.firm_key())
    flash(_("Your page is closed in this browser."), "go")
    answer = make_response(redirect(url_for("trade.ask"), 303))
    guard.forget(answer)
    return answer
