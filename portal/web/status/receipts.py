"""Receipts and invoices behind the customer's link."""

from typing import Any

from flask import Response, flash, g, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.orders.customer import receipts_view
from portal.orders.customer.receipts_view import Receipts
from portal.orders.kernel.errors import Refusal
from portal.web.kit.buyer_form import BuyerForm
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.paper.invoices import invoice_page, invoice_pdf, invoice_xml
from portal.web.kit.request_context import unit

WRONG = 422
XML = "application/xml"


def receipts(token: str) -> ResponseReturnValue:
    """List the documents, and ask to whom the invoice is to be made out."""
    view = receipts_view.receipts(unit(), token)
    form = BuyerForm()
    form.show(view.buyer)
    return _receipts_page(view, form)


@checks_its_form
def make_out_to(token: str) -> ResponseReturnValue:
    """Take the firm's name and address for the invoice."""
    form = BuyerForm()
    party = form.party() if form.validate() else None
    if party is not None:
        try:
            receipts_view.make_out_to(unit(), token, party)
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            flash(_("Saved. Your invoice will be made out to %(name)s.", name=party.name), "go")
            return redirect(url_for("status.receipts", token=token), 303)
    return make_response(_receipts_page(receipts_view.receipts(unit(), token), form), WRONG)


def receipt(token: str, number: str) -> ResponseReturnValue:
    """Show one document."""
    paper = receipts_view.receipt(unit(), token, number)
    ways = [
        (_("PDF, A4"), url_for("status.receipt_pdf", token=token, number=number, size="a4")),
        (
            _("PDF, US Letter"),
            url_for("status.receipt_pdf", token=token, number=number, size="letter"),
        ),
    ]
    if paper.has_norm:
        xml = url_for("status.receipt_xml", token=token, number=number)
        ways.append((_("For programs (XML)"), xml))
    back = url_for("status.receipts", token=token)
    links: dict[str, Any] = {
        "ways": ways,
        "back": back,
        "back_label": _("Receipts and invoices"),
    }
    return invoice_page(paper, links)


def receipt_pdf(token: str, number: str) -> ResponseReturnValue:
    """Return one document as a PDF."""
    return invoice_pdf(receipts_view.receipt(unit(), token, number))


def receipt_xml(token: str, number: str) -> ResponseReturnValue:
    """Return a firm's invoice as XML by the European norm."""
    paper = receipts_view.receipt(unit(), token, number)
    if not paper.has_norm:
        return redirect(url_for("status.receipt", token=token, number=number), 303)
    answer = Response(invoice_xml(paper), mimetype=XML)
    name = f"{paper.file_name}.xml"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _receipts_page(view: Receipts, form: BuyerForm) -> str:
    g.pop("spoken", None)
    return render_template("status/receipts.html", view=view, form=form)
