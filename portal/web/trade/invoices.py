"""The invoices of a firm's months, as pages and files."""

from flask import Response, abort, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.orders.trade import money_view
from portal.web.kit.paper.invoices import invoice_page, invoice_pdf, invoice_xml
from portal.web.kit.request_context import unit
from portal.web.trade.guard import for_firms, the_firm

XML = "application/xml"


@for_firms
def invoices() -> ResponseReturnValue:
    """List the firm's documents."""
    firm = the_firm()
    view = money_view.invoices(unit(), firm.firm_id)
    return render_template("trade/invoices.html", firm=firm, view=view)


@for_firms
def invoice(number: str) -> ResponseReturnValue:
    """Show one document."""
    paper = money_view.invoice(unit(), the_firm().firm_id, number)
    ways = [
        (_("PDF, A4"), url_for("trade.one_invoice_pdf", number=number, size="a4")),
        (_("PDF, US Letter"), url_for("trade.one_invoice_pdf", number=number, size="letter")),
    ]
    if paper.has_norm:
        ways.append((_("For programs (XML)"), url_for("trade.one_invoice_xml", number=number)))
    back = {"back": url_for("trade.invoices"), "back_label": _("Invoices")}
    return invoice_page(paper, {"ways": ways, **back})


@for_firms
def one_invoice_pdf(number: str) -> ResponseReturnValue:
    """Return one document as a PDF."""
    return invoice_pdf(money_view.invoice(unit(), the_firm().firm_id, number))


@for_firms
def one_invoice_xml(number: str) -> ResponseReturnValue:
    """Return one document as XML by the European norm."""
    paper = money_view.invoice(unit(), the_firm().firm_id, number)
    if not paper.has_norm:
        abort(404)
    answer = Response(invoice_xml(paper), mimetype=XML)
    answer.headers["Content-Disposition"] = f'attachment; filename="{paper.file_name}.xml"'
    return answer
