"""Signing in by name and password, then perhaps a code; signing out; forms kept meanwhile."""

from typing import Any

from flask import make_response, redirect, render_template, request, url_for
from flask_babel import lazy_gettext as _l

from portal.orders.access import signing_in, staff_sessions
from portal.orders.access.held_forms import held_form
from portal.orders.access.my_devices import BROWSER
from portal.orders.kernel.errors import RateLimited, Refused
from portal.shop.roles import Role
from portal.web.kit.forms import CheckboxField, PageForm, Required, SecretField, TextField
from portal.web.kit.http.browsers import browser_words
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, safe_redirect
from portal.web.kit.http.sessions import (
    current_person,
    device_key,
    forget,
    remember,
    remember_device,
    session_key,
)
from portal.web.kit.request_context import unit

KEYS_OF_LOGIN = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
KEYS_OF_CODE = {"inputmode": "numeric", "autocomplete": "one-time-code", "class": "code-input"}


class SignInForm(PageForm):
    """Name and password."""

    login = TextField(
        _l("Your sign-in name"),
        [Required(_l("Enter your sign-in name."))],
        longest=60,
        render_kw=KEYS_OF_LOGIN,
    )
    password = SecretField(_l("Password"), [Required(_l("Enter your password."))])
    shared = CheckboxField(_l("This device is shared: lock it after five minutes without use"))


class CodeForm(PageForm):
    """The six digits."""

    code = TextField(
        _l("The six digits in your authenticator app"),
        [Required(_l("Enter the six digits."))],
        longest=20,
        render_kw=KEYS_OF_CODE,
    )


@checks_its_form
def sign_in() -> Any:
    way = safe_redirect(request.args.get("next", ""))
    form = SignInForm()
    if form.validate_on_submit():
        try:
            entered = signing_in.sign_in(
                unit(),
                form.login.data or "",
                form.password.data or "",
                address=request.remote_addr or "",
                device=device_key(),
                shared=bool(form.shared.data),
            )
        except RateLimited as refusal:
            form.add_error("password", refusal.sentence)
            return _sign_in_page(form, way, 429)
        except Refused as refusal:
            form.add_error(refusal.key or "password", refusal.sentence)
        else:
            return _entered(entered, way)
    return _sign_in_page(form, way, 422 if form.errors else 200)


@checks_its_form
def code() -> Any:
    """Ask for the second factor's code."""
    way = safe_redirect(request.args.get("next", ""))
    who = current_person()
    if who is None or not who.wants_code:
        return redirect(url_for("door.sign_in", next=way or None), code=303)
    form = CodeForm()
    status = 200
    if form.validate_on_submit():
        try:
            entered = signing_in.give_code(
                unit(), session_key(), form.code.data or "", device=device_key()
            )
        except RateLimited as refusal:
            form.add_error("code", refusal.sentence)
            status = 429
        except Refused as refusal:
            if refusal.key == "ended":
                return redirect(url_for("door.sign_in", next=way or None), code=303)
            form.add_error("code", refusal.sentence)
        else:
            return _entered(entered, way)
    status = 422 if form.errors and status == 200 else status
    page = render_template("counter/code.html", form=form, way=way)
    return make_response(page, status)


def sign_out() -> Any:
    staff_sessions.end(unit(), session_key())
    response = redirect(url_for("door.sign_in"), code=303)
    forget(response)
    return response


@require_role(Role.FLOOR)
def held(key: str) -> Any:
    """Show a form that was sent while signed out, ready to be sent again."""
    return render_template("counter/held.html", held=held_form(unit(), key))


def _sign_in_page(form: SignInForm, way: str, status: int) -> Any:
    who = current_person()
    return make_response(
        render_template(
            "counter/sign_in.html",
            form=form,
            way=way,
            nobody=signing_in.nobody_yet(unit()),
            again=bool(request.args.get("again")) and who is not None,
            form_waits=way.startswith("/counter/held/"),
        ),
        status,
    )


def _entered(entered: signing_in.SignedIn, way: str) -> Any:
    staff_sessions.keep(unit(), entered.key, BROWSER, browser_words(request.user_agent.string))
    if entered.wants_code:
        response = redirect(url_for("door.code", next=way or None), code=303)
    else:
        if session_key():
            # whoever was signed in here before is signed out now
            staff_sessions.end(unit(), session_key())
        response = redirect(way or "/counter/", code=303)
        remember_device(response, entered.device)
    remember(response, entered.key)
    return response
