"""The drop-off as a calendar file."""

from flask import Response
from flask.typing import ResponseReturnValue
from flask_babel import gettext as _

from portal.notices.calendar import DropOff, drop_off_calendar
from portal.orders.looking_slip import Slip, slip
from portal.shop.links import status_link
from portal.web.kit.desk import now, shop, unit


def drop_off(token: str) -> ResponseReturnValue:
    """Return the drop-off as an iCalendar file (RFC 5545); its UID stays, its sequence rises."""
    seen = slip(unit(), token)
    answer = Response(drop_off_calendar(_event(seen)), mimetype="text/calendar")
    name = f"{seen.shown_code}-drop-off.ics"
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _event(seen: Slip) -> DropOff:
    here = shop()
    return DropOff(
        uid=f"{seen.code.lower()}-drop-off@{here.email.partition('@')[2]}",
        sequence=seen.calendar_sequence,
        start=seen.dropoff_at,
        end=seen.dropoff_until,
        made_at=now(),
        zone=here.zone,
        title=_("Bring parts to %(house)s", house=here.name),
        about=_("%(what)s. Code %(code)s.", what=seen.summary, code=seen.shown_code),
        where=", ".join((here.name, *here.address)),
        link=status_link(unit().base_url, seen.token),
        email=here.email,
        called_off=seen.over,
    )
