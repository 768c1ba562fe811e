"""Every page of the counter, in every state of a job, for the people who may open it."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation, check_in, findings, hand_back
from portal.orders.production import floor, strip_runs
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.tables import Customer
from tests.cast import COUNTER, FLOOR, sign_in
from tests.factories import (
    PAINTED,
    TWO_COATS,
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    last_event_id,
)
from tests.orders.test_findings import painted, raise_it
from tests.page import checked_client, words
from tests.web.hand import Hand

LISTS = ("today", "floor", "shelf", "oven", "strip-runs", "tags", "find", "station-labels")


@pytest.mark.parametrize("name", LISTS)
def test_an_empty_works_has_something_to_say_on_every_page(hand, name) -> None:
    hand.go(f"/counter/{name}")
    assert hand.at.status_code == 200


@pytest.mark.parametrize("name", LISTS)
def test_every_list_shows_a_works_in_full_swing(hand, unit, clock, name) -> None:
    a_booked_job(unit)
    a_job_in_work(unit, PAINTED, first_tag=101)
    a_job_at(unit, PartStage.COAT, TWO_COATS, first_tag=111)
    a_job_at(unit, PartStage.CURE, {**WHEELS, "count": 2}, first_tag=121)
    inspected = a_job_at(unit, PartStage.INSPECT, first_tag=131)
    floor.rework(unit, inspected.part_ids[0], Fault.RUN, who=None)
    ready = a_job_at(unit, PartStage.DONE, first_tag=141)
    hand_back.make_ready(unit, ready.job_id, who=None)
    asked = a_job_in_work(unit, first_tag=151)
    findings.raise_finding(
        unit,
        asked.job_id,
        painted(unit, asked, 1),
        expected_event_id=last_event_id(unit, asked),
        once_token=a_token(),
        who=None,
    )
    run = strip_runs.open_run(unit, clock.now().date(), clock.now().date(), who=None)
    strip_runs.gather(unit, run, "101", who=None)
    hand.go(f"/counter/{name}")
    assert hand.at.status_code == 200


@pytest.mark.parametrize("part", ["job", "check-in"])
@pytest.mark.parametrize(
    "stage", [None, "prep", "strip", "coat", "cure", "inspect", "done", "called_off"]
)
def test_a_job_is_shown_in_every_state(hand, unit, part, stage) -> None:
    if stage is None:
        job = a_booked_job(unit)
    elif stage == "called_off":
        job = a_booked_job(unit)
        cancellation.call_off(unit, job.job_id, "changed their mind", who=None)
    elif stage == "strip":
        job = a_job_at(unit, PartStage.STRIP, PAINTED)
    else:
        job = a_job_at(unit, PartStage(stage))
    hand.go(f"/counter/job/{job.code}" + ("/check-in" if part == "check-in" else ""))
    assert hand.heading == "Robin Sample"
    assert hand.at.status_code == 200


@pytest.mark.parametrize(
    "address",
    [
        "/counter/job/ABCDEFGH",
        "/counter/strip-runs/99",
        "/counter/part/99/inspect",
        "/counter/part/99/rework",
    ],
)
def test_what_does_not_exist_is_a_kind_page_of_its_own(hand, address) -> None:
    assert hand.go(address).status_code == 404


def test_a_lower_case_code_in_an_address_is_fine(hand, unit) -> None:
    job = a_booked_job(unit)
    assert hand.go(f"/counter/job/{job.code.lower()}").status_code == 200


def test_the_floor_may_open_the_floor_but_not_the_counter(app, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    client = sign_in(app, checked_client(app), FLOOR)
    for open_to in (
        "floor",
        "oven",
        "strip-runs",
        f"job/{job.code}",
        f"part/{job.part_ids[0]}/inspect",
        f"part/{job.part_ids[0]}/rework",
    ):
        assert client.get(f"/counter/{open_to}").status_code == 200, open_to
    for shut in (
        "today",
        "shelf",
        "find",
        "tags",
        f"job/{job.code}/check-in",
        f"job/{job.code}/hand-back",
        f"job/{job.code}/differs",
    ):
        assert client.get(f"/counter/{shut}").status_code == 403, shut


def test_the_floor_sees_no_telephone_and_no_e_mail(app, unit) -> None:
    job = a_job_in_work(unit)
    page = Hand(sign_in(app, checked_client(app), FLOOR), f"/counter/job/{job.code}").page.text
    assert "robin@example.com" not in page
    assert "900123" not in page


@pytest.mark.parametrize("address", [f"/counter/{name}" for name in LISTS])
def test_nobody_gets_in_without_signing_in(app, address) -> None:
    answer = checked_client(app).get(address)
    assert answer.status_code == 303
    assert "/counter/sign-in" in answer.headers["Location"]


def test_each_verb_is_guarded_on_the_server(app, unit) -> None:
    """A floor hand who knows the address can't do what the counter does."""
    job = a_booked_job(unit)
    floor_hand = sign_in(app, checked_client(app), FLOOR)
    token = Hand(floor_hand, "/counter/floor").page.fields()["csrf_token"]
    for verb in ("as-declared", "bag", "receive", "ready", "answer", "end", "stamps"):
        answer = floor_hand.post(
            f"/counter/job/{job.code}/{verb}", data={"csrf_token": token, "contents": "x"}
        )
        assert answer.status_code == 403, verb
    assert check_in.as_declared(unit, job.job_id, who=None) == 4  # nothing had been marked


def test_whom_to_call_stands_on_today_until_it_is_done(app) -> None:
    unit = app.extensions["unit"]
    job = a_booked_job(unit)
    unit.write(lambda session: session.execute(sa.update(Customer).values(tell_by="phone")))
    raise_it(unit, job, painted(unit, job, 1))
    findings.ask(unit, job.job_id)
    hand = Hand(sign_in(app, checked_client(app), COUNTER))
    assert words(hand.page.one(id="calls-title")) == "Customers to call 1"
    assert 'href="tel:+447700900123"' in hand.at.get_data(as_text=True)
    hand.send("/called")
    assert hand.told == ["Call recorded."]
    assert hand.page.all(id="calls-title") == []


def test_a_coater_begins_on_the_floor_and_is_shown_no_way_that_is_shut(app) -> None:
    unit = app.extensions["unit"]
    job = a_job_in_work(unit)
    floor_hand = Hand(sign_in(app, checked_client(app), FLOOR), "/counter/")
    assert floor_hand.path == "/counter/floor"
    for way in floor_hand.page.all("a"):
        address = way.get("href", "")
        if address.startswith("/counter/"):
            assert floor_hand.go(address).status_code == 200, address
    # without a station a tag, a code and a slip show what they belong to
    for typed in ("101", job.code, f"http://127.0.0.1:8000/J/{job.token}"):
        floor_hand.go("/counter/floor")
        floor_hand.scan(typed)
        assert floor_hand.path == f"/counter/job/{job.code}", typed
