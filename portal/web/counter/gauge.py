"""A gauge that types into the scan field: at an inspection a number is a reading, never a tag.

Tags and films are numbers of one size. A number that opened a part would take the readings behind
it to another customer's wheel, so parts are opened by their code here, or from another page. Once a
part is inspected a number does nothing until somebody has left the page.
"""

from flask import flash, request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter.job_view import code_of_part
from portal.orders.production.readings import one_more
from portal.shop.scans import Kind, film_reading, read_scan
from portal.web.counter.desk import job_of, to
from portal.web.kit.request_context import unit

PLACE, AFTER = "inspect", "inspected"
LONGEST = 2000


def here(part_id: int) -> str:
    """Return what a scan on the page of a part's inspection means."""
    return f"{PLACE}:{part_id}"


def after(part_id: int) -> str:
    """Return what a scan means on the page that follows an inspection."""
    return f"{AFTER}:{part_id}"


def at_inspection(where: str, typed: str) -> Response | None:
    """Record a reading of the open part, or refuse a number; return None when it is a scan."""
    place, _sep, number = where.partition(":")
    reading = film_reading(typed)
    is_number = bool(reading) or read_scan(typed).kind is Kind.TAG
    if place not in (PLACE, AFTER) or not number.isdecimal() or not is_number:
        return None
    part_id = int(number[:9])
    if place == AFTER:
        flash(not_used(typed), "stop")
        return _after(part_id)
    so_far = request.values.get("so_far", "")[:LONGEST]
    if reading:
        flash(_("Reading saved: %(reading)s µm.", reading=reading), "go")
        so_far = one_more(so_far, reading)
    else:
        flash(not_used(typed), "stop")
    return to("inspect", part_id=part_id, readings=so_far or None)


def not_used(typed: str) -> str:
    """Return why a number did nothing."""
    return str(
        _(
            "%(number)s was not used: it is no film thickness of this part. To open a part here, "
            "scan its code or its paper tag.",
            number=typed.strip()[:20],
        )
    )


def _after(part_id: int) -> Response:
    job = job_of(code_of_part(unit(), part_id))
    part = next(one for one in job.parts if one.id == part_id)
    if part.stage.is_gate:
        return to("rework", part_id=part_id)
    return to("job", code=job.row.code, part=part.number, inspected=part_id)
