"""The slip on paper: one page, a code that is read however it is held, nothing private on it."""

import re
import zlib
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest

from portal.craft.hollow import LEAVE_OLD_PAINT
from portal.orders.customer.slip_view import slip
from portal.shop.codes import printed_link
from portal.shop.route import PartStage
from tests.factories import (
    PAINTED,
    TWO_COATS,
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    accept,
)
from tests.page import page_of
from tests.web import paper

CALIPERS = {
    "kind": "caliper",
    "count": 2,
    "metal": "cast_iron",
    "size_mm": [260, 140, 120],
    "layers": ["liquid_paint"],
    "fitted": ["seals"],
    "removers": {"seals": "you"},
    "finish": {"system": "single", "colour": "R3020-G", "gloss": "gloss"},
}
TUBE = {
    "kind": "tube",
    "count": 2,
    "metal": "steel",
    "size_mm": [900, 40, 40],
    "layers": ["liquid_paint"],
    "finish": {"system": "single", "colour": "R3020-G", "gloss": "gloss"},
}
COMPLETE = {
    **PAINTED,
    "damage": ["kerb_rash"],
    "fitted": ["tyre", "weights", "valve", "sensor", "centre_cap"],
    "removers": dict.fromkeys(["tyre", "weights", "valve", "sensor", "centre_cap"], "us"),
}
LONG = (COMPLETE, CALIPERS, PAINTED, TWO_COATS, {**WHEELS, "count": 2}, {**WHEELS, "count": 1})
PAPERS = {"a4": (210, 297), "letter": (215.9, 279.4)}


def slip_pdf(client, job, size="a4") -> bytes:
    answer = client.get(f"/J/{job.token}/slip.pdf?size={size}")
    assert answer.status_code == 200
    assert answer.mimetype == "application/pdf"
    return answer.data


@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("sets", [(WHEELS,), (COMPLETE, CALIPERS), LONG], ids=["1", "2", "6"])
def test_a_slip_is_one_page_of_its_paper(client, unit, size, sets):
    pdf = slip_pdf(client, a_booked_job(unit, *sets, bringing="complete"), size)
    (width, height), *more = paper.sizes_mm(pdf)
    assert not more
    assert (width, height) == pytest.approx(PAPERS[size], abs=0.5)


@pytest.mark.parametrize("sets", [(WHEELS,), LONG], ids=["1", "6"])
def test_a_slip_bears_the_address_to_be_typed(client, unit, sets):
    job = a_booked_job(unit, *sets)
    text = re.sub(r"\s", "", paper.text_of(slip_pdf(client, job)))
    found = re.search(r"127\.0\.0\.1:8000(/J/[A-Z2-7-]{32})", text)
    assert found
    # six groups of four and a rest, and no character that has a twin among them
    assert re.fullmatch(r"/J/(?:[A-Z2-7]{4}-){6}[A-Z2-7]{2}", found[1])
    typed = client.get(found[1].lower())
    assert typed.status_code == 200
    assert f"/J/{job.token}/slip" in typed.get_data(as_text=True)


def test_nothing_of_the_slip_is_cut_at_the_edge(client, unit):
    pdf = slip_pdf(client, a_booked_job(unit, *LONG), "letter")
    (page,) = paper.pages(pdf)
    edge = int(5 * paper.MM)
    for strip in (page[:edge], page[-edge:], page[:, :edge], page[:, -edge:]):
        assert strip.min() == 255
    assert "Received by" in paper.text_of(pdf)


@pytest.fixture
def printed(client, unit):
    job = a_booked_job(unit, COMPLETE, CALIPERS, bringing="complete")
    (page,) = paper.pages(slip_pdf(client, job))
    return job, page


def test_both_codes_hold_the_link_and_are_large_enough(printed):
    job, page = printed
    link = printed_link("http://127.0.0.1:8000", job.token)
    found = sorted(paper.read_all(page), key=lambda code: -(paper.box_of(code)[2]))
    assert [code.text for code in found] == [link, link]
    for code in found:
        left, top, right, bottom = paper.box_of(code)
        with_quiet = (right - left) / paper.MM * 37 / 29
        assert with_quiet >= 25
        # four modules of white on every side
        quiet = int((right - left) / 29 * 3.6)
        assert page[top - quiet : top - 2, left:right].min() > 250
        assert page[bottom + 3 : bottom + quiet, left:right].min() > 250
        assert page[top:bottom, left - quiet : left - 2].min() > 250
        assert page[top:bottom, right + 3 : right + quiet].min() > 250


SPOILT = {
    "as printed": lambda shot, _: shot,
    "blurred": lambda shot, _: paper.blurred(shot),
    "turned by 15°": lambda shot, _: paper.turned(shot),
    "a tenth covered": paper.covered,
    "low toner": lambda shot, _: paper.faint(shot),
    "blurred and turned": lambda shot, _: paper.turned(paper.blurred(shot)),
    "blurred, turned, covered": lambda shot, box: paper.turned(
        paper.blurred(paper.covered(shot, box))
    ),
}


@pytest.mark.parametrize("reader", paper.READERS)
@pytest.mark.parametrize("spoil", SPOILT)
def test_the_code_is_read_however_it_was_treated(printed, spoil, reader):
    job, page = printed
    link = printed_link("http://127.0.0.1:8000", job.token)
    for code in paper.read_all(page):
        shot = paper.cut_out(page, code)
        (own,) = paper.read_all(shot)
        assert paper.READERS[reader](SPOILT[spoil](shot, paper.box_of(own))) == link


def test_the_spoiling_can_spoil(printed):
    # the readers are not simply good at everything
    _, page = printed
    shot = paper.cut_out(page, paper.read_all(page)[0])
    (own,) = paper.read_all(shot)
    assert paper.by_zxing(paper.covered(shot, paper.box_of(own), share=0.5)) == ""


def test_the_slip_says_what_to_bring_and_what_to_mask(client, unit):
    job = a_booked_job(unit, COMPLETE, CALIPERS, bringing="complete")
    text = paper.text_of(slip_pdf(client, job))
    code = f"{job.code[:4]}-{job.code[4:]}"
    assert text.count(code) >= 2
    for words in (
        "Monday 1 June",
        "Jet black satin",
        "Kerb damage",
        "Centre bore",
        "Nut or bolt seats",
    ):
        assert words in text
    assert "Seals and hydraulic parts" in text


def test_the_slip_says_what_must_be_done_to_a_closed_part(client, unit):
    closed = paper.text_of(
        slip_pdf(client, a_booked_job(unit, {**TUBE, "closed": ["sealed_tube"]}))
    )
    assert "Have a vent hole drilled" in closed
    assert "You don't need to take anything off" not in closed
    sound = paper.text_of(slip_pdf(client, a_booked_job(unit, {**TUBE, "closed": ["none"]})))
    assert "You don't need to take anything off" in sound
    assert "vent hole" not in sound


def test_the_slip_warns_of_old_paint(unit):
    one = slip(unit, a_booked_job(unit, TUBE).token)
    assert one.before == ()
    assert replace(one, old_paint=True).before == (LEAVE_OLD_PAINT,)


def test_only_the_counters_strip_bears_the_name_and_nothing_else_is_told(client, unit):
    job = a_booked_job(unit, COMPLETE, name="Robin Sample", vehicle="Brown estate ZZ99 ZZZ")
    text = paper.text_of(slip_pdf(client, job))
    page = client.get(f"/J/{job.token}/slip")
    tags = client.get(f"/J/{job.token}/tags").get_data(as_text=True)
    html = page.get_data(as_text=True)
    for private in ("robin@example.com", "7700900123", "900123", "ZZ99"):
        for shown in (text, html, tags):
            assert private not in shown
    # paper gets lost: the customer's part and the tags name nobody
    assert "Sample" not in tags
    assert html.count("Robin Sample") == text.count("Robin Sample") == 1
    (strip,) = page_of(page).all("section", class_="counter")
    assert "Robin Sample" in "".join(strip.itertext())


def test_the_pdf_says_that_it_is_accessible(client, unit):
    pdf = slip_pdf(client, a_booked_job(unit))
    # a packed stream may end in a byte that looks like a line's end: its checksum is not asked for
    plain = pdf + b"".join(
        zlib.decompressobj().decompress(body)
        for body in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.S)
        if body[:1] == b"x"
    )
    # ISO 14289-1: the mark in the metadata, tags, a language, titles shown
    for mark in (b"pdfuaid", b"/StructTreeRoot", b"/Lang", b"/MarkInfo", b"/Figure"):
        assert mark in plain


def test_the_page_on_screen_is_the_same_slip(client, unit):
    job = a_booked_job(unit, COMPLETE)
    answer = client.get(f"/J/{job.token}/slip")
    page = page_of(answer)
    assert answer.headers["Cache-Control"] == "no-store"
    assert "noindex" in answer.headers["X-Robots-Tag"]
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert page.one("article", class_="sheet").get("data-fit") == "roomy"
    assert answer.get_data(as_text=True).count('<svg class="qr"') == 2


def test_tags_one_a_part_each_with_its_own_code(client, unit):
    job = a_booked_job(unit, WHEELS, CALIPERS)
    pdf = client.get(f"/J/{job.token}/tags.pdf?size=a4").data
    (page,) = paper.pages(pdf)
    assert {code.text for code in paper.read_all(page)} == {f"{job.code}-{n}" for n in range(1, 7)}


def test_tags_on_a_roll_are_one_a_length(client, unit):
    job = a_booked_job(unit, WHEELS)
    pdf = client.get(f"/J/{job.token}/tags.pdf?size=roll").data
    assert paper.sizes_mm(pdf) == [pytest.approx((62, 100), abs=0.5)] * 4
    texts = [paper.read_all(page)[0].text for page in paper.pages(pdf)]
    assert texts == [f"{job.code}-{n}" for n in range(1, 5)]


def test_a_tag_shows_the_durable_tag_that_was_given(client, unit):
    job = a_job_in_work(unit, first_tag=117)
    assert "117" in paper.text_of(client.get(f"/J/{job.token}/tags.pdf").data)


@pytest.mark.parametrize("path", ["slip", "slip.pdf", "tags", "tags.pdf", "drop-off.ics"])
def test_paper_behind_no_link_is_the_same_page_of_nothing(client, path):
    answer = client.get(f"/J/{'A' * 26}/{path}")
    assert answer.status_code == 404
    assert "find a job for this link" in answer.get_data(as_text=True)


def test_the_drop_off_is_a_calendar_file_that_another_program_reads(client, unit):
    job = a_booked_job(unit, dropoff=timedelta(days=1))
    answer = client.get(f"/J/{job.token}/drop-off.ics")
    assert answer.mimetype == "text/calendar"
    # RFC 5545: CRLF, no line over 75 octets
    lines = answer.data.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(len(line) for line in lines) <= 75
    calendar = icalendar.Calendar.from_ical(answer.data)
    (event,) = calendar.walk("VEVENT")
    assert calendar["METHOD"] == "PUBLISH"
    assert event["SEQUENCE"] == 0
    start = event["DTSTART"].dt
    assert start == datetime(2026, 6, 2, 9, 0, tzinfo=ZoneInfo("Europe/London"))
    assert event["DTEND"].dt - start == timedelta(minutes=30)
    assert job.code[:4] in event["DESCRIPTION"]
    assert "Robin" not in answer.get_data(as_text=True)
    again = client.get(f"/J/{job.token}/drop-off.ics").data
    assert icalendar.Calendar.from_ical(again).walk("VEVENT")[0]["UID"] == event["UID"]


def test_the_inspection_sheet_tells_what_was_measured(client, unit):
    job = a_job_at(unit, PartStage.DONE, WHEELS)
    page = client.get(f"/J/{job.token}/inspection")
    assert page.status_code == 200
    text = paper.text_of(client.get(f"/J/{job.token}/inspection.pdf").data)
    # the factories' readings are the middle of 60 to 90 µm
    assert text.count("75 µm") >= 4
    assert "Accepted" in text
    assert "does not say that a part is safe" in text
    assert "Robin" in text
    assert "Quality label" in text
    assert re.search(r"Measured\s+\d+ \w+ 2026, \d\d:\d\d", text)


def test_before_the_first_inspection_there_is_no_sheet_and_then_boxes_for_the_rest(client, unit):
    job = a_job_at(unit, PartStage.INSPECT, WHEELS)
    assert client.get(f"/J/{job.token}/inspection").status_code == 404
    accept(unit, job.part_ids[0])
    html = client.get(f"/J/{job.token}/inspection").get_data(as_text=True)
    assert html.count("box--wide") == 3 * 7
    assert len(paper.sizes_mm(client.get(f"/J/{job.token}/inspection.pdf?size=letter").data)) == 1


def test_a_slip_says_how_not_to_get_hurt_on_the_way(client, unit):
    job = a_booked_job(unit, WHEELS, bringing="complete")
    says = " ".join(paper.text_of(slip_pdf(client, job)).split())
    assert "Never get under a car on its jack." in says
    assert "Never blow it off or brush it dry." in says
