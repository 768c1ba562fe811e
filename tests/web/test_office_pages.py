"""The pages of the office: prices and other documents, powders, people, letters, take-away."""

import io
import zipfile

import pytest

from portal.craft.messages import Message
from portal.orders.intake import drafts
from portal.orders.kernel import heartbeat
from portal.orders.office import documents, powders
from portal.orders.office.letter_words import letters
from portal.orders.office.people import people
from portal.shop.route import PartStage
from tests.factories import a_booked_job
from tests.page import page_of


def minimum(unit) -> int:
    with unit.read() as session:
        return unit.shop(session).tariff.minimum


def test_a_price_is_changed_on_its_page(staff_client, unit, clock) -> None:
    page = staff_client.get("/office/prices")
    answer = staff_client.submit(page, **{"b.minimum": "52.50"})
    assert answer.status_code == 303
    assert minimum(unit) == 5250
    after = page_of(staff_client.get(answer.location))
    assert "one change" in after.text
    assert after.one("input", id="b.minimum").get("value") == "52.50"


def test_a_price_with_a_letter_in_it_is_told_in_its_cell_and_nothing_is_lost(staff_client, unit):
    page = staff_client.get("/office/prices")
    typed = {"b.wheels.bands.1.price": "cheap", "b.minimum": "99.00"}
    answer = staff_client.submit(page, **typed)
    seen = page_of(answer)
    assert answer.status_code == 422
    assert seen.one("title").text.strip().startswith("Error")
    for name, text in typed.items():
        assert seen.one("input", id=name).get("value") == text
    assert seen.one("input", id="b.wheels.bands.1.price").get("aria-invalid") == "true"
    assert seen.one("a", href="#b.wheels.bands.1.price").text
    assert minimum(unit) == 4500


def test_an_added_row_that_is_wrong_is_kept_too(staff_client) -> None:
    page = staff_client.get("/office/week")
    row = {"b.closures.1.from": "2026-08-03", "b.closures.1.to": "tomorrow"}
    answer = staff_client.submit(page, **row)
    assert answer.status_code == 422
    seen = page_of(answer)
    assert seen.one("input", id="b.closures.1.to").get("value") == "tomorrow"


def test_the_second_who_saves_is_told_what_the_first_changed(staff_client, unit) -> None:
    page = staff_client.get("/office/prices")
    staff_client.submit(page, **{"b.minimum": "46.00"})
    late = staff_client.submit(page, **{"b.minimum": "47.00"})
    assert late.status_code == 422
    seen = page_of(late)
    assert "Minimum order: 45.00 → 46.00" in seen.text
    assert seen.one("input", id="b.minimum").get("value") == "47.00"
    assert minimum(unit) == 4600
    assert staff_client.submit(late).status_code == 303
    assert minimum(unit) == 4700


def test_a_price_from_a_later_day_is_announced(staff_client, unit) -> None:
    page = staff_client.get("/office/prices")
    staff_client.submit(
        page, **{"b.wheels.bands.3.price": "80", "b.minimum": "60.00", "from_day": "2026-07-01"}
    )
    assert minimum(unit) == 4500
    seen = page_of(staff_client.get("/office/prices"))
    assert "From a later day, another version is valid:" in seen.text
    assert seen.one("input", id="b.minimum").get("value") == "45.00"
    editions = page_of(staff_client.get("/office/prices/editions"))
    assert "from later" in editions.text
    assert "Minimum order45.0060.00" in editions.text
    assert "Wheels · Price by size · row 4 · Price72.0080" in editions.text


def test_what_is_to_mend_is_named_by_its_place(staff_client) -> None:
    page = staff_client.get("/office/prices")
    answer = staff_client.submit(page, **{"b.wheels.bands.3.price": "seventy"})
    assert answer.status_code == 422
    assert "Wheels · Price by size · row 4 · Price: " in page_of(answer).text


@pytest.mark.parametrize("kind", ["prices", "week", "stations", "place", "shop"])
def test_a_sheet_saved_as_it_stands_changes_nothing(staff_client, unit, kind) -> None:
    with unit.read() as session:
        before = unit.shop(session)
    staff_client.submit(staff_client.get(f"/office/{kind}"))
    with unit.read() as session:
        assert unit.shop(session) == before


def test_the_place_s_decision_is_written_down(staff_client, unit) -> None:
    page = staff_client.get("/office/place")
    assert staff_client.submit(page, **{"b.decision": "We ask the office."}).status_code == 303
    with unit.read() as session:
        assert unit.shop(session).practice.place_decision == "We ask the office."


def test_a_breakdown_is_noted_and_taken_back(staff_client, unit) -> None:
    page = staff_client.get("/office/stations/out-of-order")
    assert staff_client.submit(page, station="blast").status_code == 303
    seen = staff_client.get("/office/stations/out-of-order")
    assert "Blast" in page_of(seen).text
    assert staff_client.submit(seen, form=1).status_code == 303
    assert (
        "All stations are in service."
        in page_of(staff_client.get("/office/stations/out-of-order")).text
    )


def test_a_breakdown_without_a_station_is_told(staff_client) -> None:
    page = staff_client.get("/office/stations/out-of-order")
    answer = staff_client.submit(page, until="soon")
    assert answer.status_code == 422
    assert "Choose a station" in page_of(answer).text


def test_a_station_works_at_hours_of_its_own(staff_client, unit) -> None:
    page = staff_client.get("/office/stations/hours?station=coat")
    bad = staff_client.submit(page, mon="08:00-12:30", tue="8 to 12")
    assert bad.status_code == 422
    assert page_of(bad).one("input", id="mon").get("value") == "08:00-12:30"
    assert staff_client.submit(page, mon="08:00-12:30; 13:00-15:00").status_code == 303
    assert "08:00-12:30, 13:00-15:00" in page_of(staff_client.get("/office/stations/hours")).text
    # the sheet of the stations leaves them as they are
    sheet = staff_client.get("/office/stations")
    assert staff_client.submit(sheet, **{"b.coat.places": "2"}).status_code == 303
    with unit.read() as session:
        coat = unit.shop(session).stations[PartStage.COAT]
    assert coat.places == 2
    assert coat.hours is not None
    assert [len(spans) for spans in coat.hours] == [2, 0, 0, 0, 0, 0, 0]


def test_powder_that_was_delivered_and_counted(staff_client, unit) -> None:
    page = staff_client.get("/office/powders/R9005-G")
    staff_client.submit(page, kg="20", which="delivery")
    assert powders.powder(unit, "R9005-G").line.powder.stock_kg == 66
    answer = staff_client.submit(page, kg="60,5", which="stocktake")
    assert "-5500 g" in page_of(staff_client.get(answer.location)).text


def test_powder_without_a_mass_is_told(staff_client) -> None:
    page = staff_client.get("/office/powders/R9005-G")
    answer = staff_client.submit(page, kg="some", which="delivery")
    assert answer.status_code == 422
    assert page_of(answer).one("input", id="kg").get("value") == "some"


def test_a_powders_figures_are_changed(staff_client, unit) -> None:
    page = staff_client.get("/office/powders/R9005-G")
    assert staff_client.submit(page, form=3, name="Deep black").status_code == 303
    assert powders.powder(unit, "R9005-G").line.powder.name == "Deep black"


def test_a_new_powder_is_added(staff_client, unit) -> None:
    page = staff_client.get("/office/powders/new")
    figures = powders.powder(unit, "R9005-G").figures | {"code": "NEW-1", "name": "New one"}
    wrong = staff_client.submit(page, **(figures | {"cure_c": "900"}))
    assert wrong.status_code == 422
    answer = staff_client.submit(page, **figures)
    assert answer.location == "/office/powders/NEW-1"


def test_the_office_is_told_which_parts_a_hot_powder_cannot_be_used_on(staff_client, unit) -> None:
    page = staff_client.get("/office/powders/new")
    figures = powders.powder(unit, "R9005-G").figures | {"code": "HOT-1", "name": "Hot one"}
    hot = figures | {"cure_c": "200", "cure_min": "10", "offered": "y"}
    answer = staff_client.submit(page, form=-1, **hot)
    told = page_of(staff_client.get(answer.location)).one(id="unsuited")
    words = " ".join("".join(told.itertext()).split())
    assert "Cast aluminium: 58 minutes" in words
    assert "45 minutes" in words
    mild = page_of(staff_client.get("/office/powders/R9005-G"))
    assert not mild.all(id="unsuited")


def test_an_unknown_powder_is_not_found(staff_client) -> None:
    assert staff_client.get("/office/powders/NOTHING").status_code == 404


def test_a_colleague_is_added_once(staff_client, unit) -> None:
    page = staff_client.get("/office/people")
    filled = {"name": "Ash", "login": "ash", "role": "floor", "password": "a lamp in the corner"}
    assert staff_client.submit(page, **filled).status_code == 303
    again = staff_client.submit(page, **filled)
    assert again.status_code == 422
    assert "already" in page_of(again).text
    assert [one.name for one in people(unit) if one.login == "ash"] == ["Ash"]


def test_a_colleagues_poor_password_is_told_and_the_rest_kept(staff_client) -> None:
    page = staff_client.get("/office/people")
    answer = staff_client.submit(page, name="Ash", login="ash", role="floor", password="short")
    assert answer.status_code == 422
    seen = page_of(answer)
    assert seen.one("input", id="password").get("aria-invalid") == "true"
    assert seen.one("input", id="login").get("value") == "ash"


def test_the_last_of_the_office_can_not_leave(staff_client, unit) -> None:
    wren = next(one for one in people(unit) if one.login == "wren")
    page = staff_client.get(f"/office/people/{wren.person_id}")
    answer = staff_client.submit(page, role="floor")
    assert answer.status_code == 422
    assert "This is the only person with the office role." in page_of(answer).text


def test_everything_can_be_taken_away(staff_client) -> None:
    answer = staff_client.get("/office/take-away/everything.zip")
    assert answer.status_code == 200
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        assert "job.csv" in archive.namelist()
    assert staff_client.get("/office/take-away/job.csv").mimetype == "text/csv"
    assert staff_client.get("/office/take-away/staff_session.csv").status_code == 404


def test_the_first_page_tells_what_wants_the_office(staff_client) -> None:
    page = page_of(staff_client.get("/office/"))
    assert "All promises will be kept. Open jobs:" in page.text
    assert "Powder running low" in page.text


def test_who_did_what_is_listed(staff_client, unit) -> None:
    staff_client.submit(staff_client.get("/office/prices"), **{"b.minimum": "52.50"})
    page = page_of(staff_client.get("/office/doing"))
    assert "changed the prices" in page.text
    assert "Wren" in page.text


def test_an_edition_that_is_to_come_can_be_edited_for_its_day(staff_client, unit) -> None:
    page = staff_client.get("/office/prices")
    staff_client.submit(page, **{"b.minimum": "60.00", "from_day": "2026-07-01"})
    [later] = documents.document(unit, "prices").to_come
    open_it = staff_client.get(f"/office/prices?edition={later.book_id}")
    seen = page_of(open_it)
    assert seen.one("input", id="b.minimum").get("value") == "60.00"
    assert seen.one("input", id="from_day").get("value") == "2026-07-01"
    assert staff_client.submit(open_it, **{"b.minimum": "61.00"}).status_code == 303
    assert minimum(unit) == 4500


def test_the_office_sends_itself_a_test_letter_and_sees_why_none_leaves(staff_client, unit) -> None:
    page = staff_client.get("/office/letters")
    assert "the mail worker is not running" in page_of(page).text
    assert "mail worker: not running; letters waiting: 0" in staff_client.get("/readyz").text
    wrong = staff_client.submit(page, to="robin")
    assert wrong.status_code == 422
    assert page_of(wrong).one("input", id="to").get("value") == "robin"
    assert staff_client.submit(page, to="robin@example.com").status_code == 303
    (line,) = letters(unit, state="queued")
    assert (line.to, line.subject) == (
        "robin@example.com",
        "Test letter from Fennholt Coating Works",
    )
    heartbeat.beat(unit, trouble=Message("It is down."))
    seen = page_of(staff_client.get("/office/letters")).text
    assert "The mail server does not take our letters." in seen
    assert "One letter waits" in seen
    assert "No letters are being sent." in page_of(staff_client.get("/office/")).text
    heartbeat.beat(unit, trouble=None)
    assert "No letters are being sent" not in page_of(staff_client.get("/office/")).text
    assert "mail worker: at work; letters waiting: 1" in staff_client.get("/readyz").text


def test_words_of_our_own_are_put_into_the_letters(staff_client, unit) -> None:
    page = staff_client.get("/office/letters/words")
    assert staff_client.submit(page, ready="Park behind the hall.").status_code == 303
    after = staff_client.get("/office/letters/words")
    assert "Park behind the hall." in page_of(after).text
    long = staff_client.submit(after, booked="x" * 700)
    assert long.status_code == 422
    assert page_of(long).one("textarea", id="booked").get("aria-invalid") == "true"


def test_an_idea_is_tried_on_the_open_jobs_and_drawn(staff_client, unit) -> None:
    assert "Choose at least one" in page_of(staff_client.get("/office/what-if?places=")).text
    empty = page_of(staff_client.get("/office/what-if?saturday=y"))
    assert "There are no open jobs to try it on." in empty.text
    booked = [a_booked_job(unit).code for _ in range(3)]
    page = page_of(staff_client.get("/office/what-if?places=blast&saturday=y&days=mon&days=wed"))
    assert "Late jobs, with the change" in page.text
    assert all(code in page.text for code in booked)
    assert page.one(class_="what-if").get("role") == "img"
    assert page.one("input", value="blast").get("checked") is not None


def test_no_export_has_a_key_and_none_is_kept_by_a_browser(staff_client, unit) -> None:
    job = a_booked_job(unit)
    draft = drafts.begin(unit)
    drafts.send_resume_link(unit, draft, "robin@example.com")
    answer = staff_client.get("/office/take-away/everything.zip")
    assert answer.headers["Cache-Control"] == "no-store"
    assert staff_client.get("/office/take-away/job.csv").headers["Cache-Control"] == "no-store"
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        every = b"".join(archive.read(name) for name in archive.namelist()).decode()
    assert job.code in every
    assert not [key for key in (job.token, draft) if key in every]


def test_many_bookings_are_called_off_on_one_page(staff_client, unit) -> None:
    jobs = [a_booked_job(unit, name="Ada Fenn", phone="+447700900555") for _ in range(2)]
    page = staff_client.get("/office/bookings?find=fenn")
    assert "(2 bookings)" in page_of(page).text
    form = next(n for n in range(9) if page_of(page).action(n).startswith("/office/bookings?"))
    wrong = staff_client.submit(page, form=form, jobs=[str(jobs[0].job_id)])
    assert wrong.status_code == 422
    assert page_of(wrong).one("input", id="jobs-1").get("checked") is not None
    every = [str(job.job_id) for job in jobs]
    done = staff_client.submit(page, form=form, jobs=every, reason="Booked for fun", letter="")
    assert done.status_code == 303
    assert "2 bookings were cancelled." in page_of(staff_client.get(done.location)).text


def test_an_address_of_the_office_from_an_earlier_release_leads_to_the_page(client) -> None:
    found = client.get("/books/powders/R9005-S?from=2026")
    assert found.status_code == 308
    assert found.headers["Location"] == "/office/powders/R9005-S?from=2026"
    for trick in ("/books/%5Cexample.com", "/books/%0D%0AX: y", "/books/%2F/example.com"):
        leads_to = client.get(trick).headers.get("Location", "/office/")
        assert leads_to.removeprefix("http://localhost").startswith(("/office/", "/books/"))
