"""The drop-off's calendar file, read by a reader of our own, after RFC 5545."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.messages import Message
from portal.notices.calendar import DropOffEntry, drop_off_calendar
from portal.notices.sender import Sender

START = datetime(2026, 6, 1, 7, 0, tzinfo=UTC)
DROP_OFF = DropOffEntry(
    uid="4f7k2m9p-drop-off@portal.example.com",
    sequence=0,
    start=START,
    end=START + timedelta(minutes=30),
    made_at=datetime(2026, 5, 1, 12, 0, tzinfo=UTC),
    sender=Sender(
        "Fennholt Coating Works",
        ("4 Kiln Lane", "Fennholt"),
        "+441632960471",
        "works@example.com",
        "Europe/London",
    ),
    locale="en",
    title=Message("Drop off parts at {shop}", shop="Fennholt Coating Works"),
    about=Message("4 × Wheels; bring the slip"),
    link="https://portal.example.com/J/EXAMPLE",
)


def unfolded(text: str) -> list[str]:
    """Section 3.1: a line that begins with a space goes on from the one before."""
    return text.replace("\r\n ", "").split("\r\n")


def read(text: str) -> dict[str, dict[str, str]]:
    """Properties of each component, by its name; enough of a reader for one event."""
    found: dict[str, dict[str, str]] = {}
    open_: list[str] = []
    for line in unfolded(text):
        if not line:
            continue
        name, _, value = line.partition(":")
        if name == "BEGIN":
            open_.append(value)
        elif name == "END":
            assert open_.pop() == value
        else:
            found.setdefault(open_[-1], {})[name] = value
    assert not open_
    return found


def unescaped(value: str) -> str:
    """Section 3.3.11, read from left to right."""
    return re.sub(r"\\([\\;,nN])", lambda m: "\n" if m[1] in "nN" else m[1], value, flags=re.S)


def test_the_file_is_published_with_everything_an_event_needs() -> None:
    found = read(drop_off_calendar(DROP_OFF))
    calendar, event = found["VCALENDAR"], found["VEVENT"]
    assert calendar["VERSION"] == "2.0"
    assert calendar["METHOD"] == "PUBLISH"
    assert calendar["PRODID"]
    assert event["UID"] == DROP_OFF.uid
    assert event["SEQUENCE"] == "0"
    assert event["DTSTAMP"] == "20260501T120000Z"
    assert event["STATUS"] == "CONFIRMED"
    assert event["ORGANIZER"] == "mailto:works@example.com"


def test_times_are_local_with_their_zone_spelt_out() -> None:
    text = drop_off_calendar(DROP_OFF)
    event = read(text)["VEVENT"]
    assert event["DTSTART;TZID=Europe/London"] == "20260601T080000"
    assert event["DTEND;TZID=Europe/London"] == "20260601T083000"
    assert read(text)["VTIMEZONE"]["TZID"] == "Europe/London"


@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York", "Australia/Lord_Howe"])
@pytest.mark.parametrize("month", [1, 3, 4, 6, 10, 11])
def test_an_independent_reader_of_the_zone_finds_the_same_moment(zone: str, month: int) -> None:
    start = datetime(2026, month, 28, 8, 0, tzinfo=ZoneInfo(zone))
    there = replace(DROP_OFF.sender, zone=zone)
    text = drop_off_calendar(replace(DROP_OFF, start=start, end=start, sender=there))
    told = tzical(StringIO("\n".join(unfolded(text)))).get(zone)
    local = datetime.fromisoformat(read(text)["VEVENT"][f"DTSTART;TZID={zone}"])
    assert local.tzinfo is None
    assert local.replace(tzinfo=told).astimezone(UTC) == start.astimezone(UTC)


@given(st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=300))
def test_lines_end_with_crlf_and_fold_at_75_octets_inside_no_character(text: str) -> None:
    written = drop_off_calendar(replace(DROP_OFF, about=text, title=text))
    raw = written.encode("utf-8")
    assert raw.count(b"\n") == raw.count(b"\r\n") == raw.count(b"\r")
    assert raw.endswith(b"END:VCALENDAR\r\n")
    for line in raw.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")  # a split character could not be decoded
    assert unescaped(read(written)["VEVENT"]["DESCRIPTION"]) == text


def test_line_breaks_commas_and_backslashes_are_escaped() -> None:
    text = "One, two; three\nfour \\ five"
    value = read(drop_off_calendar(replace(DROP_OFF, about=text)))["VEVENT"]["DESCRIPTION"]
    assert value == r"One\, two\; three\nfour \\ five"


def test_a_change_keeps_the_uid_and_raises_the_sequence() -> None:
    first, later = DROP_OFF, replace(DROP_OFF, sequence=1, start=START + timedelta(days=1))
    one, two = (read(drop_off_calendar(x))["VEVENT"] for x in (first, later))
    assert one["UID"] == two["UID"]
    assert (one["SEQUENCE"], two["SEQUENCE"]) == ("0", "1")


def test_a_job_that_is_called_off_cancels_its_entry() -> None:
    found = read(drop_off_calendar(replace(DROP_OFF, called_off=True, sequence=2)))
    assert found["VEVENT"]["STATUS"] == "CANCELLED"
    assert "VALARM" not in found


def test_the_same_drop_off_gives_the_same_file() -> None:
    assert drop_off_calendar(DROP_OFF) == drop_off_calendar(DROP_OFF)
