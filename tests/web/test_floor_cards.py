"""A card of the floor is written once, and anew as soon as anything that it shows has changed.

Two apps over one database stand for two processes: what is changed through one is read on the
other's next page.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from portal.orders.kernel.notes import write_note
from portal.orders.production import floor
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.tables import Customer, Job, JobForecast, Part, PowderRow
from portal.web.counter import floor_cards
from tests.cast import FLOOR, sign_in
from tests.conftest import an_app
from tests.factories import WHEELS, Booked, a_job_at, a_job_in_work
from tests.page import checked_client, page_of, words


def page_at(client: Any, address: str = "/counter/floor?at=coat") -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def cards_of(client: Any, address: str = "/counter/floor?at=coat") -> str:
    """The words of all cards."""
    return " ".join(words(one) for one in page_of(client.get(address)).all("article"))


@pytest.fixture
def job(unit) -> Booked:
    return a_job_at(unit, PartStage.COAT, {**WHEELS, "metal": "steel", "build": "steel"})


@pytest.fixture
def both(app, settings, clock, job) -> Any:
    """A device before each of two processes."""
    with an_app(settings, clock) as other:
        yield [sign_in(one, checked_client(one), FLOOR) for one in (app, other)]


def on_job(**values: Any) -> Callable[[Any, Booked], None]:
    def change(unit: Any, job: Booked) -> None:
        unit.write(lambda s: s.execute(sa.update(Job).where(Job.id == job.job_id).values(**values)))

    return change


def another_name(unit: Any, job: Booked) -> None:
    unit.write(lambda s: s.execute(sa.update(Customer).values(name="Kim Pattern")))


def a_note(unit: Any, job: Booked) -> None:
    write_note(unit, job.job_id, "mind the valve", stage=None, who=None)


def no_powder(unit: Any, job: Booked) -> None:
    unit.write(lambda s: s.execute(sa.update(PowderRow).values(stock_g=0)))


def another_tag(unit: Any, job: Booked) -> None:
    first = sa.update(Part).where(Part.id == job.part_ids[0])
    unit.write(lambda s: s.execute(first.values(tag="777")))


def one_part_on(unit: Any, job: Booked) -> None:
    floor.move_on(unit, job.part_ids[:1], to=PartStage.CURE, who=None)


def a_rework(unit: Any, job: Booked) -> None:
    floor.rework(unit, job.part_ids[0], Fault.RUN, "drips below", who=None)


def another_card(unit: Any, job: Booked) -> None:
    def work(session: Any) -> None:
        for part in session.scalars(sa.select(Part)):
            card = {**part.work["card"], "hang_agreed": "by the valve hole"}
            part.work = {**part.work, "card": card}

    unit.write(work)


def will_be_late(unit: Any, job: Booked) -> None:
    later = unit.now() + timedelta(days=9)
    fresh = JobForecast(job_id=job.job_id, safe_at=later, likely_at=later, made_at=unit.now())
    unit.write(lambda s: s.merge(fresh))


CHANGES = {
    "note": (a_note, "mind the valve"),
    "name": (another_name, "Kim Pattern"),
    "rush": (on_job(rush=True), "rush"),
    "powder": (no_powder, "powder short"),
    "tag": (another_tag, "777"),
    "move": (one_part_on, "3 of 4 of the set"),
    "card": (another_card, "by the valve hole"),
    "forecast": (will_be_late, "will be late"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_change_is_read_at_once_on_both_of_two_processes(both, unit, job, what) -> None:
    change, says = CHANGES[what]
    for client in both:
        assert says not in cards_of(client)
    change(unit, job)
    for client in both:
        assert says in cards_of(client)


def test_a_rework_is_told_where_the_part_went(both, unit, job) -> None:
    cured = a_job_at(unit, PartStage.INSPECT, first_tag=201)
    for client in both:
        assert "drips below" not in cards_of(client)
    a_rework(unit, cured)
    for client in both:
        assert "drips below" in cards_of(client)


@pytest.mark.parametrize(
    ("later", "says"),
    [
        ({"hours": 2}, "Blasted 2 hours ago."),
        ({"hours": 90}, "blast again"),
        ({"days": 8}, "day over"),
        ({"days": 10}, "3 days over"),
    ],
)
def test_what_the_clock_changes_is_read_at_once(both, clock, job, later, says) -> None:
    for client in both:
        assert says not in cards_of(client)
    clock.advance(**later)
    for client in both:
        sign_in(client.application, client, FLOOR)
        assert says in cards_of(client)


def test_each_reader_has_the_own_language_and_the_own_form(both, job) -> None:
    _english, german = both
    german.set_cookie("lang", "de")
    pages = [page_at(client) for client in both]
    assert "Promised for" in pages[0]
    assert "Promised for" not in pages[1]
    for client in both:
        moved = client.submit(client.get("/counter/floor?at=coat"), form=1)
        assert moved.status_code == 303  # the token of its form is its reader's


def test_the_card_that_was_opened_is_open_on_that_page_alone(both, job) -> None:
    first = f'id="d{job.part_ids[0]}"'
    for client in both:
        assert f"{first} open" in page_at(client, f"/counter/floor?open={job.part_ids[0]}")
        assert f"{first} open" not in page_at(client, "/counter/floor")


def test_a_test_leads_back_to_the_station_that_was_chosen(both, unit) -> None:
    a_job_in_work(unit, order={"original_before_1980": True}, first_tag=301)
    for client in both:
        for at in ("", "blast", "coat"):
            assert f'back=floor:{at}"' in page_at(client, f"/counter/floor?at={at}")


def test_what_has_not_changed_is_written_once(app, clock, job) -> None:
    client = sign_in(app, checked_client(app), FLOOR)
    page_at(client)
    before = floor_cards._written.cache_info()
    clock.advance(minutes=1)
    page_at(client)
    after = floor_cards._written.cache_info()
    assert (after.misses, after.hits) == (before.misses, before.hits + 1)
