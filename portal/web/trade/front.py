"""What a firm sees first, its jobs, its prices."""

from collections.abc import Callable

from flask import abort, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.craft.parts import Item
from portal.orders.trade import jobs_view, list_view, money_view
from portal.shop.money import Money
from portal.shop.pricing.part_prices import PartPrice, PricedBy
from portal.web.kit.i18n.languages import amount, number
from portal.web.kit.request_context import unit
from portal.web.trade.guard import for_firms, the_firm

LONGEST = 80


@for_firms
def front() -> ResponseReturnValue:
    """Show what is ready, what is here, what is to come, and what is owed."""
    firm = the_firm()
    lists = list_view.lists_of(unit(), firm.firm_id)
    return render_template(
        "trade/front.html",
        firm=firm,
        view=jobs_view.front(unit(), firm.firm_id),
        drafts=[one for one in lists if one.booked_at is None],
    )


@for_firms
def jobs() -> ResponseReturnValue:
    """List the firm's jobs, or those that match a search."""
    firm = the_firm()
    typed = request.args.get("q", "")[:LONGEST]
    every = request.args.get("all") == "1"
    found = jobs_view.jobs(unit(), firm.firm_id, typed, every=every)
    return render_template("trade/jobs.html", firm=firm, jobs=found, typed=typed, every=every)


@for_firms
def job(code: str) -> ResponseReturnValue:
    """Go to the page of one of the firm's jobs."""
    found = jobs_view.own_job(unit(), the_firm().firm_id, code)
    if not found.token:
        abort(404)
    return redirect(url_for("status.show", token=found.token), 303)


@for_firms
def prices() -> ResponseReturnValue:
    """Show what the firm pays."""
    firm = the_firm()
    view = money_view.prices(unit(), firm.firm_id)
    tariff = view.tariff

    def sum_of(minor: int) -> Money:
        return Money(minor, tariff.currency)

    extras = [
        (_("Take a tyre off"), amount(sum_of(tariff.removal.off[Item.TYRE]))),
        (_("Fit a tyre and balance it"), amount(sum_of(tariff.removal.refit[Item.TYRE]))),
        (_("Minimum order"), amount(sum_of(tariff.minimum))),
    ]
    if tariff.sells_fetching:
        extras.append((_("Fetch and bring back, once per order"), amount(sum_of(tariff.fetching))))
    return render_template(
        "trade/prices.html",
        firm=firm,
        view=view,
        wheels=[(number(float(one.up_to)), sum_of(one.price)) for one in tariff.wheels.bands],
        systems=[(kind, sum_of(one.per_wheel)) for kind, one in tariff.finishes.systems.items()],
        parts=[(kind, _each(one, sum_of)) for kind, one in tariff.parts.items()],
        extras=extras,
    )


def _each(price: PartPrice, sum_of: Callable[[int], Money]) -> str:
    """Return what a part costs that isn't a wheel, as the price list has it."""
    if price.by is PricedBy.PIECE:
        return str(amount(sum_of(price.price)))
    if price.by is PricedBy.BAND:
        first, last = sum_of(price.bands[0].price), sum_of(price.bands[-1].price)
        return str(
            _("%(low)s to %(high)s, by its longest side", low=amount(first), high=amount(last))
        )
    each, least = amount(sum_of(price.per_m2)), amount(sum_of(price.at_least))
    return str(_("%(each)s per m², at least %(least)s", each=each, least=least))
