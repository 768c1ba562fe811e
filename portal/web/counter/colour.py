"""A colour that was left to the samples: chosen with the customer, priced, saved."""

from typing import Any

from flask import request
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext
from werkzeug.wrappers import Response

from portal.craft.finishes import has_clear
from portal.craft.parts import Gloss
from portal.orders.counter.choosing_colour import (
    ColourChosen,
    Plates,
    choose_colour,
    plates,
    weigh_colour,
)
from portal.orders.counter.job_view import JobView
from portal.orders.kernel.errors import Refusal
from portal.shop.roles import Role
from portal.web.counter.desk import (
    WRONG,
    add_error,
    expected_event_id,
    job_of,
    me,
    page,
    tell_refusal,
    to,
)
from portal.web.kit.forms import OnceForm, RadioChoiceField, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import colour_name, label
from portal.web.kit.request_context import unit


class ColourForm(OnceForm):
    """The chosen powder; under a clear coat its gloss is chosen too."""

    plate = RadioChoiceField(_l("Which plate?"), [Required(_l("Choose the plate."))])
    gloss = RadioChoiceField(_l("Gloss of the clear coat"), choices=Gloss)


@require_role(Role.COUNTER)
@checks_its_form
def colour(code: str) -> Response:
    """Show the powders of a set; price the chosen one, then put it into the order."""
    job = job_of(code)
    key = request.values.get("set", "")[:8]
    try:
        offer = plates(unit(), job.id, key)
    except Refusal as refusal:
        tell_refusal(refusal)
        return to("check_in", code=code)
    form = _form(offer)
    weighed = None
    if form.is_submitted() and form.validate():
        try:
            weighed = weigh_colour(unit(), job.id, key, *_chosen(form, offer))
            if request.form.get("do") == "choose":
                return _choose(job, key, weighed, form)
        except Refusal as refusal:
            add_error(form, refusal)
    return _colour_page(job, offer, form, weighed)


def _form(offer: Plates) -> ColourForm:
    finish = offer.part_set.finish
    assert finish is not None  # an open set has one
    form = ColourForm(data={"gloss": finish.gloss.value})
    if has_clear(finish.system):
        form.gloss.choices = [
            (g.value, label(g)) for g in Gloss if any(f.gloss is g for f, _p in offer.finishes)
        ]
    else:
        del form.gloss
    powders = {p.code: p for _finish, p in offer.finishes}
    form.plate.choices = [(code, colour_name(p.name)) for code, p in powders.items()]
    return form


def _chosen(form: ColourForm, offer: Plates) -> tuple[str, Gloss]:
    plate = str(form.plate.data)
    if "gloss" in form:
        return plate, Gloss(form.gloss.data)
    own = next((f.gloss for f, powder in offer.finishes if powder.code == plate), Gloss.GLOSS)
    return plate, own


def _choose(job: JobView, key: str, weighed: ColourChosen, form: ColourForm) -> Response:
    # what was read on the page counts: another price or date must be read again
    read = f"{weighed.total.minor}.{weighed.ready_at:%Y%m%dT%H%M}"
    if request.form.get("read", "") != read:
        return _colour_page(job, plates(unit(), job.id, key), form, weighed)
    choose_colour(
        unit(),
        job.id,
        key,
        weighed,
        expected_event_id=expected_event_id(),
        once_token=str(form.once.data or ""),
        who=me(),
    )
    return to("check_in", code=job.row.code)


def _colour_page(
    job: JobView, offer: Plates, form: ColourForm, weighed: ColourChosen | None
) -> Response:
    powders: dict[str, Any] = {powder.code: powder for _finish, powder in offer.finishes}
    return page(
        "colour",
        WRONG if form.errors or form.form_errors else 200,
        job=job,
        own=offer.part_set,
        form=form,
        powders=powders,
        says={
            code: ngettext("order: %(num)s working day", "order: %(num)s working days", p.lead_days)
            for code, p in powders.items()
            if p.stock_kg <= 0
        },
        weighed=weighed,
        read=f"{weighed.total.minor}.{weighed.ready_at:%Y%m%dT%H%M}" if weighed else "",
    )
