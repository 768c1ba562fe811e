"""Where each wheel sat: all wheels of a set by one press, or each by its own box."""

from flask import request
from werkzeug.wrappers import Response

from portal.craft.corners import Corner
from portal.orders.counter import corners as verbs
from portal.orders.counter.job_view import JobView, PartView
from portal.shop.roles import Role
from portal.web.counter.desk import attempt, expected_event_id, job_of, me, to
from portal.web.kit.http.guards import require_role
from portal.web.kit.request_context import unit


@require_role(Role.COUNTER)
def corners(code: str) -> Response:
    """Save where the wheels of a set sat."""
    job = job_of(code)
    key = request.form.get("set", "")[:8]
    own = [part for part in job.parts_of(key) if part.here]
    row = request.form.get("row", "")

    def work() -> None:
        noted = _in_a_row(job, key, own, row) if row else _one_by_one(own)
        since = None if row else expected_event_id()
        verbs.note_corners(unit(), job.id, noted, expected_event_id=since, who=me())

    # no anchor: with one the browser would not put the focus into the field, and tags come next
    return attempt(work, to("check_in", code=code))


def _in_a_row(job: JobView, key: str, own: list[PartView], row: str) -> dict[int, Corner]:
    """Return the corners of one press: a row by its place, or that nobody knows."""
    rows = next((job.corner_rows(one) for one in job.sets if one.key == key), ())
    if row.isdecimal() and len(row) < 3 and int(row) < len(rows):
        return {part.number: corner for part, corner in zip(own, rows[int(row)], strict=True)}
    if row == Corner.UNKNOWN:
        return {part.number: Corner.UNKNOWN for part in own if part.corner is None}
    return {}


def _one_by_one(own: list[PartView]) -> dict[int, Corner]:
    words = {str(one.value) for one in Corner}
    chosen = {part.number: request.form.get(f"corner-{part.number}", "") for part in own}
    return {number: Corner(word) for number, word in chosen.items() if word in words}
