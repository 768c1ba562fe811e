"""Pages of a job read what was told at the booking: nothing is appraised or priced for them."""

from collections import Counter
from dataclasses import dataclass

import pytest
import sqlalchemy as sa

from portal.orders.counter import hand_back
from portal.shop.route import PartStage
from portal.store.tables import Job, Part
from tests.cast import OFFICE, sign_in
from tests.factories import Booked, a_job_at
from tests.page import checked_client
from tests.web.counting import counted, forget

# what is shown of a job, by whom; {part} is its first part
PAGES = (
    *("/J/{token}", "/J/{token}/price", "/J/{token}/slip", "/J/{token}/tags"),
    *("/J/{token}/inspection", "/J/{token}/refit"),
    *("/counter/job/{code}", "/counter/job/{code}/check-in", "/counter/job/{code}/hand-back"),
    *("/counter/job/{code}/pay", "/counter/part/{part}/inspect", "/counter/part/{part}/rework"),
    *("/counter/floor", "/counter/oven", "/counter/today", "/counter/shelf"),
)


@dataclass
class Counts:
    """What the pages of one job cost a process that has seen no order yet."""

    appraised: dict[str, int]
    priced: dict[str, int]


def cost_of(app, job: Booked) -> Counts:
    client = checked_client(app)
    sign_in(app, client, OFFICE)
    counts = Counts({}, {})
    for page in PAGES:
        forget()
        with counted(Counter()) as found:
            address = page.format(token=job.token, code=job.code, part=job.part_ids[0])
            answer = client.get(address, follow_redirects=True)
        assert answer.status_code == 200, page
        counts.appraised[page], counts.priced[page] = found["sets"], found["quotes"]
    return counts


@pytest.fixture
def ready(app) -> Booked:
    unit = app.extensions["unit"]
    job = a_job_at(unit, PartStage.DONE)
    hand_back.make_ready(unit, job.job_id, who=None)
    return job


def test_no_page_of_a_job_appraises_or_prices_it(app, ready) -> None:
    counts = cost_of(app, ready)
    assert {page for page, count in counts.appraised.items() if count} == set()
    assert {page for page, count in counts.priced.items() if count} == set()


def test_a_job_from_before_is_appraised_once_a_page_and_priced_for_its_slip_alone(
    app, ready
) -> None:
    """Nothing was kept of what it was told, so its checks and its slip are found anew."""

    def make_old(session) -> None:
        session.execute(sa.update(Job).values(assessed=None))
        for part in session.scalars(sa.select(Part)):
            part.work = {key: value for key, value in part.work.items() if key != "checks"}

    app.extensions["unit"].write(make_old)
    counts = cost_of(app, ready)
    assert max(counts.appraised.values()) == 1
    assert {page for page, count in counts.priced.items() if count} == {
        "/J/{token}/slip",
        "/J/{token}/tags",
    }
