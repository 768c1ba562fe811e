"""A gauge that types into the scan field: at an inspection a number is a reading, never a tag.

Tags and films are numbers of one size. A number that opened a part would take the readings behind
it to another customer's wheel, so parts are opened by their code here, or from another page. Once a
part is inspected a number does nothing until somebody has left the page.
"""

from collections.abc import Mapping

from flask import flash, request
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.craft.inspection import LEAST_READINGS, spots_needed
from portal.orders.counter.job_view import code_of_part
from portal.orders.production.readings import one_more
from portal.shop.scans import Kind, film_reading, read_scan
from portal.web.counter.desk import job_of, to
from portal.web.kit.request_context import unit

PLACE, AFTER, SET = "inspect", "inspected", "inspect-set"
LONGEST = 2000
LONGEST_SET = 12_000


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
    if place == SET and is_number:
        return _at_set(where, typed)
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


def here_set(code: str, set_key: str) -> str:
    """Return what a scan on the page of a set's inspection means."""
    return f"{SET}:{code}:{set_key}"


def set_text(readings: Mapping[int, str]) -> str:
    """Return the readings of several parts in one line: `12=80 81 82/79;13=77`."""
    return ";".join(f"{one}={'/'.join(text.split(chr(10)))}" for one, text in readings.items())


def of_set(text: str) -> dict[int, str]:
    """Read what `set_text` wrote; what is none of it is left out."""
    pairs = [one.partition("=") for one in text[:LONGEST_SET].split(";")]
    return {
        int(number): typed.replace("/", "\n")[:LONGEST]
        for number, _sep, typed in pairs
        if number.isdecimal() and len(number) < 10
    }


def _at_set(where: str, typed: str) -> Response:
    """Add a reading to the first part of the set that has not all of its spots."""
    code, _sep, set_key = where.partition(":")[2].partition(":")
    needed = {
        one.id: spots_needed(one.card.area_m2) * LEAST_READINGS
        for one in job_of(code).parts_of(set_key)
        if one.stage.is_gate
    }
    so_far = of_set(request.values.get("so_far", ""))
    so_far = {one: so_far.get(one, "") for one in needed}
    reading = film_reading(typed)
    open_ = [one for one, count in needed.items() if len(so_far[one].split()) < count]
    if reading and open_:
        flash(_("Reading saved: %(reading)s µm.", reading=reading), "go")
        so_far[open_[0]] = one_more(so_far[open_[0]], reading)
    else:
        flash(not_used(typed), "stop")
    return to("inspect_set", code=code, set_key=set_key, readings=set_text(so_far) or None)


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
