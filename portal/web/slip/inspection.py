"""The inspection sheet, on screen and as PDF."""

from flask import current_app, render_template, request, url_for
from flask.typing import ResponseReturnValue

from portal.orders.looking_sheet import Sheet, sheet
from portal.web.kit.desk import unit
from portal.web.slip.pages import as_pdf


def show_sheet(token: str) -> ResponseReturnValue:
    """Show the sheet, ready for the browser's own printing."""
    return _page(sheet(unit(), token))


def sheet_pdf(token: str) -> ResponseReturnValue:
    """Return the sheet as a PDF, A4 or US Letter."""
    from portal.web.slip import press  # noqa: PLC0415  # heavy, and only a PDF pays for it

    seen = sheet(unit(), token)
    paper = press.Paper.LETTER if request.args.get("size") == "letter" else press.Paper.A4
    pdf = press.pdf_of(current_app, [_page(seen)], paper)
    return as_pdf(pdf, f"{seen.code}-inspection.pdf")


def _page(seen: Sheet) -> str:
    links = {
        "status": url_for("status.show", token=seen.token),
        "a4": url_for("slip.sheet_pdf", token=seen.token, size="a4"),
        "letter": url_for("slip.sheet_pdf", token=seen.token, size="letter"),
    }
    return render_template("slip/inspection.html", sheet=seen, links=links)
