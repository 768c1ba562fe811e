"""Tests on the counter's pages: seen, recorded by a press or two, named where no part may go."""

import pytest

from portal.shop.moves import JobState
from portal.shop.route import PartStage
from tests.cast import COUNTER, FLOOR, OFFICE, sign_in
from tests.factories import WHEELS, a_booked_job, a_job_in_work, stages, state
from tests.page import checked_client
from tests.web.hand import Hand

OLD = {"original_before_1980": True}
UNKNOWN = {**WHEELS, "metal": "unknown", "build": "unknown"}


@pytest.fixture
def hand(app, client):
    return Hand(sign_in(app, client, COUNTER))


@pytest.fixture
def on_floor(app, client):
    return Hand(sign_in(app, client, FLOOR), "/counter/floor")


def test_check_in_shows_the_open_test_and_records_it_by_one_press(hand, unit) -> None:
    job = a_booked_job(unit, order=OLD)
    hand.scan(job.code)
    assert "Test for lead and chromate" in hand.page.text
    assert "before work starts" in hand.page.text
    hand.send("/check/lead", result="clear")
    assert hand.path.endswith("/check-in")
    assert hand.told == ["Test for lead and chromate: recorded."]
    assert "No lead, no chromate" in hand.page.text


def test_a_job_that_waits_for_a_test_says_so_wherever_it_is_listed(hand, unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    hand.go("/counter/today")
    assert "test: Test for lead and chromate" in hand.page.text
    hand.go("/counter/floor")
    assert "Test first: Test for lead and chromate" in hand.page.text
    hand.go(f"/counter/job/{job.code}")
    hand.send("/start")
    assert hand.path.endswith("/check/lead")
    assert "still open" in hand.told[0]
    hand.send("/check/lead", result="clear")
    assert state(unit, job) is JobState.IN_WORK


def test_receiving_says_that_a_test_comes_first(hand, unit) -> None:
    job = a_booked_job(unit, order=OLD)
    hand.scan(job.code)
    for tag in ("101", "102", "103", "104"):
        hand.scan(tag)
    hand.send("/receive")
    assert hand.told == ["Received. Work starts when the open test is done."]
    assert state(unit, job) is JobState.RECEIVED


def test_a_scan_into_a_closed_station_leads_to_the_test_and_back(on_floor, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    on_floor.go("/counter/floor?at=blast")
    on_floor.scan("102")
    assert on_floor.path.endswith("/check/metal")
    assert "Tag 102: Nobody has checked the metal of part 2 yet." in on_floor.told[0]
    on_floor.send("/check/metal", result="aluminium")
    assert on_floor.path == "/counter/floor"
    on_floor.scan("102")
    assert stages(unit, job)[1] is PartStage.BLAST


def test_a_tap_on_the_floor_leads_to_the_test(on_floor, unit) -> None:
    a_job_in_work(unit, UNKNOWN)
    on_floor.go("/counter/floor")
    link = next(a for a in on_floor.page.all("a") if "/check/metal" in (a.get("href") or ""))
    on_floor.go(link.get("href"))
    assert on_floor.heading == "Metal check"
    assert "Magnet" in on_floor.page.text


def test_a_kept_scan_into_a_closed_station_is_refused_with_a_way(app, client, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    sign_in(app, client, FLOOR)
    page = client.get("/counter/floor?at=blast")
    form = page_form_token(page)
    kept = [{"scan_id": f"s{n}", "q": str(n), "where": "floor:blast"} for n in (101, 102)]
    answer = client.post("/counter/scans", json={"scans": kept}, headers={"X-CSRFToken": form})
    results = answer.get_json()["results"]
    assert [one["kind"] for one in results] == ["stop", "stop"]
    assert "metal of part 1" in results[0]["says"]
    assert "/check/metal" in results[0]["way"]
    assert set(stages(unit, job)) == {PartStage.PREP}


def page_form_token(page) -> str:
    from tests.cast import token_of

    return token_of(page.get_data(as_text=True))


def test_what_was_found_is_shown_with_price_and_date_before_it_is_recorded(on_floor, unit) -> None:
    job = a_job_in_work(unit, order=OLD)
    on_floor.go(f"/counter/job/{job.code}/check/lead")
    on_floor.send("/check/lead", result="found")
    assert "Lead paint stripping" in on_floor.page.text
    assert "New date" in on_floor.page.text
    assert state(unit, job) is JobState.RECEIVED
    on_floor.send("/check/lead", do="record")
    assert "We have asked the customer" in on_floor.told[0]
    assert state(unit, job) is JobState.WAITING


def test_one_part_alone_can_be_recorded_with_a_note(on_floor, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    on_floor.go(f"/counter/job/{job.code}/check/metal")
    on_floor.send("/check/metal", part=[str(job.part_ids[0])], note="A356 cast", result="aluminium")
    on_floor.go(f"/counter/job/{job.code}")
    assert "A356 cast" in on_floor.page.text
    assert "parts 2, 3, 4" in on_floor.page.text


def test_without_a_part_nothing_is_recorded_and_the_note_stays(on_floor, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    on_floor.go(f"/counter/job/{job.code}/check/metal")
    on_floor.send("/check/metal", drop=("part",), note="kept", result="aluminium")
    assert "Choose the parts that you have checked." in on_floor.page.text
    assert on_floor.page.one(id="note").get("value") == "kept"


def test_only_the_office_lets_parts_go_on_without_a_test(app, client, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    floor_hand = Hand(sign_in(app, client, FLOOR), f"/counter/job/{job.code}/check/metal")
    assert "The office decides" not in floor_hand.page.text
    office = Hand(sign_in(app, checked_client(app), OFFICE), f"/counter/job/{job.code}/check/metal")
    parts = [str(one) for one in job.part_ids]
    office.send("/office", part=parts, do="go_on")
    assert "Enter a reason." in office.page.text
    office.send("/office", part=parts, do="go_on", reason="papers of the maker")
    assert office.told == ["Recorded, with your reason."]
    office.go("/counter/floor?at=blast")
    office.scan("101")
    assert stages(unit, job)[0] is PartStage.BLAST


def test_a_test_that_the_job_does_not_have_is_not_found(hand, unit) -> None:
    job = a_job_in_work(unit)
    found = hand.client.get(f"/counter/job/{job.code}/check/lead")
    assert found.status_code == 404


def test_the_floor_asks_the_counter_to_report_something_else(on_floor, unit) -> None:
    job = a_job_in_work(unit, UNKNOWN)
    on_floor.go(f"/counter/job/{job.code}/check/metal")
    assert "Ask the counter to report it." in on_floor.page.text
