"""The lock of a shared device; a PIN opens it, so that events have a name."""

from collections.abc import Sequence
from typing import Any

from flask import make_response, redirect, render_template, request, url_for
from flask_babel import lazy_gettext as _l

from portal.orders.access import staff_sessions
from portal.orders.access.my_devices import BROWSER
from portal.orders.access.staff_sessions import Colleague
from portal.orders.kernel.errors import RateLimited, Refused
from portal.web.kit.forms import PageForm, RadioChoiceField, Required, SecretField
from portal.web.kit.http.browsers import browser_words
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import safe_redirect
from portal.web.kit.http.sessions import current_person, forget, remember, session_key
from portal.web.kit.request_context import unit

KEYS_OF_PIN = {"inputmode": "numeric", "autocomplete": "off", "maxlength": 8, "class": "code-input"}


class PinForm(PageForm):
    """A person and their PIN."""

    person = RadioChoiceField(_l("Who is using this device?"), [Required(_l("Choose your name."))])
    pin = SecretField(_l("Your PIN"), [Required(_l("Enter your PIN."))], render_kw=KEYS_OF_PIN)


def lock_now() -> Any:
    if current_person() is not None:
        staff_sessions.lock(unit(), session_key())
    way = safe_redirect(request.form.get("next", ""))
    return redirect(url_for("door.locked", next=way or None), code=303)


@checks_its_form
def locked() -> Any:
    """Ask for the person and the PIN."""
    way = safe_redirect(request.args.get("next", ""))
    who = current_person()
    if who is None or who.wants_code:
        return redirect(url_for("door.sign_in", next=way or None), code=303)
    if not who.locked:
        return redirect(way or "/counter/", code=303)
    people = staff_sessions.colleagues(unit())
    form = _form(people)
    if people and form.validate_on_submit():
        try:
            return _unlocked(form, way)
        except RateLimited as refusal:
            form.add_error("pin", refusal.sentence)
            return _lock_page(form, people, way, 429)
        except Refused as refusal:
            if refusal.key != "pin":
                return _signed_out(way)
            form.add_error("pin", refusal.sentence)
    return _lock_page(form, people, way, 422 if form.errors else 200)


def _form(people: Sequence[Colleague]) -> PinForm:
    form = PinForm()
    form.person.choices = [(str(one.person_id), one.name) for one in people]
    if len(people) == 1 and not form.is_submitted():
        form.person.data = str(people[0].person_id)
    return form


def _unlocked(form: PinForm, way: str) -> Any:
    person, pin = int(form.person.data), form.pin.data or ""
    fresh = staff_sessions.unlock(unit(), session_key(), person, pin)
    staff_sessions.keep(unit(), fresh, BROWSER, browser_words(request.user_agent.string))
    response = redirect(way or "/counter/", code=303)
    remember(response, fresh)
    return response


def _signed_out(way: str) -> Any:
    response = redirect(url_for("door.sign_in", next=way or None), code=303)
    forget(response)
    return response


def _lock_page(form: PinForm, people: Sequence[Colleague], way: str, status: int) -> Any:
    held = "/counter/held/" in way
    page = render_template(
        "counter/locked.html", form=form, way=way, people=people, form_waits=held
    )
    return make_response(page, status)
