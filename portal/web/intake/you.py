"""Your details: the customer's contact, and how to be told."""

from dataclasses import replace

from flask.typing import ResponseReturnValue
from flask_babel import lazy_gettext as _l

from portal.craft.parts import PartKind
from portal.orders.intake.draft_answers import Contact, Step
from portal.orders.intake.draft_view import DraftView
from portal.orders.intake.drafts import Change
from portal.orders.intake.strangers import may_book
from portal.orders.kernel.errors import Refused
from portal.shop.states import TellBy
from portal.web.intake.contact_fields import contact_email, contact_name
from portal.web.intake.page import FormGroup, StepForm, load_step, render_step, save
from portal.web.kit.forms import RadioChoiceField, Required, TelField, TextField
from portal.web.kit.request_context import shop, unit
from portal.web.kit.typed_text import (
    Reads,
    mail_address,
    person_name,
    plain,
    shop_telephone,
    telephone,
    telephone_text,
)

STEP = Step.YOU


class YouForm(StepForm):
    """The contact."""

    name = contact_name()
    email = contact_email()
    phone = TelField(_l("Phone"), [Required(_l("Enter your phone number.")), Reads(shop_telephone)])
    tell_by = RadioChoiceField(
        _l("How should we tell you they're ready?"),
        choices=TellBy,
        default=TellBy.EMAIL.value,
    )
    vehicle = TextField(_l("Vehicle"), longest=60, filters=[plain])


def you(token: str) -> ResponseReturnValue:
    view = load_step(token, STEP)
    form = make_form(view)
    if form.sent and form.validate() and _may_book(form):
        gone_on = save(view, STEP.value, form, change_of(form), step=STEP)
        if gone_on:
            return gone_on
    wheels = any(one.kind is PartKind.WHEEL for one in view.answers.declared.sets)
    return render_step("intake/you.html", view, STEP, form, has_wheels=wheels)


def make_form(view: DraftView) -> FormGroup:
    """Return the page's form, filled from the draft."""
    contact = view.answers.contact
    data = {}
    if contact:
        data = {
            "name": contact.name,
            "email": contact.email,
            "phone": telephone_text(contact.phone, shop().country),
            "tell_by": contact.tell_by.value,
            "vehicle": contact.vehicle,
        }
    return FormGroup(YouForm.of(view, STEP.value, data))


def change_of(form: FormGroup) -> Change:
    """Return the change to the answers."""
    # read before the answers are: a read inside another one can meet a writer that waits for both
    country = shop().country
    return lambda answers: replace(answers, contact=_contact(form, country))


def _contact(form: FormGroup, country: str) -> Contact:
    page = form.page
    return Contact(
        name=person_name(page["name"].data or ""),
        email=mail_address(page["email"].data or ""),
        phone=telephone(page["phone"].data or "", country),
        tell_by=TellBy(page["tell_by"].data or TellBy.EMAIL),
        vehicle=page["vehicle"].data or "",
    )


def _may_book(form: FormGroup) -> bool:
    """Tell beside its field that a telephone or an address has enough orders booked."""
    try:
        may_book(unit(), _contact(form, shop().country))
    except Refused as refusal:
        return form.page.add_error(refusal.key, refusal.sentence)
    return True
