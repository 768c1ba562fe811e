"""What nobody knew when the order was made: seen at the door, measured, and walked to the end."""

import pytest

from portal.craft.declared import read_declared
from portal.shop.route import PartStage
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


def measured(hand, unit, job, **values):
    """Fill in what was found, look at what it changes, and save it; return the set and the sum."""
    hand.go(f"/counter/job/{job.code}/differs?set=A")
    hand.send("/differs", **values, do="weigh")
    words = hand.page.text
    hand.send("/differs", do="raise")
    with unit.read() as session:
        found = session.get(Job, job.job_id)
        return read_declared(found.declared).sets[0], found.total_minor, words


def test_what_nobody_knew_is_filled_in_within_the_price_told_without_asking(hand, unit) -> None:
    job = a_booked_job(unit, LAMP)
    one, total, words = measured(
        hand, unit, job, length="30 cm", width="30", height="45", metal="steel", closed="none"
    )
    assert "nobody needs to be asked" in words
    assert (one.size_mm, one.metal.value) == ((300, 300, 450), "steel")
    with unit.read() as session:
        quote = session.get(Job, job.job_id).quote
    assert total == quote["total"]


def test_a_size_beyond_the_price_told_is_asked_of_the_customer(hand, unit) -> None:
    job = a_booked_job(unit, LAMP)
    one, _total, words = measured(hand, unit, job, length="90 cm", width="90", height="90")
    assert "nobody needs to be asked" not in words
    assert one.size_mm is None  # until they agree
    hand.go(f"/counter/job/{job.code}/check-in")
    assert "900 × 900 × 900 mm" in hand.page.text
