"""Appointments as a calendar file: RFC 5545, published, with the time zone (RFC 5546)."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event, vCalAddress

from portal.craft.messages import Message
from portal.notices.sender import Sender
from portal.render.text import render

PRODID = "-//Coating works portal//Drop-off//EN"


@dataclass(frozen=True, slots=True)
class DropOffEntry:
    """An appointment to be put into a calendar. `sequence` rises with every change of the time.

    `uid` never changes for a job; `title` and `about` are in the language `locale`. It is at the
    works, unless it is `elsewhere`.
    """

    uid: str
    sequence: int
    start: datetime
    end: datetime
    made_at: datetime
    sender: Sender
    locale: str
    title: Message
    about: Message
    link: str
    called_off: bool = False
    elsewhere: bool = False


def drop_off_calendar(drop_off: DropOffEntry) -> str:
    """Return the file's text, with CRLF line ends and lines folded at 75 octets."""
    sender = drop_off.sender
    reader, zone = sender.reader(drop_off.locale), ZoneInfo(sender.zone)
    event = Event()
    event.add("uid", drop_off.uid)
    event.add("dtstamp", drop_off.made_at.astimezone(UTC))
    event.add("sequence", drop_off.sequence)
    event.add("dtstart", drop_off.start.astimezone(zone))
    event.add("dtend", drop_off.end.astimezone(zone))
    title = render(drop_off.title, reader)
    event.add("summary", title)
    event.add("description", render(drop_off.about, reader))
    if not drop_off.elsewhere:
        event.add("location", ", ".join(sender.address))
    event.add("url", drop_off.link)
    event.add("status", "CANCELLED" if drop_off.called_off else "CONFIRMED")
    # RFC 5546 3.2.1: what is published names its organizer
    event.add("organizer", vCalAddress(f"mailto:{sender.email}"))
    if not drop_off.called_off:
        event.add_component(_the_day_before(title))
    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    # RFC 5546 4.1.3: what was published is cancelled by a file of its own method
    calendar.add("method", "CANCEL" if drop_off.called_off else "PUBLISH")
    calendar.add_component(event)
    # the whole history of a zone would be longer than the rest of the file
    year = drop_off.start.year
    calendar.add_missing_timezones(date(year - 1, 1, 1), date(year + 2, 1, 1))
    text: bytes = calendar.to_ical()
    return text.decode("utf-8")


def _the_day_before(title: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", timedelta(days=-1))
    alarm.add("description", title)
    return alarm
