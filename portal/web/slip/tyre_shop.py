"""The sheet for the tyre shop, and the day on which the tyres go back on."""

from collections.abc import Iterator

from flask import Response, render_template, url_for
from flask.typing import ResponseReturnValue

from portal.notices.calendar import drop_off_calendar
from portal.orders.customer.tyre_shop import TyreShopSheet, tyre_shop_entry, tyre_shop_sheet
from portal.web.kit.i18n import measures
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import unit


def show_tyre_shop(token: str) -> ResponseReturnValue:
    """Show the sheet that the customer hands over at the tyre shop."""
    view = _sheet(token)
    return _sheet_page(view, "roomy")


def tyre_shop_pdf(token: str) -> ResponseReturnValue:
    """Return the sheet as a PDF of one page."""
    view = _sheet(token)
    return as_pdf(_denser(view), f"{view.code}-tyre-shop.pdf")


def tyre_shop_day(token: str) -> ResponseReturnValue:
    """Return the day on which the tyres go back on as an iCalendar file; it moves with our date."""
    body = drop_off_calendar(tyre_shop_entry(unit(), token))
    answer = Response(body, mimetype="text/calendar")
    answer.headers["Content-Disposition"] = 'attachment; filename="tyre-shop.ics"'
    return answer


def _sheet(token: str) -> TyreShopSheet:
    view = tyre_shop_sheet(unit(), token)
    measures.follow(view.units)
    return view


def _denser(view: TyreShopSheet) -> Iterator[str]:
    for fit in ("roomy", "tight", "roomy"):
        yield _sheet_page(view, fit)


def _sheet_page(view: TyreShopSheet, fit: str) -> str:
    links = {
        "prepare": url_for("status.prepare", token=view.token),
        "a4": url_for("slip.tyre_shop_pdf", token=view.token, size="a4"),
        "letter": url_for("slip.tyre_shop_pdf", token=view.token, size="letter"),
        "calendar": url_for("slip.tyre_shop_day", token=view.token),
    }
    return render_template("slip/tyre_shop.html", sheet=view, fit=fit, links=links)
