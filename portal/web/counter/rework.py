"""A part goes back: what is wrong with it decides to which station, and what is done there."""

from flask import flash, request
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.craft.messages import Message
from portal.orders.counter.job_view import PartView, code_of_part
from portal.orders.kernel.errors import Refusal
from portal.orders.production import floor
from portal.orders.production.oven_view import heat_page
from portal.shop.faults import Fault, faults_for
from portal.shop.roles import Role
from portal.web.counter import gauge
from portal.web.counter.desk import WRONG, add_error, job_of, me, page, to
from portal.web.kit.forms import AreaField, PageForm, RadioChoiceField, Required
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import label, render
from portal.web.kit.request_context import unit


class ReworkForm(PageForm):
    """What is wrong with a part."""

    fault = RadioChoiceField(
        _l("What is wrong?"), [Required(_l("Choose what is wrong with it."))], choices=Fault
    )
    words = AreaField(
        _l("What the next person should know"), longest=floor.LONGEST_REASON, render_kw={"rows": 2}
    )


@require_role(Role.FLOOR)
@checks_its_form
def rework(part_id: int) -> Response:
    """Ask what is wrong and send the part back; `?fault=` is what the inspection has found."""
    job = job_of(code_of_part(unit(), part_id))
    part = next(one for one in job.parts if one.id == part_id)
    form = ReworkForm()
    faults = faults_for(part.stage, part.plan)
    form.fault.choices = [(one.value, label(one)) for one in faults]
    if not form.is_submitted() and request.args.get("fault") in faults:
        form.fault.data = request.args["fault"]
    if form.validate_on_submit():
        try:
            moved = floor.rework(
                unit(), part_id, Fault(form.fault.data), form.words.data or "", who=me()
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            flash(render(moved.says), "go")
            return to("floor", moved=part_id)
    wrong = form.errors or form.form_errors
    return page(
        "rework",
        WRONG if wrong else 200,
        where=gauge.after(part_id) if part.stage.is_gate else "",
        job=job,
        part=part,
        form=form,
        says=_says(part, faults),
        heat=heat_page(unit(), part_id),
    )


def _says(part: PartView, faults: tuple[Fault, ...]) -> dict[str, Message]:
    """Return what follows from each fault: the station, and the kind of rework."""
    return {
        one.value: Message("{station}: {redo}", station=one.target(part.plan), redo=one.redo)
        for one in faults
    }
