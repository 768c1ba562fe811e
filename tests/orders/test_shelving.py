"""Where a job lies: the place is scanned, then whatever names the job."""

import pytest

from portal.orders.counter.hand_back import make_ready
from portal.orders.counter.job_view import job_view
from portal.orders.counter.lists_view import shelf
from portal.orders.kernel.errors import Refused
from portal.orders.production.shelving import lying_at, put_on_shelf
from portal.shop.codes import shown
from portal.shop.route import PartStage
from portal.shop.verbs import EventVerb
from tests.factories import a_booked_job, a_job_at, events


@pytest.mark.parametrize("named", ["101", "{code}", "{code}-2", "https://example.com/J/{token}"])
def test_whatever_names_a_ready_job_puts_it_there(unit, named) -> None:
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    typed = named.format(code=shown(job.code), token=job.token)
    put = put_on_shelf(unit, typed, "A3", who=None)
    assert (put.code, put.already) == (job.code, False)
    assert lying_at(unit, "A3") == (shown(job.code),)
    (row,) = shelf(unit)
    assert row.shelf == job_view(unit, job.code).shelf == "A3"


def test_the_second_scan_changes_nothing_and_another_place_takes_it(unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    put_on_shelf(unit, "101", "A3", who=None)
    assert put_on_shelf(unit, "102", "A3", who=None).already
    moved = put_on_shelf(unit, "103", "B1", who=None)
    assert not moved.already
    assert lying_at(unit, "A3") == ()
    assert [one.note for one in events(unit, job, EventVerb.SHELF)] == ["A3", "B1"]


@pytest.mark.parametrize(
    ("typed", "place"), [("999", "A3"), ("", "A3"), ("101", "HOME"), ("101", "")]
)
def test_what_names_no_job_or_no_place_is_refused(unit, typed, place) -> None:
    a_job_at(unit, PartStage.DONE)
    with pytest.raises(Refused):
        put_on_shelf(unit, typed, place, who=None)


def test_what_is_not_in_the_house_lies_nowhere(unit) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused):
        put_on_shelf(unit, job.code, "A3", who=None)
    assert lying_at(unit, "A3") == ()
