"""The inspection sheet, on screen and as PDF."""

from flask import render_template, url_for
from flask.typing import ResponseReturnValue

from portal.orders.customer.inspection_view import InspectionSheet, sheet
from portal.web.kit.paper.printing import as_pdf
from portal.web.kit.request_context import unit


def show_sheet(token: str) -> ResponseReturnValue:
    return _page(sheet(unit(), token))


def sheet_pdf(token: str) -> ResponseReturnValue:
    seen = sheet(unit(), token)
    return as_pdf([_page(seen)], f"{seen.code}-inspection.pdf")


def _page(seen: InspectionSheet) -> str:
    links = {
        "status": url_for("status.show", token=seen.token),
        "a4": url_for("slip.sheet_pdf", token=seen.token, size="a4"),
        "letter": url_for("slip.sheet_pdf", token=seen.token, size="letter"),
    }
    return render_template("slip/inspection.html", sheet=seen, links=links)
