"""A person's own sign-in: password, PIN, second factor."""

from collections.abc import Sequence
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.access import my_account, second_factor, staff_sessions
from portal.orders.kernel.errors import RateLimited, Refusal
from portal.shop.roles import Role
from portal.web.counter.lock import KEYS_OF_PIN
from portal.web.counter.sign_in import KEYS_OF_CODE
from portal.web.kit.forms import PageForm, Required, SecretField, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.http.sessions import session_key
from portal.web.kit.i18n.languages import render
from portal.web.kit.paper import qr
from portal.web.kit.request_context import house_name, unit

NEW = {"autocomplete": "new-password"}
PENDING = "new_second_factor"
DONE, WRONG, TOO_MANY = 303, 422, 429
SYMBOL_MM = 1.2  # a module on the screen, for a phone held before it


class PasswordForm(PageForm):
    """The old password and a new one."""

    password = SecretField(_l("Current password"), [Required(_l("Enter your password."))])
    new_password = SecretField(
        _l("New password"), [Required(_l("Enter a new password."))], render_kw=NEW
    )


class MyPinForm(PageForm):
    """A PIN, and the password that allows it."""

    pin = SecretField(_l("New PIN"), render_kw=KEYS_OF_PIN)
    pin_password = SecretField(_l("Your password"), [Required(_l("Enter your password."))])


class SecondForm(PageForm):
    """The first code of a new authenticator."""

    password = SecretField(_l("Your password"), [Required(_l("Enter your password."))])
    code = TextField(
        _l("The six digits in the app"),
        [Required(_l("Enter the six digits."))],
        longest=12,
        render_kw=KEYS_OF_CODE,
    )


class OffForm(PageForm):
    """The password that allows going without a second factor."""

    off_password = SecretField(_l("Your password"), [Required(_l("Enter your password."))])


@require_role(Role.FLOOR)
@checks_its_form
def me() -> Any:
    who = the_person()
    which = request.form.get("which", "")
    password = PasswordForm(formdata=request.form if which == "password" else None)
    pin = MyPinForm(formdata=request.form if which == "pin" else None)
    status = 200
    if which == "password":
        status = _change_password(password, who.person_id)
    elif which == "pin":
        status = _change_pin(pin, who.person_id)
    if status == DONE:
        return redirect(url_for("door.me"), code=DONE)
    page = render_template(
        "counter/me.html",
        who=who,
        password=password,
        pin=pin,
        has_pin=my_account.has_pin(unit(), who.person_id),
        off=OffForm(formdata=None),
        codes_left=second_factor.recovery_codes_left(unit(), who.person_id),
    )
    return make_response(page, status)


def _change_password(form: PasswordForm, person_id: int) -> int:
    """Return the status of the answer: `DONE`, or what is wrong with the form."""
    if not form.validate():
        return WRONG
    old, new = form.password.data or "", form.new_password.data or ""
    try:
        my_account.change_password(unit(), person_id, old=old, new=new, here=session_key())
    except Refusal as refusal:
        return _blame(form, refusal.key or "password", refusal)
    flash(_("Password changed. Other devices are signed out."), "go")
    return DONE


def _change_pin(form: MyPinForm, person_id: int) -> int:
    """Return the status of the answer: `DONE`, or what is wrong with the form."""
    if not form.validate():
        return WRONG
    password, pin = form.pin_password.data or "", form.pin.data or ""
    try:
        my_account.set_pin(unit(), person_id, password=password, pin=pin)
    except Refusal as refusal:
        return _blame(form, "pin" if refusal.key == "pin" else "pin_password", refusal)
    flash(_("PIN changed.") if pin else _("PIN deleted."), "go")
    return DONE


def _blame(form: PageForm, field: str, refusal: Refusal) -> int:
    form.add_error(field, refusal.sentence)
    return TOO_MANY if isinstance(refusal, RateLimited) else WRONG


@require_role(Role.FLOOR)
@checks_its_form
def second_factor_page() -> Any:
    """Set up the second factor: show the secret once, enable it by its first code."""
    who = the_person()
    here, form, status = unit(), SecondForm(), 200
    secret = staff_sessions.session_value(here, session_key(), PENDING)
    if not secret:
        secret = second_factor.new_secret(here)
        staff_sessions.keep(here, session_key(), PENDING, secret)
    if form.validate_on_submit():
        try:
            my_account.must_know_password(here, who.person_id, form.password.data or "")
            codes = second_factor.switch_on(here, who.person_id, secret, form.code.data or "")
        except Refusal as refusal:
            status = _blame(form, refusal.key or "password", refusal)
        else:
            staff_sessions.keep(here, session_key(), PENDING, "")
            flash(_("Two-step sign-in is on. From now on we ask for a code."), "go")
            return _codes_page(codes)
    address = second_factor.address_of(secret, who.login, house_name())
    page = render_template(
        "counter/second_factor.html",
        form=form,
        who=who,
        secret=[secret[at : at + 4] for at in range(0, len(secret), 4)],
        address=address,
        symbol=qr.svg(address, _("QR code of the key, for your authenticator app"), SYMBOL_MM),
    )
    return make_response(page, WRONG if form.errors and status == 200 else status)


@require_role(Role.FLOOR)
def second_factor_off() -> Any:
    who = the_person()
    try:
        my_account.must_know_password(unit(), who.person_id, request.form.get("off_password", ""))
    except Refusal as refusal:
        flash(render(refusal.sentence), "stop")
    else:
        second_factor.switch_off(unit(), who.person_id, who=who.person_id)
        flash(_("Two-step sign-in is off."), "go")
    return redirect(url_for("door.me"), code=303)


@require_role(Role.FLOOR)
def new_recovery_codes() -> Any:
    """Make recovery codes anew, and show them this once."""
    who = the_person()
    try:
        my_account.must_know_password(unit(), who.person_id, request.form.get("off_password", ""))
    except Refusal as refusal:
        flash(render(refusal.sentence), "stop")
        return redirect(url_for("door.me"), code=303)
    return _codes_page(second_factor.new_recovery_codes(unit(), who.person_id))


def _codes_page(codes: Sequence[str]) -> Any:
    groups = [" ".join(code[at : at + 4] for at in range(0, len(code), 4)) for code in codes]
    return render_template("counter/recovery_codes.html", codes=groups)
