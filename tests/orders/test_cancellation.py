"""Jobs that end early: not brought, called off, turned away."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation, check_in
from portal.orders.kernel.errors import Refused
from portal.shop.moves import JobState
from portal.store.tables import Letter
from tests.factories import PAINTED, a_booked_job, a_job_in_work, events, state
from tests.orders.test_findings import painted, raise_it, receive
from tests.readers import refusing


def test_a_job_is_not_brought_once_its_time_is_over_and_its_customer_is_asked(unit, clock) -> None:
    job = a_booked_job(unit)
    with refusing(Refused, "is not over yet"):
        cancellation.mark_no_show(unit, job.job_id, who=None)
    clock.advance(hours=3)
    cancellation.mark_no_show(unit, job.job_id, who=None)
    assert state(unit, job) is JobState.NOT_BROUGHT
    with unit.read() as session:
        kinds = session.scalars(sa.select(Letter.kind).where(Letter.job_id == job.job_id)).all()
    assert list(kinds) == ["not_brought"]


def test_what_was_not_brought_can_still_come(unit, clock) -> None:
    job = a_booked_job(unit)
    clock.advance(hours=3)
    cancellation.mark_no_show(unit, job.job_id, who=None)
    receive(unit, job)
    assert state(unit, job) is JobState.IN_WORK


def test_calling_off_frees_the_tags_and_keeps_the_reason(unit) -> None:
    job = a_booked_job(unit)
    check_in.give_tag(unit, job.job_id, "101", who=None)
    cancellation.call_off(unit, job.job_id, "sold the car", who=None)
    assert state(unit, job) is JobState.CALLED_OFF
    assert events(unit, job, "call_off")[0].note == "sold the car"
    other = a_booked_job(unit)
    assert check_in.give_tag(unit, other.job_id, "101", who=None).tag == "101"


def test_nothing_ends_without_a_reason(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as caught:
        cancellation.call_off(unit, job.job_id, "  ", who=None)
    assert caught.value.key == "reason"


def test_a_job_that_waits_can_be_turned_away(unit) -> None:
    job = a_booked_job(unit)
    raise_it(unit, job, painted(unit, job, 1))
    receive(unit, job)
    cancellation.turn_away(unit, job.job_id, "cracked through", who=None)
    assert state(unit, job) is JobState.TURNED_AWAY


def test_a_job_in_work_is_not_called_off_at_the_counter(unit) -> None:
    job = a_job_in_work(unit, PAINTED)
    with pytest.raises(Refused):
        cancellation.call_off(unit, job.job_id, "changed their mind", who=None)
