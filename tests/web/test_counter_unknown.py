"""What nobody knew when the order was made: seen at the door, measured, and walked to the end."""

import pytest

from portal.craft.declared import read_declared
from portal.shop.moves import PartStage
from portal.store.tables import Job
from tests.factories import a_booked_job, a_job_at, stages

UNKNOWN = {
    "kind": "wheel",
    "count": 2,
    "build": "unknown",
    "layers": ["unknown"],
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}
CHAIRS = {
    "kind": "chair",
    "count": 3,
    "closed": ["sealed_tube"],
    "layers": ["unknown"],
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}
LAMP = {
    "kind": "other",
    "count": 1,
    "what": "lamp base",
    "closed": ["unknown"],
    "layers": ["unknown"],
    "finish": {"system": "single", "colour": "R9005-S", "gloss": "satin"},
}


@pytest.mark.parametrize("one", [UNKNOWN, CHAIRS, LAMP], ids=["wheels", "chairs", "lamp"])
def test_parts_that_nobody_knew_come_through_the_floor(unit, one) -> None:
    job = a_job_at(unit, PartStage.DONE, one)
    assert set(stages(unit, job)) == {PartStage.DONE}


def test_what_was_told_of_closed_things_stands_at_check_in_and_on_the_job(hand, unit) -> None:
    job = a_booked_job(unit, CHAIRS, LAMP | {"key": "L"})
    for page in (f"/counter/job/{job.code}/check-in", f"/counter/job/{job.code}"):
        hand.go(page)
        assert "see the vent hole" in hand.page.text
        assert "Look before you receive it" in hand.page.text
    hand.go(f"/counter/job/{job.code}/check-in")
    assert "lamp base" in hand.page.text
    assert "not known: measure it" in hand.page.text


def test_a_size_that_was_measured_at_the_door_is_asked_of_the_customer(hand, unit) -> None:
    job = a_booked_job(unit, LAMP)
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send("/differs", length="30 cm", width="30", height="45", metal="cast_iron", do="raise")
    with unit.read() as session:
        found = session.get(Job, job.job_id)
        assert read_declared(found.declared).sets[0].size_mm is None  # until the customer agrees
    hand.go(f"/counter/job/{job.code}/check-in")
    assert "300 × 300 × 450 mm" in hand.page.text
