"""Where a person is signed in: a list, and the way to end what they don't know."""

from typing import Any

from flask import flash, make_response, redirect, render_template, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext

from portal.orders.access.my_devices import Device, end_devices, my_devices
from portal.orders.kernel.errors import RateLimited, Refusal
from portal.render.days import clock_time
from portal.shop.roles import Role
from portal.web.kit.forms import MultiCheckboxField, PageForm, Required, SecretField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.http.sessions import session_key
from portal.web.kit.i18n.languages import reader
from portal.web.kit.request_context import unit

WRONG, TOO_MANY = 422, 429


class DevicesForm(PageForm):
    """The devices to sign out on, and the password that allows it."""

    devices = MultiCheckboxField(_l("Sign out on"))
    password = SecretField(_l("Your password"), [Required(_l("Enter your password."))])


@require_role(Role.FLOOR)
@checks_its_form
def devices() -> Any:
    who, here = the_person(), session_key()
    every = my_devices(unit(), who.person_id, here=here)
    others = [(one.mark, _name(one)) for one in every if not one.here]
    form = DevicesForm() if others else DevicesForm(formdata=None)
    form.devices.choices = others
    status = 200
    if others and form.validate_on_submit():
        try:
            ended = end_devices(
                unit(),
                who.person_id,
                form.devices.data or [],
                password=form.password.data or "",
                here=here,
            )
        except Refusal as refusal:
            form.add_error(refusal.key or "password", refusal.sentence)
            status = TOO_MANY if isinstance(refusal, RateLimited) else WRONG
        else:
            flash(
                ngettext("Signed out on %(num)s device.", "Signed out on %(num)s devices.", ended),
                "go",
            )
            return redirect(url_for("door.devices"), code=303)
    this = next(one for one in every if one.here)
    page = render_template(
        "counter/my_devices.html",
        form=form,
        this=(_name(this), _times(this)),
        times={one.mark: _times(one) for one in every},
    )
    return make_response(page, WRONG if form.errors and status == 200 else status)


def _name(device: Device) -> str:
    return device.browser or _("Unknown browser")


def _times(device: Device) -> str:
    since, seen = (clock_time(at, reader()) for at in (device.since, device.seen))
    if device.shared:
        return str(
            _("Shared device. Signed in %(since)s, last used %(seen)s.", since=since, seen=seen)
        )
    return str(_("Signed in %(since)s, last used %(seen)s.", since=since, seen=seen))
