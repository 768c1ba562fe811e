"""Invoices of a month: the draft, the invoice with what was paid on it, and how it is put right."""

from datetime import date
from typing import Any

from flask import Response, flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refusal, Unknown
from portal.orders.office import month_payments, month_view, monthly
from portal.orders.office.month_view import FirmInvoiceView
from portal.shop.roles import Role
from portal.shop.states import PaymentMethod
from portal.web.kit.forms import OnceForm, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.paper.invoices import invoice_page, invoice_pdf, invoice_xml
from portal.web.kit.request_context import unit
from portal.web.kit.sum_fields import WAYS, SumField, pressed, sum_buttons

ENTER_AMOUNT = _l("Enter the amount.")
NO_MONTH = Message("We can't find this month.")


class MonthPayForm(OnceForm):
    """The amount; its way is the button."""

    amount = SumField(_l("Amount received"), [Required(ENTER_AMOUNT)])


class ReasonForm(OnceForm):
    """Why something is taken back."""

    reason = TextField(_l("Reason"), [Required(_l("Enter the reason."))], longest=200)


@require_role(Role.OFFICE)
@checks_its_form
def month(firm_id: int, name: str) -> Any:
    """Show the draft of a month's invoice; issue it as it was shown."""
    here, form = unit(), OnceForm()
    draft = monthly.month_draft(here, firm_id, _month(name))
    if form.validate_on_submit():
        try:
            number = monthly.issue(
                here,
                firm_id,
                draft.month,
                stamp=request.form.get("stamp", ""),
                once_token=str(form.once.data or ""),
                who=the_person().person_id,
            )
        except Refusal as refusal:
            form.form_errors.append(refusal.sentence)
            draft = monthly.month_draft(here, firm_id, draft.month)
        else:
            flash(_("Issued: %(number)s. The firm has been told.", number=number), "go")
            return redirect(url_for("office.firm_invoice", number=number), 303)
    page = render_template("office/month.html", draft=draft, form=form, name=name)
    return make_response(page, 422 if form.form_errors else 200)


@require_role(Role.OFFICE)
@checks_its_form
def firm_invoice(number: str) -> Any:
    """Show an invoice of a month, and record what was paid on it."""
    view, form = month_view.firm_invoice(unit(), number), MonthPayForm()
    form.amount.currency = view.line.open.currency
    if not form.is_submitted():
        form.amount.data = view.line.open.major
    elif form.validate() and _paid(number, form):
        flash(_("Payment recorded."), "go")
        return redirect(url_for("office.firm_invoice", number=number), 303)
    return _invoice_page(view, form)


@require_role(Role.OFFICE)
@checks_its_form
def reverse_firm_payment(number: str, payment_id: int) -> Any:
    """Reverse a payment on every account that it went to."""
    view, form = month_view.firm_invoice(unit(), number), ReasonForm()
    payment = next((one for one in view.payments if one.payment_id == payment_id), None)
    if payment is None:
        raise Unknown(Message("We can't find this entry."))

    def work(reason: str, once: str) -> str:
        month_payments.reverse_payment(
            unit(), payment_id, reason, once_token=once, who=the_person().person_id
        )
        return str(_("Reversed."))

    return _with_reason(view, form, work, title=_("Reverse a payment"), payment=payment)


@require_role(Role.OFFICE)
@checks_its_form
def cancel_firm_invoice(number: str) -> Any:
    """Cancel an invoice by a credit note; its jobs wait for a new one."""
    view, form = month_view.firm_invoice(unit(), number), ReasonForm()

    def work(reason: str, once: str) -> str:
        made = monthly.cancel(unit(), number, reason, once_token=once, who=the_person().person_id)
        return str(_("Cancelled by %(number)s.", number=made))

    return _with_reason(view, form, work, title=_("Cancel the invoice"), payment=None)


@require_role(Role.OFFICE)
@checks_its_form
def remind_firm(number: str) -> Any:
    """Write to a firm that an invoice is not paid."""
    form = OnceForm()
    if form.validate_on_submit():
        try:
            once = str(form.once.data or "")
            monthly.remind(unit(), number, once_token=once, who=the_person().person_id)
            flash(_("The reminder is on its way."), "go")
        except Refusal as refusal:
            flash(render(refusal.sentence), "stop")
    return redirect(url_for("office.firm_invoice", number=number), 303)


@require_role(Role.OFFICE)
def firm_paper(number: str) -> Any:
    """Show an invoice of a month, or a credit note over one, to print."""
    paper = month_view.paper_by_number(unit(), number)
    ways = [
        (_("PDF, A4"), url_for("office.firm_pdf", number=number, size="a4")),
        (_("PDF, US Letter"), url_for("office.firm_pdf", number=number, size="letter")),
        (_("Copy as PDF"), url_for("office.firm_pdf", number=number, size="a4", copy="1")),
    ]
    if paper.has_norm:
        ways.append((_("For programs (XML)"), url_for("office.firm_xml", number=number)))
    back = url_for("office.firm_invoice", number=paper.document.refers_to or number)
    return invoice_page(paper, {"ways": ways, "back": back, "back_label": _("The invoice")})


@require_role(Role.OFFICE)
def firm_pdf(number: str) -> Any:
    """Return it as a PDF; `?copy=1` marks it as a copy."""
    paper = month_view.paper_by_number(unit(), number)
    return invoice_pdf(paper, copy=request.args.get("copy") == "1")


@require_role(Role.OFFICE)
def firm_xml(number: str) -> Any:
    """Return it as XML by the European norm."""
    paper = month_view.paper_by_number(unit(), number)
    if not paper.has_norm:
        return redirect(url_for("office.firm_paper", number=number), 303)
    answer = Response(invoice_xml(paper), mimetype="application/xml")
    name = f"{paper.file_name}.xml"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _paid(number: str, form: MonthPayForm) -> bool:
    chosen = pressed(form.amount)
    if chosen is None or chosen.way not in WAYS or not chosen.minor:
        return False
    try:
        month_payments.pay(
            unit(),
            number,
            chosen.minor,
            PaymentMethod(chosen.way),
            once_token=str(form.once.data or ""),
            who=the_person().person_id,
        )
    except Refusal as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    return True


def _invoice_page(view: FirmInvoiceView, form: MonthPayForm) -> Any:
    amount = form.amount
    readable = amount.data is not None and not amount.errors
    shown = amount.money if readable else view.line.open
    page = render_template(
        "office/firm_invoice.html",
        view=view,
        form=form,
        again=OnceForm(formdata=None),
        buttons=sum_buttons(WAYS, shown) if shown.minor else [],
        asked=form.is_submitted() and not form.errors,
    )
    return make_response(page, 422 if form.errors else 200)


def _with_reason(
    view: FirmInvoiceView, form: ReasonForm, work: Any, *, title: str, payment: Any
) -> Any:
    if form.validate_on_submit():
        try:
            said = work(str(form.reason.data), str(form.once.data or ""))
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            flash(said, "go")
            return redirect(url_for("office.firm_invoice", number=view.line.number), 303)
    page = render_template(
        "office/firm_take_back.html", view=view, form=form, title=title, payment=payment
    )
    return make_response(page, 422 if form.errors or form.form_errors else 200)


def _month(name: str) -> date:
    try:
        return date.fromisoformat(f"{name}-01")
    except ValueError:
        raise Unknown(NO_MONTH) from None
