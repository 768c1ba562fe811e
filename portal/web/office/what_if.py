"""Try a change: one place more, open on Saturdays, other days for the strip runs."""

from typing import Any

from flask import render_template, request
from flask_babel import lazy_gettext as _l

from portal.orders.planning.what_if import try_idea
from portal.shop.calendar.hours import DAYS
from portal.shop.roles import Role
from portal.shop.route import QUEUED, PartStage
from portal.shop.scheduling.what_if import Idea
from portal.web.kit.forms import CheckboxField, MultiCheckboxField, PageForm, RadioChoiceField
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import label
from portal.web.kit.request_context import now, unit
from portal.web.office.sheets import day_names
from portal.web.office.what_if_picture import before_and_after

WORKING_DAYS = DAYS[:5]


class IdeaForm(PageForm):
    """A change to try, sent by GET: nothing is saved, and the address can be shared."""

    places = RadioChoiceField(
        _l("One place more at"),
        choices=lambda: [
            ("", _l("no station")),
            *((str(one.value), label(one)) for one in QUEUED),
        ],
    )
    saturday = CheckboxField(_l("The floor works on Saturdays too, as long as on Fridays"))
    days = MultiCheckboxField(
        _l("Strip runs leave on"), choices=lambda: [*day_names().items()][: len(WORKING_DAYS)]
    )


@require_role(Role.OFFICE)
def what_if() -> Any:
    form = IdeaForm(formdata=request.args, meta={"csrf": False})
    asked = bool(request.args)
    idea = Idea()
    if asked and form.validate():
        chosen = set(form.days.data or ())
        idea = Idea(
            more_places=PartStage(form.places.data) if form.places.data else None,
            saturday=bool(form.saturday.data),
            strip_days=tuple(n for n, day in enumerate(WORKING_DAYS) if day in chosen),
        )
    tried = None if idea.empty else try_idea(unit(), idea)
    picture = before_and_after(tried, now()) if tried and tried.compared.jobs else ""
    return render_template(
        "office/what_if.html", form=form, tried=tried, picture=picture, asked=asked
    )
