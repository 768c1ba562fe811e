"""Hours of single stations: a booth that runs in the mornings only, a late shift at the oven."""

import re
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import LazyString
from flask_babel import gettext as _

from portal.craft.reading import write
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.orders.office import stations
from portal.shop.calendar.hours import DAYS
from portal.shop.roles import Role
from portal.shop.route import QUEUED, PartStage
from portal.web.kit.forms import PageForm, TextField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.i18n.languages import render
from portal.web.kit.request_context import unit
from portal.web.office.sheets import day_names

KEYS = {"autocomplete": "off", "spellcheck": "false"}


class HoursForm(PageForm):
    """The spans of each weekday, written as in the week's own sheet."""

    mon, tue, wed, thu, fri, sat, sun = (
        TextField(LazyString(lambda day=day: day_names()[day]), render_kw=KEYS) for day in DAYS
    )


@require_role(Role.OFFICE)
@checks_its_form
def station_hours() -> Any:
    chosen = next((one for one in QUEUED if one == request.args.get("station")), None)
    own = stations.own_hours(unit())
    form = HoursForm()
    if chosen is not None and not form.is_submitted():
        for day in DAYS:
            form[day].data = ", ".join(own[chosen].get(day, ()))
    elif chosen is not None and form.validate() and _save(chosen, form):
        return redirect(url_for("office.station_hours"), code=303)
    with unit().read() as session:
        works = write(unit().shop(session).week.work)
    page = render_template(
        "office/station_hours.html",
        form=form,
        chosen=chosen,
        own=own,
        works=works,
        days=day_names(),
    )
    return make_response(page, 422 if form.errors else 200)


def _save(station: PartStage, form: HoursForm) -> bool:
    typed = {day: re.split(r"[,;]", form[day].data or "") for day in DAYS}
    hours = {day: [one.strip() for one in spans if one.strip()] for day, spans in typed.items()}
    try:
        stations.set_hours(unit(), station, hours, who=the_person().person_id)
    except Already as refusal:
        flash(render(refusal.sentence))
    except (Refused, Overtaken) as refusal:
        return form.add_error(refusal.key, refusal.sentence)
    else:
        flash(_("Saved. We are working out every date again."))
    return True
