"""A job's receipts and invoices: printed, made out to a firm, and put right."""

from typing import Any

from flask import Response as FlaskResponse
from flask import flash, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.counter import receipts as verbs
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.invoice_paper import InvoicePaper
from portal.shop.roles import Role
from portal.web.counter.desk import WRONG, add_error, attempt, me, page, to
from portal.web.kit.buyer_form import BuyerForm
from portal.web.kit.forms import TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.paper.invoices import invoice_page, invoice_pdf, invoice_xml
from portal.web.kit.request_context import unit


class CorrectForm(BuyerForm):
    """The buyer as it should be, and why."""

    reason = TextField(_l("Reason, to stand on the credit note"), longest=verbs.LONGEST_REASON)


@require_role(Role.COUNTER)
@checks_its_form
def receipts(code: str) -> Response:
    """List a job's documents; before the invoice is issued, say to whom it is made out."""
    view = verbs.receipts(unit(), code)
    form = BuyerForm()
    if not form.is_submitted():
        form.show(view.buyer)
    elif form.validate() and (party := form.party()) is not None:
        try:
            verbs.make_out_to(unit(), view.job_id, party, who=me())
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            flash(_("Saved. The invoice will be made out to %(name)s.", name=party.name), "go")
            return to("receipts", code=view.code)
    return page("receipts", WRONG if form.errors else 200, view=view, form=form)


@require_role(Role.COUNTER)
def issue(code: str) -> Response:
    """Issue what is due for a job whose order ended before documents were kept."""
    view = verbs.receipts(unit(), code)

    def work() -> None:
        verbs.issue_now(unit(), view.job_id, who=me())

    return attempt(work, to("receipts", code=view.code))


@require_role(Role.OFFICE)
@checks_its_form
def correct(code: str) -> Response:
    """Take an invoice back by a credit note, and issue it anew."""
    view = verbs.receipts(unit(), code)
    form = CorrectForm()
    if not form.is_submitted():
        form.show(view.buyer)
        form.name.data = form.name.data or view.name
    elif form.validate() and (party := form.party()) is not None:
        try:
            number = verbs.correct(
                unit(),
                view.job_id,
                party,
                str(form.reason.data or ""),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            flash(_("Issued anew: %(number)s.", number=number), "go")
            return to("receipts", code=view.code)
    return page("correct_receipt", WRONG if form.errors else 200, view=view, form=form)


@require_role(Role.COUNTER)
def receipt(code: str, number: str) -> Any:
    """Show one document, to print."""
    paper = verbs.receipt(unit(), code, number)
    here: dict[str, Any] = {"code": code, "number": number}
    ways = [
        (_("PDF, A4"), url_for("counter.receipt_pdf", **here, size="a4")),
        (_("PDF, US Letter"), url_for("counter.receipt_pdf", **here, size="letter")),
        (_("Copy as PDF"), url_for("counter.receipt_pdf", **here, size="a4", copy="1")),
    ]
    if paper.has_norm:
        ways.append((_("For programs (XML)"), url_for("counter.receipt_xml", **here)))
    links = {
        "ways": ways,
        "back": url_for("counter.receipts", code=code),
        "back_label": _("Receipts and invoices"),
    }
    return invoice_page(paper, links)


@require_role(Role.COUNTER)
def receipt_pdf(code: str, number: str) -> Response:
    """Return one document as a PDF; `?copy=1` marks it as a copy."""
    paper: InvoicePaper = verbs.receipt(unit(), code, number)
    return invoice_pdf(paper, copy=request.args.get("copy") == "1")


@require_role(Role.COUNTER)
def receipt_xml(code: str, number: str) -> Response:
    """Return a firm's invoice as XML by the European norm."""
    paper = verbs.receipt(unit(), code, number)
    if not paper.has_norm:
        return to("receipt", code=code, number=number)
    answer = FlaskResponse(invoice_xml(paper), mimetype="application/xml")
    name = f"{paper.file_name}.xml"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
