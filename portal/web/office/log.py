"""The log in sentences: what everybody did, of a day, of a person, of a job."""

from datetime import date, datetime, time, timedelta
from typing import Any

from flask import make_response, render_template, request, url_for
from flask_babel import gettext as _
from flask_babel import lazy_gettext as _l

from portal.orders.kernel.errors import Unknown
from portal.orders.office import people
from portal.orders.office.audit_view import A_PAGE, AuditEntry, Wanted, audit_entries
from portal.shop.roles import Role
from portal.web.kit.forms import PageForm, SelectChoiceField, TextField
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import number_of, shop, unit

SOONEST, LATEST = date(2000, 1, 1), date(9000, 1, 1)


def _everybody() -> list[tuple[str, str]]:
    every = [(str(one.person_id), one.name) for one in people.people(unit())]
    return [("", _("Everybody")), *every]


class LogForm(PageForm):
    """Which entries are wanted, sent by GET."""

    day = TextField(_l("Day"), longest=10, render_kw={"type": "date", "autocomplete": "off"})
    person = SelectChoiceField(_l("Person"), choices=_everybody)
    job = TextField(_l("Job"), longest=12, render_kw={"class": "code-input", "spellcheck": "false"})


@require_role(Role.OFFICE)
def doing() -> Any:
    """Show the log, or what of it is asked for."""
    form = LogForm(formdata=request.args, meta={"csrf": False})
    day = _day(form)
    found: tuple[AuditEntry, ...] = ()
    if not form.errors:
        try:
            found = audit_entries(unit(), _wanted(form, day))
        except Unknown as refusal:
            form.add_error("job", refusal.sentence)
    page = render_template(
        "office/doing.html", deeds=found, form=form, earlier=_earlier(form, found)
    )
    return make_response(page, 422 if form.errors else 200)


def _wanted(form: LogForm, day: date | None) -> Wanted:
    week = shop().week
    until = _moment(request.args.get("until"))
    if day is not None:
        ends = week.moment(day + timedelta(days=1), time.min) - timedelta(microseconds=1)
        until = min(until or ends, ends)
    return Wanted(
        person_id=number_of(form.person.data) or None,
        code=(form.job.data or "").strip(),
        since=week.moment(day, time.min) if day else None,
        until=until,
    )


def _earlier(form: LogForm, found: tuple[AuditEntry, ...]) -> str:
    """Return the address of the entries before these, "" where there are none."""
    if len(found) < A_PAGE:
        return ""
    values = {name: form[name].data or None for name in ("day", "person", "job")}
    return url_for("office.doing", until=found[-1].at.isoformat(), **values)


def _day(form: LogForm) -> date | None:
    text = form.day.data or ""
    try:
        found = date.fromisoformat(text) if text else None
    except ValueError:
        found = SOONEST
    if found and not SOONEST < found < LATEST:
        form.add_error("day", _("Enter a date like 2026-06-01."))
        return None
    return found


def _moment(text: str | None) -> datetime | None:
    try:
        found = datetime.fromisoformat(text) if text else None
    except ValueError:
        return None
    return found if found and found.tzinfo else None
