"""New order: one page by which staff take in a walk-in or a caller, by keyboard alone."""

from datetime import date, datetime
from typing import Any
from urllib.parse import quote as escaped

from flask import flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_wtf.csrf import validate_csrf
from wtforms import ValidationError

from portal.craft.messages import CraftError
from portal.orders.counter import known_customers
from portal.orders.counter import new_order as orders
from portal.orders.counter.known_customers import KnownCustomer
from portal.orders.counter.new_order import NewOrderView
from portal.orders.intake.draft_view import Times
from portal.orders.kernel.errors import Overtaken, Refusal, Taken
from portal.shop.codes import status_link
from portal.shop.roles import Role
from portal.web.counter.desk import WRONG, job_of, me, page, tell_refusal
from portal.web.counter.new_order_form import (
    KEYS,
    OrderOnPage,
    build,
    offer_slots,
    points_of,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import render
from portal.web.kit.paper import qr
from portal.web.kit.request_context import number_of, shop, unit


@require_role(Role.COUNTER)
@checks_its_form
def new_order() -> ResponseReturnValue:
    """Show the form; price what stands in it, and take the order in."""
    sent = request.method == "POST"
    do, _colon, which = request.form.get("do", "").partition(":")
    own = sent and _is_ours()
    form = build(
        extra=which or "new" if own and do == "add" else "",
        without=which if own and do == "remove" else "",
        known=_known(which) if own and do == "use" else None,
    )
    view = _view_if_priced(form)
    if sent and not own:
        flash(
            _("This page was open for too long. Your entries are still here: press again."), "stop"
        )
    elif do == "take":
        gone_on = _take(form, view)
        if gone_on is not None:
            return gone_on
        # what was blamed stays, and price and day are those of now
        view = view and _view(form)
    return _new_order_page(form, view)


@require_role(Role.COUNTER)
def price() -> ResponseReturnValue:
    """Return the regions that change while an order is entered."""
    form = build()
    return render_template("counter/_new_order_live.html", **_shown(form, _view_if_priced(form)))


@require_role(Role.COUNTER)
def taken_in(code: str) -> ResponseReturnValue:
    """Show what was taken in: what to print, the link for the customer, and the way on."""
    job = job_of(code)
    link = status_link(unit().base_url, job.token)
    says = _(
        "%(shop)s, order %(code)s: %(link)s", shop=shop().name, code=job.row.shown_code, link=link
    )
    return page(
        "taken_in",
        where=f"check-in:{job.row.code}",
        job=job,
        link=link,
        qr=qr.svg,
        text_href=f"sms:{job.phone}?body={escaped(says)}" if job.phone else "",
    )


def _is_ours() -> bool:
    """Whether the form carries a token of this session."""
    try:
        validate_csrf(request.form.get("csrf_token"))
    except ValidationError:
        return False
    return True


def _known(number: str) -> KnownCustomer | None:
    return known_customers.known_customer(unit(), number_of(number[:12]))


def _view_if_priced(form: OrderOnPage) -> NewOrderView | None:
    """Return what the order comes to; None while it can't be priced."""
    return _view(form) if form.priced else None


def _view(form: OrderOnPage) -> NewOrderView | None:
    times = Times.ONE if form.page.here else Times.ALL
    try:
        return orders.new_order_view(unit(), form.entered(), times=times)
    except (CraftError, ValueError):
        # half a form can't be priced
        return None


def _take(form: OrderOnPage, view: NewOrderView | None) -> ResponseReturnValue | None:
    """Take the order in; None where the page must be shown again."""
    if view is not None:
        offer_slots(form.page, view)
        if view.assessment and view.assessment.refused:
            flash(render(view.assessment.refused[0].says), "stop")
            return None
    if not form.validate(view) or view is None or view.assessment is None:
        return None
    if not form.page.agreed.data:
        flash(_("Read out the price and the day. Then press again to take the order in."))
        return None
    try:
        code = orders.take_in(
            unit(),
            form.entered(),
            agreed=str(form.page.agreed.data),
            confirmed=[one.key for one in view.assessment.to_confirm],
            once_token=str(form.page.once.data or ""),
            who=me(),
        )
    except Overtaken as refusal:
        flash(render(refusal.sentence), "caution")
    except Taken as refusal:
        form.page.add_error("slot", refusal.sentence)
    except Refusal as refusal:
        tell_refusal(refusal)
    else:
        return redirect(url_for("counter.taken_in", code=code), 303)
    return None


def _new_order_page(form: OrderOnPage, view: NewOrderView | None) -> ResponseReturnValue:
    group = form.group
    return page("new_order", WRONG if group.errors else 200, form=group, **_shown(form, view))


def _shown(form: OrderOnPage, view: NewOrderView | None) -> dict[str, Any]:
    """Return what the page shows beside its errors."""
    head = form.page
    if view is not None:
        offer_slots(head, view)
    if not form.agreed_to(view) if view else True:
        head.confirmed.data = False
    for field, now in (
        (head.agreed, view.agreement if view else ""),
        (head.points, points_of(view)),
    ):
        field.data = now
    typed = {"name": str(head["name"].data or ""), "phone": str(head["phone"].data or "")}
    return {
        "head": head,
        "sets": form.sets,
        "keys": "".join(one.key for one in form.sets),
        "view": view,
        "stock": shop().stock,
        "known": known_customers.known_customers(unit(), **typed),
        "too_late": _too_late(head.wanted_on, view),
        "sells_fetching": shop().tariff.sells_fetching,
        "more_keys": len(form.sets) < len(KEYS),
        "sets_told": tuple(one.part_set for one in form.sets),
    }


def _too_late(wanted: date | None, view: NewOrderView | None) -> frozenset[datetime]:
    """Return the drop-off times whose parts are ready only after the day that was named."""
    week = shop().week
    return frozenset(
        one.start
        for one in (view.offers if view and wanted else ())
        if wanted and week.local(one.ready_at).date() > wanted
    )
