"""The office shows what is written and what is learned side by side, and how promises were kept."""

from datetime import timedelta

from portal.orders.production import floor
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.scheduling.calibration import ENOUGH
from portal.shop.states import Horizon, OrderKind
from portal.store.tables import Job, PromiseMade
from tests.cast import sign_in
from tests.factories import WHEELS, a_booked_job, a_job_at
from tests.page import checked_client, page_of

BLASTED_ONE_BY_ONE = ENOUGH + 1


def lines(page) -> dict[str, str]:
    """What stands at each station, by its title."""
    found = {}
    for line in page.one("ul", **{"class": "entries"}).iter("li"):
        text = " ".join(" ".join(line.itertext()).split())
        found[text.split()[0]] = text
    return found


def test_before_anything_is_timed_what_is_written_counts(staff_client) -> None:
    page = page_of(staff_client.get("/office/stations"))
    told = lines(page)
    assert set(told) >= {"Prep", "Blast", "Coat", "Cure", "Inspect", "Parts"}
    assert all("uses set times" in line for line in told.values())
    assert "Times measured 0" in told["Blast"]
    assert "Promises kept so far" not in page.text


def test_a_station_that_was_timed_often_enough_is_told_in_minutes(app, unit, clock) -> None:
    # each its own job, so that each is a visit
    jobs = [
        a_job_at(unit, PartStage.BLAST, {**WHEELS, "count": 1}, first_tag=101 + n)
        for n in range(BLASTED_ONE_BY_ONE)
    ]
    for job in jobs:
        clock.advance(minutes=8)
        floor.move_on(unit, job.part_ids, to=PartStage.COAT, who=None)
    office = sign_in(app, checked_client(app))
    told = lines(page_of(office.get("/office/stations")))
    assert "uses measured times" in told["Blast"]
    assert f"Times measured {ENOUGH}" in told["Blast"]
    assert (
        "longer than the set time." in told["Blast"]
        or "It takes as long as the set time." in told["Blast"]
    )
    assert "Measured 8 min" in told["Blast"] or "Measured 7.9 min" in told["Blast"]
    assert "uses set times" in told["Coat"]


def test_kept_promises_are_told_under_late_and_under_stations(staff_client, unit) -> None:
    numbers = [a_booked_job(unit).job_id for _ in range(4)]

    def work(session) -> None:
        for n, number in enumerate(numbers):
            job = session.get(Job, number)
            job.dropoff_at = job.received_at = unit.now() - timedelta(days=6)
            job.state, job.dropoff_until = JobState.READY, job.dropoff_at
            job.promise_at = job.promised_first_at = unit.now() - timedelta(days=3)
            job.ready_at = job.promise_at + timedelta(hours=1 if n == 0 else -1)
            made = PromiseMade(job_id=number, made_at=job.booked_at)
            made.foreseen_at = job.promise_at - timedelta(days=1)
            made.kind, made.horizon = OrderKind.SET, Horizon.NEAR
            session.add(made)

    unit.write(work)
    for address in ("/office/", "/office/stations"):
        text = " ".join(page_of(staff_client.get(address)).text.split())
        assert "Promises kept so far: 3 of the last 4 (75 %); the aim is 95 %." in text
        assert "working minutes more margin than at the start" in text
    front = page_of(staff_client.get("/office/"))
    assert "Sets 3 of 4 (75 %)" in " ".join(front.text.split())
    assert "Less than 2 working days ahead 3 of 4 (75 %)" in " ".join(front.text.split())
    assert "working days sooner than saying “ten working days” to everybody" in front.text
