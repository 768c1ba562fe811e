"""Bookings that were not brought yet: found, and many called off at once."""

from collections.abc import Sequence
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from flask_babel import lazy_gettext as _l
from flask_babel import ngettext

from portal.craft.messages import Message, Phone
from portal.orders.kernel.errors import Refused
from portal.orders.office import bookings
from portal.orders.office.bookings import BookingLine
from portal.shop.codes import shown
from portal.shop.roles import Role
from portal.web.kit.forms import (
    CheckboxField,
    MultiCheckboxField,
    PageForm,
    Required,
    TextField,
)
from portal.web.kit.http.csrf import checks_its_form
from portal.web.kit.http.guards import require_role, the_person
from portal.web.kit.request_context import number_of, unit

LONGEST_FIND = 60


class CallOffManyForm(PageForm):
    """Which bookings are called off, why, and whether their customers are told."""

    jobs = MultiCheckboxField(_l("Bookings"), [Required(_l("Choose the bookings."))])
    reason = TextField(_l("Reason"), [Required(_l("Enter the reason."))], longest=300)
    letter = CheckboxField(_l("Write to the customers"), default=True)


@require_role(Role.OFFICE)
@checks_its_form
def open_bookings() -> Any:
    find = request.args.get("find", "")[:LONGEST_FIND]
    found = bookings.bookings(unit(), find)
    form = _form(found)
    if found and form.validate_on_submit():
        try:
            return _call_off(form, find)
        except Refused as refusal:
            form.add_error(refusal.key, refusal.sentence)
    says = {str(one.job_id): _says(one) for one in found}
    page = render_template("office/bookings.html", found=found, form=form, find=find, says=says)
    return make_response(page, 422 if form.errors else 200)


def _form(found: Sequence[BookingLine]) -> CallOffManyForm:
    form = CallOffManyForm()
    form.jobs.choices = [(str(one.job_id), f"{shown(one.code)} · {one.name}") for one in found]
    return form


def _says(one: BookingLine) -> Message:
    values = {
        "phone": Phone(one.phone) if one.phone else "–",
        "email": one.email or "–",
        "order": one.summary,
    }
    if one.same == 1:
        return Message("{order} · {phone} · {email}", **values)
    return Message("{order} · {phone} ({n} bookings) · {email}", n=one.same, **values)


def _call_off(form: CallOffManyForm, find: str) -> Any:
    chosen = [number_of(one) for one in form.jobs.data or ()]
    done = bookings.call_off_many(
        unit(),
        chosen,
        form.reason.data or "",
        has_letter=bool(form.letter.data),
        who=the_person().person_id,
    )
    flash(ngettext("One booking was cancelled.", "%(num)s bookings were cancelled.", done), "go")
    return redirect(url_for("office.open_bookings", find=find or None), code=303)
