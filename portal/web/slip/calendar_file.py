"""The drop-off as a calendar file."""

from flask import Response
from flask.typing import ResponseReturnValue

from portal.notices.calendar import drop_off_calendar
from portal.orders.customer.slip_view import drop_off_behind
from portal.web.kit.request_context import unit


def drop_off(token: str) -> ResponseReturnValue:
    """Return the drop-off as an iCalendar file (RFC 5545), the same as in the letter."""
    answer = Response(drop_off_calendar(drop_off_behind(unit(), token)), mimetype="text/calendar")
    answer.headers["Content-Disposition"] = 'attachment; filename="drop-off.ics"'
    return answer
