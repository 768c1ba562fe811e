"""Who was erased, and came back with an older copy of the database, is erased again."""

from portal.orders.office.erasing import erase_again
from portal.store.jobs import ERASED
from portal.store.tables import Job
from tests.factories import a_booked_job


def test_who_came_back_is_erased_once_and_others_stay(unit) -> None:
    back, other = a_booked_job(unit), a_booked_job(unit, name="Ada Fenn")
    assert erase_again(unit, [back.code, "NONE"]) == 1
    assert erase_again(unit, [back.code]) == 0
    with unit.read() as session:
        assert session.get(Job, back.job_id).customer.name == ERASED
        assert session.get(Job, other.job_id).customer.name == "Ada Fenn"
