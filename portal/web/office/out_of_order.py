"""Stations that are out of order, and until when."""

from datetime import datetime, timedelta
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.kernel.errors import Refusal
from portal.orders.office import stations
from portal.shop.roles import Role
from portal.shop.route import QUEUED, PartStage
from portal.web.kit.forms import PageForm, RadioChoiceField, Required, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import now, unit, zone

KEYS = {"type": "datetime-local", "autocomplete": "off"}
MOMENT = _l("Enter a day and a time.")


class StopForm(PageForm):
    """A station, from when, until when (in the shop's zone)."""

    station = RadioChoiceField(
        _l("Which station?"),
        [Required(_l("Choose a station."))],
        choices=lambda: [(str(one.value), label(one)) for one in QUEUED],
    )
    since = TextField(_l("Out of order from"), [Required(MOMENT)], longest=16, render_kw=KEYS)
    until = TextField(_l("Back in service from"), [Required(MOMENT)], longest=16, render_kw=KEYS)


@require_role(Role.OFFICE)
@checks_its_form
def out_of_order() -> Any:
    """Show what is out of order; add a time, or remove one."""
    if request.form.get("which") == "start" and PageForm().validate():
        return _start()
    form = StopForm()
    if not form.is_submitted():
        here = now().astimezone(zone())
        form.since.data = f"{here:%Y-%m-%dT%H:%M}"
        form.until.data = f"{here + timedelta(days=1):%Y-%m-%dT%H:%M}"
    elif form.validate() and _stop(form):
        flash(_("Saved. We are working out every date again."))
        return redirect(url_for("office.out_of_order"), code=303)
    spans = stations.out_of_order(unit())
    page = render_template("office/out_of_order.html", form=form, spans=spans)
    return make_response(page, 422 if form.errors else 200)


def _stop(form: StopForm) -> bool:
    start, end = _moment(form, "since"), _moment(form, "until")
    if start is None or end is None:
        return False
    try:
        stations.stop_station(
            unit(), PartStage(form.station.data), start, end, who=the_person().person_id
        )
    except Refusal as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    return True


def _start() -> Any:
    try:
        station = PartStage(request.form.get("station", ""))
        start = datetime.fromisoformat(request.form.get("from", ""))
        stations.start_station(unit(), station, start, who=the_person().person_id)
    except (ValueError, Refusal) as refusal:
        flash(getattr(refusal, "sentence", _("We can't find this period any more.")), "stop")
    else:
        flash(_("The station is back in service."))
    return redirect(url_for("office.out_of_order"), code=303)


def _moment(form: StopForm, name: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(form[name].data or "")
    except ValueError:
        form.add_error(name, MOMENT)
        return None
    return found.replace(tzinfo=zone())
