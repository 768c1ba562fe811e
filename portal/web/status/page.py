"""The status page behind the link on the slip."""

from collections.abc import Callable
from typing import Any

from flask import g, redirect, render_template, session, url_for
from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l
from markupsafe import Markup
from wtforms import HiddenField, SubmitField

from portal.orders.counter.finding_answers import CustomerQuestion
from portal.orders.customer.status_view import (
    Standing,
    StatusPage,
    code_behind,
    price_of,
    status,
)
from portal.shop.codes import printed_link
from portal.shop.rail import StopState
from portal.web.kit.forms import OnceForm, Required, TextField
from portal.web.kit.http.sessions import current_person
from portal.web.kit.i18n import measures
from portal.web.kit.paper import qr
from portal.web.kit.request_context import unit
from portal.web.pictures.cache import cached as kept_drawing
from portal.web.pictures.parts import part
from portal.web.status import page_cache
from portal.web.status.digits import is_known

ART = 160  # how large the picture is drawn, in px; on the rail it is shown smaller


class AnswerForm(OnceForm):
    """The answer to everything that was found: the confirmation, and two buttons.

    `read` is what the page showed: the numbers of the findings and the price with all of them.
    """

    read = HiddenField()

    digits = TextField(
        _l("Last four digits of your phone number"),
        [Required(_l("Enter the last four digits of your phone number."))],
        longest=12,
    )
    yes = SubmitField()
    no = SubmitField()

    @property
    def question(self) -> CustomerQuestion:
        """What was read on the page that was sent."""
        return CustomerQuestion.read(str(self.read.data or "")[:400])


def show(token: str) -> ResponseReturnValue:
    """Show the status page; staff who scan the same code are redirected to the job."""
    if current_person() is not None:
        return redirect(f"/counter/job/{code_behind(unit(), token)}", 303)
    # what one browser alone may read is never cached
    if "_flashes" in session or is_known(token):
        view = look(token)
        return render_status(view, form_for(view))
    return page_cache.page(token, look_again, lambda view: render_status(view, form_for(view)))


def price(token: str) -> ResponseReturnValue:
    """Show every line of the price."""
    view = look(token)
    quote, sets, account = price_of(unit(), token)
    return render_template(
        "status/price.html",
        view=view,
        price=quote,
        sets=sets,
        account=account,
        links=_links(view),
    )


def look(token: str) -> StatusPage:
    """Return the page's data; the shop that came with it serves the rest of the request."""
    view = look_again(token, None)
    assert view is not None  # nothing was known
    return view


def look_again(token: str, known: Callable[[Standing], bool] | None) -> StatusPage | None:
    """Return the page's data, or None where nothing has changed since the cached page."""
    view = status(unit(), token, known)
    if view is not None:
        g.shop = view.shop
        measures.follow(view.units)
    return view


def render_status(view: StatusPage, form: AnswerForm | None) -> str:
    """Render the page with the form for what was found."""
    # it hangs on the present stop; who has collected the parts is past them all
    hangs = any(stop.state is StopState.NOW for stop in view.stops)
    picture = _picture(view) if view.picture and hangs else ""
    return render_template(
        "status/status.html",
        view=view,
        answer=form,
        form=form if form and form.errors else None,
        picture=picture,
        known=is_known(view.token),
        qr=qr.svg,
        links=_links(view),
    )


def _picture(view: StatusPage) -> Markup:
    """Return the picture of the part as ordered, cached: it is the costliest part of the page."""
    one, stock = view.picture, view.shop.stock
    assert one is not None  # the caller looked
    finish = one.finish
    codes = (finish.colour, finish.face, finish.barrel) if finish else ()
    powders = tuple(stock.get(code) for code in codes)
    key = ("as ordered", one.kind, one.build, one.face, one.rim, one.tyre, finish, powders)
    return kept_drawing(key, lambda: _called(part(one, stock, ART, named=False)))


def _called(drawing: Markup) -> Markup:
    """Give the drawing an id, by which the page shows it a second time."""
    text = str(drawing).replace("<svg ", '<svg id="as-ordered" ', 1)
    return Markup(text)  # noqa: S704  # drawn here


def _links(view: StatusPage) -> dict[str, Any]:
    token = view.token
    return {
        "status": url_for("status.show", token=token),
        "printed": printed_link(unit().base_url, token),
        "slip": url_for("slip.show_slip", token=token),
        "pdf": url_for("slip.slip_pdf", token=token),
        "inspection": url_for("slip.show_sheet", token=token),
        "refit": url_for("slip.show_guide", token=token),
        "messages": url_for("status.messages", token=token),
        "calendar": url_for("slip.drop_off", token=token),
        "move": url_for("status.move", token=token),
        "call_off": url_for("status.call_off", token=token),
        "finish": url_for("status.finish", token=token),
        "contact": url_for("status.contact", token=token),
        "code": url_for("status.code", token=token),
        "record": url_for("status.record", token=token),
        "wrong": url_for("status.wrong", token=token),
        "again": url_for("status.again", token=token),
        "pickup_time": url_for("status.pickup_time", token=token),
        "pay": url_for("status.pay", token=token),
        "fetch": url_for("status.fetch", token=token),
        "answer": url_for("status.answer", token=token),
        "ask": url_for("status.ask", token=token),
        "news": url_for("status.news", token=token),
        "show": url_for("status.show_big", token=token),
        "prepare": url_for("status.prepare", token=token),
        "price": url_for("status.price", token=token),
        "receipts": url_for("status.receipts", token=token),
    }


def form_for(view: StatusPage) -> AnswerForm | None:
    """Return the form for what was found; None where nothing waits for an answer."""
    return AnswerForm(data={"read": read_of(view)}) if view.question else None


def read_of(view: StatusPage) -> str:
    """Return what the page tells of the question, as its form sends it back."""
    assert view.question is not None  # the caller looked
    return str(view.question.read)
