"""The form of a new order: who, when, and the sets; read into what the orders take."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import request
from flask_babel import lazy_gettext as _l
from wtforms import HiddenField, ValidationError

from portal.craft.parts import MOST_SETS, Declared, PartKind, Usage
from portal.orders.counter.firm_choices import firm_choices
from portal.orders.counter.known_customers import KnownCustomer
from portal.orders.counter.new_order import Entered, NewOrderView
from portal.orders.intake.draft_answers import Contact
from portal.shop.states import TellBy
from portal.web.counter.new_order_sets import (
    SetOnPage,
    check_sets,
    read_set,
    way_of,
    with_removers,
)
from portal.web.intake import on_them
from portal.web.intake.day import SlotField
from portal.web.intake.finish_form import ON_THE_ROAD
from portal.web.intake.page import FormGroup, StepForm
from portal.web.kit.forms import (
    CheckboxField,
    MailField,
    OnceField,
    RadioChoiceField,
    Required,
    SelectChoiceField,
    TelField,
    TextField,
)
from portal.web.kit.i18n.languages import language, offered
from portal.web.kit.request_context import now, number_of, shop, unit
from portal.web.kit.slots import name_of, start_of
from portal.web.kit.typed_text import (
    Reads,
    mail_address,
    person_name,
    plain,
    shop_telephone,
    telephone,
    telephone_text,
)

HERE, LATER = "here", "later"
KEYS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
OFF = {"autocomplete": "off"}


class NewOrderForm(StepForm):
    """What is asked once for the order; the sets have forms of their own."""

    once = OnceField()
    agreed = HiddenField()
    firm = SelectChoiceField(_l("Trade customer"))
    name = TextField(
        _l("Name"), [Required(_l("Enter the name.")), Reads(person_name)], render_kw=OFF
    )
    phone = TelField(_l("Phone"), [Reads(shop_telephone)], render_kw=OFF)
    email = MailField(_l("E-mail"), [Reads(mail_address)], render_kw=OFF)
    vehicle = TextField(_l("Vehicle"), longest=60, filters=[plain], render_kw=OFF)
    locale = SelectChoiceField(
        _l("Language of slip and letters"), choices=lambda: list(offered().items())
    )
    tell_by = RadioChoiceField(_l("Tell them by"), choices=TellBy)
    unreachable = CheckboxField(_l("No phone and no e-mail: they come and ask"))
    when = RadioChoiceField(
        _l("When do the parts come?"),
        choices=[(HERE, _l("They are here")), (LATER, _l("Another day"))],
        default=HERE,
    )
    needed_by = TextField(_l("Needed by"), longest=10, render_kw={"type": "date", **OFF})
    slot = SlotField(_l("Drop-off"))
    registered = SelectChoiceField(_l("Where is the vehicle registered?"))
    old = CheckboxField(_l("Painted before 1980 or not sure, or from a lorry or an aircraft"))
    usage = RadioChoiceField(_l("How will you use them?"), choices=Usage)
    rush = CheckboxField(_l("Before other orders"))
    fetched = CheckboxField(_l("We fetch them and bring them back"))
    confirmed = CheckboxField(_l("Told, and the customer agrees"))
    points = HiddenField()

    @property
    def firm_id(self) -> int | None:
        """The trade customer that was chosen, None for a private customer."""
        return number_of(str(self.firm.data or "")) or None

    @property
    def here(self) -> bool:
        """Whether the parts stand at the counter."""
        return bool(self.when.data != LATER)

    @property
    def wanted_on(self) -> date | None:
        """The day by which a caller needs the parts; None where none, or no day, was entered."""
        try:
            return None if self.here else date.fromisoformat(str(self.needed_by.data or ""))
        except ValueError:
            return None

    def validate_needed_by(self, field: Any) -> None:
        """Refuse what is no day, or is over."""
        wanted = self.wanted_on
        if field.data and not self.here and (wanted is None or wanted < shop().day(now())):
            raise ValidationError(_l("Enter a day from today on, or leave it empty."))


@dataclass(slots=True)
class OrderOnPage:
    """The whole form: the page's own fields, and the sets in their order."""

    page: NewOrderForm
    sets: list[SetOnPage]

    @property
    def group(self) -> FormGroup:
        """All fields as one form, for the list of errors."""
        return FormGroup(self.page, [form for one in self.sets for form in one])

    @property
    def priced(self) -> bool:
        """Whether every set has what its price hangs on."""
        return all(one.priced for one in self.sets)

    def declared(self) -> Declared:
        """Return what stands on the page as it is declared."""
        bringing, where = way_of(self.sets)
        page, kinds = self.page, {one.part_set.kind for one in self.sets}
        usage = page.usage.data if kinds & ON_THE_ROAD else None
        return Declared(
            sets=tuple(with_removers(one, bringing, here=page.here) for one in self.sets),
            bringing=bringing,
            whereabouts=where,
            rush=bool(page.rush.data),
            fetched=bool(page.fetched.data),
            original_before_1980=bool(page.old.data),
            usage=Usage(usage) if usage in set(Usage) else None,
            registered=on_them.registered_in(page) if PartKind.WHEEL in kinds else None,
        )

    def entered(self) -> Entered:
        """Return what was entered; the contact only where its fields can be read."""
        page = self.page
        slot = None if page.here else start_of(str(page.slot.data or ""))
        return Entered(
            declared=self.declared(),
            contact=self._contact(),
            here=page.here,
            slot=slot,
            locale=page.locale.data or language(),
            needed_by=page.wanted_on,
            firm_id=page.firm_id,
        )

    def _contact(self) -> Contact | None:
        page = self.page
        try:
            email = mail_address(page["email"].data) if page["email"].data else ""
            phone = telephone(page["phone"].data, shop().country) if page["phone"].data else ""
            name = person_name(page["name"].data or "")
        except ValueError:
            return None
        usual = TellBy.EMAIL if email else TellBy.PHONE
        wanted = page.tell_by.data if page.tell_by.data in set(TellBy) else usual
        possible = {TellBy.EMAIL: bool(email), TellBy.PHONE: bool(phone)}
        tell_by = TellBy(wanted) if possible[TellBy(wanted)] else usual
        return Contact(name, email, phone, tell_by, page.vehicle.data or "")

    def validate(self, view: NewOrderView | None) -> bool:
        """Validate all fields at once; `view` is what the order comes to, where it has a price."""
        page = self.page
        good = self.group.validate()
        good = check_sets(self.sets, self.declared()) and good
        reachable = page["phone"].data or page["email"].data
        if not reachable and not (page.here and page.unreachable.data):
            good = page.add_error("phone", _phone_wanted(here=page.here))
        if not page.here and not page.slot.data:
            good = page.add_error("slot", _l("Choose a drop-off time."))
        if view and not self.agreed_to(view):
            good = page.add_error(
                "confirmed", _l("Tell the customer these points, and tick when they agree.")
            )
        return good

    def agreed_to(self, view: NewOrderView) -> bool:
        """Whether the tick stands for the very points that are to be accepted now."""
        page, now = self.page, points_of(view)
        return not now or (bool(page.confirmed.data) and page.points.data == now)


def _phone_wanted(*, here: bool) -> Any:
    if here:
        return _l("Enter a phone number or an e-mail address, or tick that there is none.")
    return _l("Enter a phone number or an e-mail address: we must reach who is not here yet.")


def build(extra: str = "", without: str = "", known: KnownCustomer | None = None) -> OrderOnPage:
    """Return the form as it was sent; with one set more or less, or somebody's details."""
    page = NewOrderForm(data={"locale": language()})
    page.registered.choices = on_them.countries()
    _offer_firms(page)
    if known is not None:
        _fill(page, known)
    keys = [key for key in _keys() if key != without] or [KEYS[0]]
    if extra and len(keys) < MOST_SETS:
        keys.append(next(key for key in KEYS if key not in keys))
    sets: list[SetOnPage] = []
    for key in keys:
        sets.append(read_set(page, key, sets, shop().stock))
    return OrderOnPage(page, sets)


def _offer_firms(page: NewOrderForm) -> None:
    """Offer the trade customers; the details of the chosen one fill what is still empty."""
    firms = firm_choices(unit())
    page.firm.choices = [("", _l("Private customer")), *((str(f.firm_id), f.name) for f in firms)]
    chosen = next((one for one in firms if one.firm_id == page.firm_id), None)
    if chosen is None:
        return
    phone = telephone_text(chosen.phone, shop().country) if chosen.phone else ""
    for name, value in (("name", chosen.name), ("email", chosen.email), ("phone", phone)):
        if not page[name].data:
            page[name].data = value
            page[name].raw_data = [value]


def _keys() -> list[str]:
    """Return the letters of the sets on the page, each once."""
    sent = request.form.get("sets", "") if request.method == "POST" else ""
    return [one for one in dict.fromkeys(sent) if one in KEYS]


def _fill(page: NewOrderForm, known: KnownCustomer) -> None:
    """Put a customer's details into the fields, as if they had been typed."""
    details = {
        "name": known.name,
        "phone": telephone_text(known.phone, shop().country) if known.phone else "",
        "email": known.email,
        "vehicle": page.vehicle.data or known.vehicle,
        "locale": known.locale,
        "tell_by": known.tell_by.value,
    }
    for name, value in details.items():
        page[name].data = value
        page[name].raw_data = [value]


def offer_slots(page: NewOrderForm, view: NewOrderView) -> None:
    """Let the drop-off field offer the times that are free, the chosen one among them."""
    offers = view.offers or ((view.promise,) if view.promise else ())
    page.slot.choices = [(name_of(one.start), "") for one in offers if one]


def points_of(view: NewOrderView | None) -> str:
    """Return the keys of what the customer is asked to accept, as one text."""
    to_confirm = view.assessment.to_confirm if view and view.assessment else ()
    return " ".join(sorted(one.key for one in to_confirm))
