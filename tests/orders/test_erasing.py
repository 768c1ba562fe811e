"""A customer who is erased is erased in every table, and only when nothing of theirs is open."""

import re
from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.retention_times import CONTACT_LIVES
from portal.orders.office.erasing import erase_customer
from portal.orders.office.retention import sweep
from portal.shop.codes import shown
from portal.shop.moves import JobState
from portal.store.tables import Base, Customer, Job
from tests.factories import Booked, a_booked_job
from tests.readers import english

PERSON = re.compile(r"robin|447700900123|brown estate", re.IGNORECASE)

OPEN = ["booked", "received", "waiting", "in_work", "ready"]


def end(unit, job: Booked) -> None:
    change = sa.update(Job).where(Job.id == job.job_id).values(state=JobState.HANDED_BACK)
    unit.write(lambda session: session.execute(change))


def of_one_customer(unit, job: Booked, other: Booked) -> None:
    """Let two jobs be those of one returning customer."""

    def work(session) -> None:
        first, second = session.get(Job, job.job_id), session.get(Job, other.job_id)
        left = second.customer
        second.customer = first.customer
        session.flush()
        session.delete(left)

    unit.write(work)


def stored(unit) -> str:
    """Return every row of every table, those that are not exported, too."""
    with unit.read() as session:
        rows = [session.execute(sa.select(table)).all() for table in Base.metadata.sorted_tables]
    return repr(rows)


def customers(unit) -> list[tuple[str, str, str]]:
    with unit.read() as session:
        rows = session.execute(sa.select(Customer.name, Customer.email, Customer.phone))
        return [tuple(row) for row in rows]


def test_nothing_that_is_exported_names_who_was_erased(unit) -> None:
    job = a_booked_job(unit)
    assert PERSON.search(stored(unit))
    end(unit, job)
    erase_customer(unit, job.code)
    assert customers(unit) == [("—", "", "")]
    assert not PERSON.search(stored(unit))


def test_the_customer_of_an_open_job_is_kept_whole_and_the_refusal_says_which_job(unit) -> None:
    job = a_booked_job(unit)
    before = stored(unit)
    with pytest.raises(Refused) as refused:
        erase_customer(unit, job.code)
    assert (
        english(refused.value.sentence) == f"Job {shown(job.code)} is still open. Close it first."
    )
    assert stored(unit) == before


@pytest.mark.parametrize("state", OPEN)
def test_no_state_of_an_open_job_lets_its_customer_be_erased(unit, state) -> None:
    job = a_booked_job(unit)
    change = sa.update(Job).where(Job.id == job.job_id).values(state=JobState(state))
    unit.write(lambda session: session.execute(change))
    with pytest.raises(Refused):
        erase_customer(unit, job.code)
    assert customers(unit) != [("—", "", "")]


def test_a_returning_customer_is_erased_from_every_job_when_none_is_open(unit) -> None:
    job, other = a_booked_job(unit), a_booked_job(unit)
    of_one_customer(unit, job, other)
    end(unit, job)
    with pytest.raises(Refused) as refused:
        erase_customer(unit, job.code)
    assert shown(other.code) in english(refused.value.sentence)
    assert PERSON.search(stored(unit))
    end(unit, other)
    erase_customer(unit, job.code)
    assert not PERSON.search(stored(unit))


def test_the_address_of_a_customer_goes_when_the_last_of_their_jobs_is_long_over(
    unit, clock
) -> None:
    job = a_booked_job(unit)
    other = a_booked_job(unit, dropoff=timedelta(days=30))
    of_one_customer(unit, job, other)
    end(unit, job)
    end(unit, other)
    clock.advance(seconds=(CONTACT_LIVES + timedelta(days=10)).total_seconds())
    assert sweep(unit).contacts == 0
    clock.advance(days=30)
    assert sweep(unit).contacts == 1
    assert customers(unit) == [("—", "", "")]
    assert sweep(unit).contacts == 0
