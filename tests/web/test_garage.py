"""A garage's own page: its link, its lists from paste to booking, and its jobs."""

import io
from datetime import date

import pytest
import sqlalchemy as sa

from portal.orders.access.firm_links import end_links
from portal.orders.office import firms
from portal.shop.codes import shown
from portal.shop.lists.spreadsheet import write_spreadsheet
from portal.shop.moves import JobState
from portal.shop.states import LetterKind
from portal.store.tables import Letter
from tests.firms import a_firm
from tests.garage import HEAD, TEN, TWO_BAD, a_garage, fields_of, jobs_of_firm, link_of, paste
from tests.page import Page, checked_client


def book(client, path: str, **over: str):
    """Press Book as the page stands, with the box ticked."""
    data = fields_of(Page(client.get(path).text), path)
    return client.post(path, data=data | {"do": "book", "confirmed": "y"} | over)


def save(client, path: str, **over: str) -> Page:
    data = fields_of(Page(client.get(path).text), path)
    assert client.post(path, data=data | {"do": "save"} | over).status_code == 303
    return Page(client.get(path).text)


def test_a_list_is_pasted_corrected_booked_and_printed(app, unit) -> None:
    client, firm_id = a_garage(app, unit)
    path = paste(client, TWO_BAD)
    page = Page(client.get(path).text)
    assert len(page.all("li", data_state="wrong")) == 2
    assert not page.all("button", value="book")
    page = save(client, path, **{"r9-count": "4", "r10-colour": "RAL 9005"})
    assert not page.all("li", data_state="wrong")
    data = fields_of(page, path) | {"do": "book", "confirmed": "y"}
    answer = client.post(path, data=data)
    assert answer.status_code == 303
    # a second press, and a list that is booked, lead to the same page and to no more jobs
    assert client.post(path, data=data).status_code == 303
    jobs = jobs_of_firm(unit, firm_id)
    assert [job.vehicle for job in jobs] == [f"Order {n}" for n in range(1, 11)]
    assert {job.state for job in jobs} == {JobState.BOOKED}
    assert len({job.dropoff_at for job in jobs}) == 1
    page = Page(client.get(answer.location).text)
    assert len(page.all("tr")) == 11
    for way in ("/firm", "/firm/jobs", "/firm/jobs?all=1", "/firm/prices", f"{path}/slips"):
        assert client.get(way).status_code == 200, way
    assert len(Page(client.get("/firm/jobs?q=order").text).all("tr")) == 11
    assert not Page(client.get("/firm/jobs?q=nothing+like+it").text).all("tr")
    assert client.get(f"{path}/slips.pdf").data[:5] == b"%PDF-"
    assert client.get(f"/firm/jobs/{jobs[0].code}").location.startswith("/J/")


def test_nothing_is_booked_that_was_not_read(app, unit) -> None:
    client, firm_id = a_garage(app, unit)
    path = paste(client, f"{HEAD}\nA;4;18;cast;original;RAL 9005;satin")
    # a cell or the time changed with the press: it is saved, and read again first
    assert book(client, path, **{"r1-count": "3"}).location == path
    other = [one.get("value") for one in Page(client.get(path).text).all("option")]
    times = [value for value in other if value.endswith("Z")]
    assert book(client, path, slot=times[1]).location == path
    assert book(client, path, agreed="1.1.1").status_code == 422
    assert book(client, path, confirmed="").status_code == 422
    assert jobs_of_firm(unit, firm_id) == []
    assert book(client, path).status_code == 303
    (job,) = jobs_of_firm(unit, firm_id)
    assert f"{job.dropoff_at:%Y-%m-%dT%H:%MZ}" == times[1]


def test_ten_sets_take_one_drop_off_place(app, unit) -> None:
    client, firm_id = a_garage(app, unit)
    path = paste(client, TEN)
    windows = len(Page(client.get(path).text).all("option"))
    assert book(client, path).status_code == 303
    assert len(jobs_of_firm(unit, firm_id)) == 10
    more = paste(client, TEN)
    assert len(Page(client.get(more).text).all("option")) >= windows - 1


def test_a_spreadsheet_is_read_as_what_is_pasted(app, unit) -> None:
    client, _ = a_garage(app, unit)
    lines = [line.split(";") for line in TEN.splitlines()]
    data = fields_of(Page(client.get("/firm/lists/new").text), "/firm/lists/new")
    data["file"] = (io.BytesIO(write_spreadsheet("x", lines)), "ours.xlsx")
    answer = client.post("/firm/lists/new", data=data, content_type="multipart/form-data")
    assert answer.status_code == 303
    assert len(Page(client.get(answer.location).text).all("li", data_state="good")) == 10


@pytest.mark.parametrize("body", [b"", b"PK\x03\x04 no spreadsheet", b"PK" + b"\0" * 1_100_000])
def test_a_file_that_can_not_be_read_has_its_reason_beside_it(app, unit, body: bytes) -> None:
    client, _ = a_garage(app, unit)
    data = fields_of(Page(client.get("/firm/lists/new").text), "/firm/lists/new")
    data["file"] = (io.BytesIO(body), "ours.xlsx")
    answer = client.post("/firm/lists/new", data=data, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert Page(answer.text).all(class_="wrong")


@pytest.mark.parametrize("language", ["en", "de", "es"])
@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_the_template_is_read_back_without_a_fault(app, unit, language: str, kind: str) -> None:
    client, _ = a_garage(app, unit)
    client.set_cookie("lang", language)
    file = client.get(f"/firm/lists/template.{kind}").data
    data = fields_of(Page(client.get("/firm/lists/new").text), "/firm/lists/new")
    data["file"] = (io.BytesIO(file), f"list.{kind}")
    answer = client.post("/firm/lists/new", data=data, content_type="multipart/form-data")
    page = Page(client.get(answer.location).text)
    assert len(page.all("li", data_state="good")) == 2


def test_rows_are_added_taken_out_and_a_list_deleted(app, unit) -> None:
    client, _ = a_garage(app, unit)
    path = paste(client, f"{HEAD}\nA;4;18;cast;original;RAL 9005;satin")
    data = fields_of(Page(client.get(path).text), f"{path}/rows")
    client.post(f"{path}/rows", data=data | {"text": "B;wheels;4;18;;;;;;satin;RAL 9005"})
    assert len(Page(client.get(path).text).all("li", data_state="good")) == 2
    save(client, path, do="remove:1")
    page = Page(client.get(path).text)
    assert [one.get("value") for one in page.all("input", name="r1-reference")] == ["B"]
    data = fields_of(page, f"{path}/delete")
    assert client.post(f"{path}/delete", data=data).location == "/firm"
    assert client.get(path).status_code == 404


def test_an_older_page_undoes_nothing(app, unit) -> None:
    client, _ = a_garage(app, unit)
    path = paste(client, f"{HEAD}\nA;4;18;cast;original;RAL 9005;satin")
    old = fields_of(Page(client.get(path).text), path)
    save(client, path, **{"r1-note": "from the new window"})
    client.post(path, data=old | {"do": "save", "r1-note": "from the old window"})
    assert "from the new window" in client.get(path).text


def test_a_list_above_the_limit_is_refused_before_it_is_booked(app, unit) -> None:
    client, firm_id = a_garage(app, unit, limit_minor=60_000)
    row = "A;4;18;cast;original;RAL 9005;satin"
    first, second = (paste(client, f"{HEAD}\n{row}") for _ in range(2))
    before = Page(client.get(second).text)
    assert book(client, first).status_code == 303
    # the first list is not even brought, and counts
    page = Page(client.get(second).text)
    (told,) = page.all("div", class_="note", data_kind="stop")
    assert "£1,032. We agreed on £600" in "".join(told.itertext())
    assert not page.all("button", value="book")
    data = fields_of(before, second) | {"do": "book", "confirmed": "y"}
    assert client.post(second, data=data).status_code == 422
    assert len(jobs_of_firm(unit, firm_id)) == 1


def test_a_booked_list_is_confirmed_by_one_letter_with_its_dates(app, unit) -> None:
    client, firm_id = a_garage(app, unit)
    assert book(client, paste(client, TEN)).status_code == 303
    jobs = jobs_of_firm(unit, firm_id)
    with unit.read() as session:
        letters = session.scalars(
            sa.select(Letter).where(Letter.kind != LetterKind.FIRM_LINK)
        ).all()
        zone = unit.shop(session).week
    (letter,) = letters
    assert (letter.kind, letter.to) == (LetterKind.FIRM_BOOKED, "garage@example.com")
    for job in jobs:
        day = zone.local(job.promise_at)
        told = letter.text[letter.text.index(f"{shown(job.code)} {job.vehicle}") :]
        assert f"{day.day} {day:%B}" in told.split("Ready by")[1]
    assert "10 sets" in letter.subject
    assert "/firm" in letter.text


def test_other_parts_are_listed_at_the_firms_own_price_and_day(app, unit) -> None:
    prices = {"parts": {"caliper": "31.50"}}
    client, firm_id = a_garage(app, unit, prices=prices)
    path = paste(
        client,
        "Your reference;Parts;How many;Size;Colour;Gloss;Needed by\n"
        "A;calipers;2;;RAL 9005;satin;2099-01-01\nB;frame;1;;RAL 9005;satin;",
    )
    assert book(client, path).status_code == 303
    calipers, frame = jobs_of_firm(unit, firm_id)
    assert [line["amount"] for line in calipers.quote["lines"] if line["key"] == "A.coat"] == [6300]
    assert calipers.needed_by == date(2099, 1, 1)
    assert frame.needed_by is None


def test_the_firms_own_prices_count(app, unit) -> None:
    dear, _ = a_garage(app, unit)
    row = f"{HEAD}\nA;4;18;cast;original;RAL 9005;satin"
    whole = Page(dear.get(paste(dear, row)).text).one("p", class_="owed")
    cheap, _ = a_garage(
        app, unit, name="Other", email="b@example.com", prices={"percent_off": "50"}
    )
    half = Page(cheap.get(paste(cheap, row)).text).one("p", class_="owed")
    assert "".join(whole.itertext()).split()[0] != "".join(half.itertext()).split()[0]
    assert "Agreed with you" in cheap.get("/firm/prices").text


def test_a_link_opens_by_a_press_alone_and_once(app, unit) -> None:
    firm_id = a_firm(unit)
    path = link_of(app, unit, firm_id)
    first, second = checked_client(app), checked_client(app)
    for _ in range(3):
        # programs that fetch links use nothing up
        assert second.get(path).status_code == 200
    data = Page(first.get(path).text).fields(0)
    answer = first.post(path, data=data)
    assert answer.location == "/firm"
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    data = Page(second.get(path).text).fields(0)
    assert second.post(path, data=data).status_code == 410
    assert second.get("/firm").location == "/firm/link"
    data = fields_of(Page(first.get("/firm").text), "/firm/sign-out")
    assert first.post("/firm/sign-out", data=data).location == "/firm/link"
    assert first.get("/firm").location == "/firm/link"


def test_who_asks_learns_nothing_and_is_slowed_down(app, unit) -> None:
    a_firm(unit)
    client = checked_client(app)
    told = {}
    for email in ("garage@example.com", "nobody@example.com"):
        data = Page(client.get("/firm/link").text).fields(0) | {"email": email}
        told[email] = Page(client.post("/firm/link", data=data).text).text
    assert len(set(told.values())) == 1
    answers = [client.post("/firm/link", data=data).status_code for _ in range(12)]
    assert answers[-1] == 429


def test_a_page_closes_when_the_office_ends_its_links_or_the_firm(app, unit) -> None:
    client, firm_id = a_garage(app, unit)
    assert client.get("/firm").status_code == 200
    end_links(unit, firm_id, who=None)
    assert client.get("/firm").location == "/firm/link"
    other, other_id = a_garage(app, unit, name="Other", email="b@example.com")
    firms.close_firm(unit, other_id, closed=True, who=None)
    assert other.get("/firm").location == "/firm/link"
