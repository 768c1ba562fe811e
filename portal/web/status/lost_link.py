"""A lost slip: the link is sent to the address on record; everybody reads the same answer."""

from flask import render_template, request
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.orders.customer.lost_links import send_lost_links
from portal.orders.kernel.errors import RateLimited, Refused
from portal.web.kit.forms import PageForm, Required, TextField
from portal.web.kit.request_context import unit

WRONG, SLOW_DOWN = 422, 429


class LostLinkForm(PageForm):
    """A code, or an e-mail address."""

    known = TextField(
        _l("Code or e-mail address"),
        [Required(_l("Enter the code on your slip, or the e-mail address you gave us."))],
        longest=254,
    )


def lost_link() -> ResponseReturnValue:
    """Ask for a code or an e-mail address, and send the links to the address on record."""
    form = LostLinkForm()
    if not form.is_submitted():
        return _page(form)
    if not form.validate():
        return _page(form), WRONG
    try:
        send_lost_links(unit(), str(form.known.data), request.remote_addr or "")
    except RateLimited as refusal:
        form.blame("known", refusal.sentence)
        return _page(form), SLOW_DOWN
    except Refused as refusal:
        form.blame("known", refusal.sentence)
        return _page(form), WRONG
    return _page(form, sent=True)


def _page(form: LostLinkForm, *, sent: bool = False) -> str:
    return render_template("status/lost_link.html", form=form, sent=sent)
