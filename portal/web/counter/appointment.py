"""The appointment of a job that is still expected: moved, called off, or marked as not brought."""

from flask import flash
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l
from werkzeug.wrappers import Response

from portal.orders.counter import appointments
from portal.orders.counter.appointments import AppointmentView
from portal.orders.kernel.errors import Refusal, Refused
from portal.shop.roles import Role
from portal.web.counter.desk import (
    WRONG,
    blame,
    expected_event_id,
    job_of,
    me,
    page,
    tell_refusal,
    to,
)
from portal.web.kit.forms import OnceForm, Required, SelectChoiceField
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import clock_time
from portal.web.kit.i18n.languages import day as day_text
from portal.web.kit.request_context import now, unit


class MoveForm(OnceForm):
    """The new drop-off time; its value carries the promise that was read beside it."""

    slot = SelectChoiceField(_l("New drop-off time"), [Required(_l("Choose the new time."))])


@require_role(Role.COUNTER)
@checks_its_form
def appointment(code: str) -> Response:
    """Show the free times for a job; move it to one of them."""
    job = job_of(code)
    try:
        view = appointments.appointment_view(unit(), code)
    except Refused as refusal:
        tell_refusal(refusal)
        return to("job", code=code)
    form = _form(view)
    if form.is_submitted() and form.validate():
        chosen = next(one for one in view.free if one.agreement == form.slot.data)
        try:
            appointments.move_appointment(
                unit(),
                view.job_id,
                chosen.offer.start,
                agreed=chosen.agreement,
                expected_event_id=expected_event_id(),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            blame(form, refusal)
        else:
            at = chosen.offer.start
            flash(_("Moved to %(day)s, %(time)s.", day=day_text(at), time=clock_time(at)), "go")
            return to("job", code=code)
    late = job.row.state == "booked" and now() >= job.row.dropoff_until
    status = WRONG if form.errors or form.form_errors else 200
    return page("appointment", status, job=job, view=view, form=form, late=late)


def _form(view: AppointmentView) -> MoveForm:
    form = MoveForm()
    form.slot.choices = [
        (
            one.agreement,
            _(
                "%(day)s, %(from)s–%(until)s · ready %(ready)s",
                **{
                    "day": day_text(one.offer.start),
                    "from": clock_time(one.offer.start),
                    "until": clock_time(one.offer.end),
                    "ready": day_text(one.offer.ready_at),
                },
            ),
        )
        for one in view.free
    ]
    return form
