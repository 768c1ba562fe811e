"""Trade customers: the list, one firm, its data and its prices."""

from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField

from portal.craft.messages import CraftError
from portal.craft.parts import Bringing
from portal.orders.access import firm_links
from portal.orders.kernel.errors import Overtaken, Refusal, Refused
from portal.orders.office import firms as verbs
from portal.orders.office import firms_view, month_view
from portal.orders.office.firms import FirmData
from portal.orders.office.firms_view import FirmView
from portal.shop.money import Money
from portal.shop.roles import Role
from portal.web.kit.buyer_form import BuyerForm
from portal.web.kit.forms import (
    CheckboxField,
    CountField,
    MailField,
    Required,
    SelectChoiceField,
    TelField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n import languages
from portal.web.kit.request_context import number_of, shop, unit
from portal.web.kit.sum_fields import SumField
from portal.web.kit.typed_text import Reads, mail_address, plain, telephone, telephone_text
from portal.web.office import filled, sheets
from portal.web.office.document_forms import day_of, form_for

PRICES = "firm_prices"


def _languages() -> list[tuple[str, Any]]:
    return list(languages.offered().items())


def _ways() -> list[tuple[str, Any]]:
    return [("", _("No usual way")), *((one.value, languages.label(one)) for one in Bringing)]


class FirmForm(BuyerForm):
    """What the office enters of a firm; its name on invoices is the buyer's."""

    known_as = TextField(
        _l("Name, as the works calls it"), [Required(_l("Enter the name of the firm."))]
    )
    code = TextField(_l("Customer number in your books"), longest=20)
    contact = TextField(_l("Contact person"), filters=[plain])
    email = MailField(_l("E-mail"), [Reads(mail_address)])
    phone = TelField(_l("Phone"))
    locale = SelectChoiceField(_l("Language"), choices=_languages)
    bringing = SelectChoiceField(_l("How the wheels come"), choices=_ways)
    fetched = CheckboxField(_l("We fetch them and bring them back"))
    terms_days = CountField(_l("Days to pay"), low=0, high=verbs.LONGEST_TERMS)
    limit = SumField(_l("May owe at most"))
    expected_version = HiddenField()

    def validate_phone(self, field: Any) -> None:
        """Parse the number by the rules of the shop's country."""
        Reads(lambda text: telephone(text, shop().country))(self, field)


@require_role(Role.OFFICE)
def firms() -> Any:
    """List the trade customers, and what each owes."""
    return render_template("office/firms.html", firms=firms_view.firms(unit()))


@require_role(Role.OFFICE)
def owed() -> Any:
    """List who owes what since when."""
    found = month_view.who_owes(unit())
    total = Money(sum(one.sum.minor for one in found), shop().currency)
    return render_template("office/owed.html", found=found, total=total)


@require_role(Role.OFFICE)
@checks_its_form
def new_firm() -> Any:
    """Add a trade customer."""
    form = FirmForm()
    form.limit.currency = shop().currency
    if not form.is_submitted():
        form.show(None)
        form.terms_days.data = shop().invoicing.terms.days
        form.locale.data = shop().locale
    elif form.validate():
        made = _save(form, lambda data: verbs.add_firm(unit(), data, who=_me()))
        if made is not None:
            flash(_("Saved."), "go")
            return redirect(url_for("office.firm", firm_id=made), 303)
    return _data_page(form, None)


@require_role(Role.OFFICE)
def firm(firm_id: int) -> Any:
    """Show one trade customer."""
    view = firms_view.firm(unit(), firm_id)
    return render_template("office/firm.html", firm=view, month=_this_month())


@require_role(Role.OFFICE)
@checks_its_form
def firm_data(firm_id: int) -> Any:
    """Change a trade customer."""
    view, form = firms_view.firm(unit(), firm_id), FirmForm()
    form.limit.currency = view.currency
    if not form.is_submitted():
        _fill(form, view)
    elif form.validate():
        expected = number_of(form.expected_version.data)

        def work(data: FirmData) -> bool:
            verbs.change_firm(unit(), firm_id, data, expected_version=expected, who=_me())
            return True

        if _save(form, work):
            flash(_("Saved."), "go")
            return redirect(url_for("office.firm", firm_id=firm_id), 303)
    return _data_page(form, view)


@require_role(Role.OFFICE)
@checks_its_form
def firm_prices(firm_id: int) -> Any:
    """Give a firm prices from a day on."""
    view = firms_view.firm(unit(), firm_id)
    edition = number_of(request.args.get("edition", ""))
    body = next((one.body for one in view.prices if one.edition_id == edition), None)
    if body is None:
        body = next((one.body for one in view.prices if not one.to_come), {})
    typed = request.form if request.method == "POST" else None
    sheet = sheets.sheet_of(PRICES, body, typed)
    form = form_for(PRICES, sheet)
    if typed is not None and form.validate() and _put_prices(firm_id, body, form, sheet):
        flash(_("Saved."), "go")
        return redirect(url_for("office.firm", firm_id=firm_id), 303)
    page = render_template(
        "office/firm_prices.html", firm=view, sheet=sheet, form=form, edition=edition
    )
    return make_response(page, 422 if form.errors else 200)


@require_role(Role.OFFICE)
@checks_its_form
def act(firm_id: int) -> Any:
    """Send the link, end all links, close or open a firm."""
    do, here, who = request.form.get("do", ""), unit(), _me()
    try:
        if do == "send":
            firm_links.send_link(here, firm_id, who=who)
            flash(_("The link is on its way."), "go")
        elif do == "end":
            firm_links.end_links(here, firm_id, who=who)
            flash(_("Its links have ended, and its page is closed everywhere."), "go")
        elif do in {"close", "open"}:
            verbs.close_firm(here, firm_id, closed=do == "close", who=who)
            flash(_("Saved."), "go")
    except Refusal as refusal:
        flash(languages.render(refusal.sentence), "stop")
    return redirect(url_for("office.firm", firm_id=firm_id), 303)


def _save(form: FirmForm, work: Any) -> Any:
    """Do `work` with what was entered; None where something is to be corrected."""
    party = form.party()
    if party is None:
        return None
    try:
        return work(_entered(form, party))
    except Overtaken as refusal:
        form.form_errors.append(refusal.sentence)
    except Refused as refusal:
        form.add_error({"name": "known_as"}.get(refusal.key, refusal.key), refusal.sentence)
    return None


def _entered(form: FirmForm, party: Any) -> FirmData:
    way = form.bringing.data or ""
    phone, email = form.phone.data or "", form.email.data or ""
    return FirmData(
        name=form.known_as.data or "",
        party=party,
        terms_days=form.terms_days.data or 0,
        code=form.code.data or "",
        contact=form.contact.data or "",
        email=mail_address(email) if email else "",
        phone=telephone(phone, shop().country) if phone else "",
        locale=form.locale.data or "en",
        bringing=Bringing(way) if way else None,
        fetched=bool(form.fetched.data),
        limit_minor=None if form.limit.data is None else form.limit.money.minor,
    )


def _fill(form: FirmForm, view: FirmView) -> None:
    data = view.data
    form.show(data.party)
    form.known_as.data, form.code.data, form.contact.data = data.name, data.code, data.contact
    form.email.data = data.email
    form.phone.data = telephone_text(data.phone, shop().country) if data.phone else ""
    form.locale.data = data.locale
    form.bringing.data = data.bringing.value if data.bringing else ""
    form.fetched.data, form.terms_days.data = data.fetched, data.terms_days
    if data.limit_minor is not None:
        form.limit.data = Money(data.limit_minor, view.currency).major
    form.expected_version.data = str(view.version)


def _data_page(form: FirmForm, view: FirmView | None) -> Any:
    page = render_template("office/firm_data.html", form=form, firm=view)
    return make_response(page, 422 if form.errors or form.form_errors else 200)


def _put_prices(firm_id: int, before: Any, form: Any, sheet: sheets.PrintSheet) -> bool:
    body, rows = filled.parse(PRICES, before, request.form)
    day = day_of(form)
    if form.errors:
        return False
    try:
        verbs.put_firm_prices(unit(), firm_id, body, starts_on=day, who=_me())
    except CraftError as wrong:
        cell = sheets.cell_of(sheet, wrong.key, rows)
        return bool(form.add_error(cell.name if cell else wrong.key, wrong.sentence))
    except Refused as refusal:
        return bool(form.add_error("from_day", refusal.sentence))
    return True


def _this_month() -> str:
    return shop().day(unit().now()).isoformat()[:7]


def _me() -> int:
    return the_person().person_id
