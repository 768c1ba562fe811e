"""The customer changes by the link how to be reached, in which language, and who else may fetch."""

from typing import Any

from flask import flash, make_response, redirect, render_template, url_for
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.counter import contact_by_link as verbs
from portal.orders.counter.contact_by_link import ContactChange, ContactNow
from portal.orders.customer.status_view import StatusPage
from portal.orders.kernel.errors import Refusal
from portal.shop.states import TellBy
from portal.web.kit.forms import (
    MailField,
    OnceForm,
    RadioChoiceField,
    SelectChoiceField,
    TelField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.i18n.languages import offered
from portal.web.kit.request_context import shop, unit
from portal.web.kit.typed_text import Reads, mail_address, person_name, shop_telephone, telephone
from portal.web.status.digits import digits_field
from portal.web.status.page import look

WRONG = 422
EMPTY = {"autocomplete": "off"}


class ContactForm(OnceForm):
    """What is new; an empty field leaves what we have."""

    email = MailField(_l("New e-mail address"), [Reads(mail_address)])
    phone = TelField(_l("New phone number"), [Reads(shop_telephone)])
    tell_by = RadioChoiceField(_l("How should we tell you they're ready?"), choices=TellBy)
    digits = digits_field()


class LanguageForm(OnceForm):
    """The language of letters and papers; it opens nothing, so nothing is asked for."""

    locale = SelectChoiceField(
        _l("Language of letters and papers"), choices=lambda: list(offered().items())
    )


class FetchForm(OnceForm):
    """Who else may fetch the parts; empty: nobody."""

    name = TextField(_l("Name of the person"), [Reads(person_name)], longest=80, render_kw=EMPTY)
    digits = digits_field()


@checks_its_form
def contact(token: str) -> ResponseReturnValue:
    """Show what can be changed, without what we have; change it."""
    page, now = _page_and_now(token)
    form = ContactForm(data={"tell_by": now.tell_by.value})
    if form.is_submitted() and form.validate():
        try:
            verbs.change_contact(
                unit(),
                page.token,
                _change(form, now),
                digits=str(form.digits.data or ""),
                once_token=str(form.once.data or ""),
            )
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            return _saved(page)
    return _shown("status/contact.html", page, now, form, language_form=LanguageForm(formdata=None))


@checks_its_form
def language(token: str) -> ResponseReturnValue:
    """Change the language of letters and papers."""
    page, now = _page_and_now(token)
    form = LanguageForm()
    if form.validate() and form.locale.data:
        try:
            verbs.change_language(
                unit(), page.token, str(form.locale.data), once_token=str(form.once.data or "")
            )
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            return _saved(page)
    fresh = ContactForm(formdata=None, data={"tell_by": now.tell_by.value})
    return _shown("status/contact.html", page, now, fresh, language_form=form)


@checks_its_form
def fetch(token: str) -> ResponseReturnValue:
    """Take the name of somebody else who may fetch the parts."""
    page, now = _page_and_now(token)
    form = FetchForm()
    if form.is_submitted() and form.validate():
        name = person_name(str(form.name.data)) if form.name.data else ""
        try:
            verbs.let_fetch(
                unit(),
                page.token,
                name,
                digits=str(form.digits.data or ""),
                once_token=str(form.once.data or ""),
            )
        except Refusal as refusal:
            form.add_error(refusal.key, refusal.sentence)
        else:
            return _saved(page)
    return _shown("status/fetch.html", page, now, form)


def _page_and_now(token: str) -> tuple[StatusPage, ContactNow]:
    page = look(token)
    return page, verbs.contact_now(unit(), page.token)


def _change(form: ContactForm, now: ContactNow) -> ContactChange:
    tell_by = TellBy(form.tell_by.data) if form.tell_by.data else None
    return ContactChange(
        email=mail_address(form.email.data) if form.email.data else "",
        phone=telephone(form.phone.data, shop().country) if form.phone.data else "",
        tell_by=None if tell_by is now.tell_by else tell_by,
    )


def _saved(page: StatusPage) -> ResponseReturnValue:
    flash(_("Saved."), "go")
    return redirect(url_for("status.show", token=page.token), 303)


def _shown(
    name: str, page: StatusPage, now: ContactNow, form: OnceForm, **more: Any
) -> ResponseReturnValue:
    other = more.get("language_form")
    if other is not None and not other.locale.data:
        other.locale.data = now.locale
    wrong = form.errors or form.form_errors or (other is not None and other.form_errors)
    body = render_template(name, job=page, now=now, form=form, **more)
    return make_response(body, WRONG if wrong else 200)
