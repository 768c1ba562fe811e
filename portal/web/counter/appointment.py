"""The appointment of a job that is still expected: moved, called off, or marked as not brought."""

from flask import flash
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter import appointments
from portal.orders.kernel.errors import Refusal, Refused
from portal.shop.roles import Role
from portal.web.counter.desk import (
    WRONG,
    add_error,
    job_of,
    me,
    page,
    tell_refusal,
    to,
)
from portal.web.kit.drop_off_form import MoveForm
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role
from portal.web.kit.i18n.languages import clock_time
from portal.web.kit.i18n.languages import day as day_text
from portal.web.kit.request_context import now, number_of, unit


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
    form = MoveForm.of(view.free)
    if form.is_submitted() and form.validate():
        start, agreed = form.chosen
        try:
            appointments.move_appointment(
                unit(),
                view.job_id,
                start,
                agreed=agreed,
                expected_event_id=number_of(form.expected_event_id.data),
                once_token=str(form.once.data or ""),
                who=me(),
            )
        except Refusal as refusal:
            add_error(form, refusal)
        else:
            day, time = day_text(start), clock_time(start)
            flash(_("Moved to %(day)s, %(time)s.", day=day, time=time), "go")
            return to("job", code=code)
    form.expected_event_id.data = str(view.last_event_id)
    late = job.row.state == "booked" and now() >= job.row.dropoff_until
    status = WRONG if form.errors or form.form_errors else 200
    return page("appointment", status, job=job, view=view, form=form, late=late)
