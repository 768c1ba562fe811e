"""Staff accounts: add one, change role and name, reset a password."""

from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.access import second_factor, signing_in
from portal.orders.kernel.errors import Refused
from portal.orders.office import people as people_records
from portal.shop.roles import Role
from portal.web.kit.forms import (
    CheckboxField,
    PageForm,
    RadioChoiceField,
    Required,
    SecretField,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.request_context import unit

NEW = {"autocomplete": "new-password"}
LOGIN = {"autocapitalize": "none", "spellcheck": "false", "autocomplete": "off"}


class NewPersonForm(PageForm):
    """A new colleague."""

    name = TextField(_l("Name"), [Required(_l("Enter a name."))], longest=80)
    login = TextField(
        _l("Sign-in name"), [Required(_l("Enter a sign-in name."))], longest=60, render_kw=LOGIN
    )
    role = RadioChoiceField(_l("Role"), [Required(_l("Choose a role."))], choices=Role)
    password = SecretField(_l("First password"), [Required(_l("Enter a password."))], render_kw=NEW)


class PersonForm(PageForm):
    """What the office may change of a person."""

    name = TextField(_l("Name"), [Required(_l("Enter a name."))], longest=80)
    role = RadioChoiceField(_l("Role"), [Required(_l("Choose a role."))], choices=Role)
    active = CheckboxField(_l("Works here"))


class NewPasswordForm(PageForm):
    """A new password for somebody who forgot theirs."""

    password = SecretField(_l("New password"), [Required(_l("Enter a password."))], render_kw=NEW)


@require_role(Role.OFFICE)
@checks_its_form
def people() -> Any:
    form = NewPersonForm()
    if form.validate_on_submit():
        taken = {one.login for one in people_records.people(unit())}
        if (form.login.data or "").strip().lower() in taken:
            form.add_error("login", _("This sign-in name is already in use. Choose another one."))
        elif _add(form):
            flash(_("%(name)s can now sign in.", name=form.name.data))
            return redirect(url_for("office.people"), code=303)
    page = render_template("office/people.html", people=people_records.people(unit()), form=form)
    return make_response(page, 422 if form.errors else 200)


@require_role(Role.OFFICE)
@checks_its_form
def person(number: int) -> Any:
    view = people_records.person(unit(), number)
    which = request.form.get("which", "")
    form = PersonForm(formdata=request.form if which == "person" else None, obj=view)
    if which != "person":
        form.role.data = str(view.role)
    password = NewPasswordForm(formdata=request.form if which == "password" else None)
    done = _act(which, number, form, password)
    if done:
        flash(done)
        return redirect(url_for("office.person", number=number), code=303)
    page = render_template("office/person.html", view=view, form=form, password=password)
    return make_response(page, 422 if form.errors or password.errors else 200)


def _add(form: NewPersonForm) -> bool:
    try:
        signing_in.add_person(
            unit(),
            login=form.login.data or "",
            name=form.name.data or "",
            role=Role(form.role.data),
            password=form.password.data or "",
            who=the_person().person_id,
        )
    except Refused as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    return True


def _act(which: str, number: int, form: PersonForm, password: NewPasswordForm) -> str:
    """Do what was asked; return the message, or "" when nothing was done."""
    here, who = unit(), the_person().person_id
    try:
        if which == "person" and form.validate():
            people_records.change_person(
                here,
                number,
                name=form.name.data or "",
                role=Role(form.role.data),
                active=bool(form.active.data),
                who=who,
            )
            return str(_("Saved."))
        if which == "password" and password.validate():
            people_records.new_password(here, number, password.password.data or "", who=who)
            return str(_("Password changed. Tell it only to this person."))
        if which in {"pin", "code"} and PageForm().validate():
            if which == "pin":
                people_records.take_pin(here, number, who=who)
                return str(_("PIN deleted."))
            second_factor.switch_off(here, number, who=who)
            return str(_("Two-step sign-in is off."))
    except Refused as refusal:
        (password if which == "password" else form).add_error(refusal.key, refusal.sentence)
    return ""
