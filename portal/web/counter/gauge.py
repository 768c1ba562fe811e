"""A gauge that types into the scan field of an inspection: its readings are no tags.

A number may be either. Before the first reading it counts as a tag, and the page says so where it
could have been a film thickness; after that the page asks.
"""

from flask import flash, request, url_for
from flask_babel import gettext as _
from werkzeug.wrappers import Response

from portal.orders.counter.job_view import code_of_part
from portal.orders.production import inspecting
from portal.shop.scans import film_reading, tag_number
from portal.web.counter.desk import job_of, to
from portal.web.kit.request_context import unit

PLACE = "inspect"
LONGEST = 1000
ROOM = 2  # a number up to so many times above or below the film asked for may be a film


def at_inspection(where: str, typed: str) -> Response | None:
    """Record a reading of the open part, or ask; return None when it is a scan."""
    place, _sep, number = where.partition(":")
    reading = film_reading(typed)
    if place != PLACE or not reading or not number.isdecimal():
        return None
    part_id, so_far = int(number[:9]), request.values.get("so_far", "")[:LONGEST]
    if tag_number(typed) not in inspecting.tags_here(unit(), part_id):
        flash(_("Reading saved: %(reading)s µm.", reading=reading), "go")
        return to("inspect", part_id=part_id, readings=f"{so_far} {reading}".strip())
    if so_far.strip():
        return to("inspect", part_id=part_id, readings=so_far, asked=reading)
    _tell_of_the_film(part_id, reading)
    return None


def asked_about(part_id: int, readings: str) -> dict[str, str] | None:
    """Return the question about a number that is a tag here and may be a reading, if any."""
    reading = film_reading(request.args.get("asked", ""))
    if not reading:
        return None
    noted = url_for("counter.inspect", part_id=part_id, readings=f"{readings} {reading}".strip())
    return {"number": reading, "noted": noted, "open": url_for("counter.scan", q=reading)}


def _tell_of_the_film(part_id: int, reading: str) -> None:
    job = job_of(code_of_part(unit(), part_id))
    low, high = next(one for one in job.parts if one.id == part_id).card.film_um
    if low / ROOM <= float(reading.replace(",", ".")) <= high * ROOM:
        words = _("We read %(number)s as a tag. If it was a reading, go back.", number=reading)
        flash(words, "tell")
