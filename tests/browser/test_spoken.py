"""What is read aloud from the landing page to the collected parts, kept beside as text.

Read a text whole before a change of it is committed: is it long-winded, or out of order?
"""

from datetime import timedelta

import pytest
from playwright.sync_api import Page

from portal.orders.counter.hand_back import make_ready
from portal.shop.route import PartStage
from tests.browser.speech import hold_against, reader_script, spoken
from tests.browser.story import Customer
from tests.factories import PAINTED, TWO_COATS, a_booked_job, a_job_at, a_job_in_work
from tests.orders.test_findings import painted, raise_it
from tests.orders.test_preparing import ON_TYRES
from tests.web.test_status_page import a_job_at_home

pytestmark = pytest.mark.browser


def a_listener(live) -> Page:
    page = live.person("phone")
    page.context.add_init_script(reader_script())
    return page


def test_the_walk_to_a_booking_is_read_aloud(live) -> None:
    said: dict[str, str] = {}
    customer = Customer(a_listener(live))

    def listen(page: Page, name: str) -> None:
        said[name] = spoken(page, "main" if said else "body")

    booked = customer.book_wheels(listen)
    listen(customer.page, "8-booked")
    customer.page.goto(f"{booked.path}/slip")
    listen(customer.page, "9-slip")
    for name, words in said.items():
        hold_against(name, words)


def _waiting(unit):
    job = a_job_in_work(unit)
    raise_it(unit, job, painted(unit, job, 1, 2))
    return job


def _ready(unit):
    job = a_job_at(unit, PartStage.DONE, first_tag=131)
    make_ready(unit, job.job_id, who=None)
    return job


STATES = {
    "collected": a_job_at_home,  # first: its tags serve again
    "booked": lambda unit: a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3)),
    "not-brought": lambda unit: a_booked_job(unit, dropoff=timedelta(hours=-2)),
    "waiting": _waiting,
    "in-work": lambda unit: a_job_at(unit, PartStage.CURE, TWO_COATS, first_tag=111),
    "late": lambda unit: a_job_at(unit, PartStage.BLAST, PAINTED, first_tag=121),
    "ready": _ready,
}


def test_the_status_page_is_read_aloud_in_each_state(live, unit, clock) -> None:
    page = a_listener(live)
    jobs = {name: make(unit) for name, make in STATES.items()}
    for name, job in jobs.items():
        if name == "late":
            continue
        page.goto(f"/J/{job.token}")
        hold_against(f"status-{name}", spoken(page))
    page.goto(f"/J/{jobs['booked'].token}/prepare")
    hold_against("prepare", spoken(page))
    clock.advance(days=8)
    page.goto(f"/J/{jobs['late'].token}")
    hold_against("status-late", spoken(page))
    page.context.add_cookies([{"name": "lang", "value": "de", "url": live.url}])
    page.goto(f"/J/{jobs['in-work'].token}")
    hold_against("status-in-work-de", spoken(page))
