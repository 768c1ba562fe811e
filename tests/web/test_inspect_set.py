"""The inspection of a whole set on one page, with and without a gauge that types."""

import pytest

from portal.orders.counter.job_view import job_view
from portal.shop.route import PartStage
from portal.store.tables import Inspection
from tests.cast import FLOOR, sign_in
from tests.factories import WHEELS, a_job_at, stages
from tests.page import checked_client
from tests.web.hand import Hand

GOOD = "\n".join(["75 76 74"] * 5)
THIN = "\n".join(["40 41 40"] * 5)
THICK = "\n".join(["190 191 190"] * 5)


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), FLOOR), "/counter/floor")


@pytest.fixture
def job(unit):
    return a_job_at(unit, PartStage.INSPECT)


def address(unit, job) -> str:
    return f"/counter/job/{job.code}/inspect/{job_view(unit, job.code).sets[0].key}"


def send(hand: Hand, job, *readings: str, eye: str = "yes", **more: str) -> None:
    fields = {f"readings-{part}": text for part, text in zip(job.part_ids, readings, strict=False)}
    hand.send("/" + hand.path.rpartition("/")[2], **fields, eye=eye, **more)


def test_a_set_passes_with_one_press(hand, unit, job) -> None:
    hand.go(address(unit, job))
    send(hand, job, *[GOOD] * 4)
    assert hand.path == f"/counter/job/{job.code}"
    assert hand.told == ["Passed: 101, 102, 103, 104."]
    assert PartStage.INSPECT not in stages(unit, job)
    with unit.read() as session:
        assert session.query(Inspection).count() == 4


def test_one_thin_part_goes_to_rework_and_the_others_on(hand, unit, job) -> None:
    hand.go(address(unit, job))
    send(hand, job, GOOD, THIN, GOOD, GOOD)
    assert hand.path == f"/counter/part/{job.part_ids[1]}/rework"
    assert "Passed: 101, 103, 104." in hand.told
    assert stages(unit, job)[1] is PartStage.INSPECT


def test_a_part_without_readings_waits(hand, unit, job) -> None:
    hand.go(address(unit, job))
    send(hand, job, GOOD, GOOD)
    assert [one is PartStage.INSPECT for one in stages(unit, job)] == [False, False, True, True]
    hand.go(address(unit, job))
    assert len(hand.page.all("textarea")) == 2


@pytest.mark.parametrize(
    ("readings", "more", "field"),
    [
        (("", "", "", ""), {}, 0),
        (("75 76", GOOD, GOOD, GOOD), {}, 0),
        ((GOOD, "seventy", GOOD, GOOD), {}, 1),
    ],
)
def test_what_cannot_be_judged_is_said_at_its_part_and_nothing_is_lost(
    hand, unit, job, readings, more, field
) -> None:
    hand.go(address(unit, job))
    send(hand, job, *readings, **more)
    name = f"readings-{job.part_ids[field]}"
    assert hand.page.one("textarea", id=name).get("aria-invalid") == "true"
    assert [one.text.strip() for one in hand.page.all("textarea")] == list(readings)
    assert set(stages(unit, job)) == {PartStage.INSPECT}


def test_the_eye_is_asked_for_and_must_agree_with_the_ticks(hand, unit, job) -> None:
    hand.go(address(unit, job))
    send(hand, job, *[GOOD] * 4, eye="no")
    assert "Tick the parts that are not OK." in hand.page.text
    send(hand, job, *[GOOD] * 4, eye="yes", **{f"bad-{job.part_ids[2]}": "y"})
    assert "A part is ticked as not OK." in hand.page.text
    assert set(stages(unit, job)) == {PartStage.INSPECT}
    send(hand, job, *[GOOD] * 4, eye="no", **{f"bad-{job.part_ids[2]}": "y"})
    assert hand.path == f"/counter/part/{job.part_ids[2]}/rework"


def test_a_thick_film_is_decided_at_its_part(hand, unit, job) -> None:
    hand.go(address(unit, job))
    send(hand, job, GOOD, GOOD, THICK, GOOD)
    number = job.part_ids[2]
    assert set(stages(unit, job)) == {PartStage.INSPECT}
    send(hand, job, GOOD, GOOD, THICK, GOOD, **{f"too_thick-{number}": "accept"})
    assert hand.wrong(f"because-{number}") == "Error: Enter why the thick film is accepted."
    assert set(stages(unit, job)) == {PartStage.INSPECT}
    because = {f"too_thick-{number}": "accept", f"because-{number}": "behind the spokes"}
    send(hand, job, GOOD, GOOD, THICK, GOOD, **because)
    assert hand.path == f"/counter/job/{job.code}"
    assert PartStage.INSPECT not in stages(unit, job)


def test_a_gauge_walks_through_the_set_without_a_script(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT, {**WHEELS, "count": 2})
    hand.go(address(unit, job))
    for n in range(30):
        hand.scan(str(70 + n % 10))
    first, second = (one.text.strip().split() for one in hand.page.all("textarea"))
    assert (len(first), len(second)) == (15, 15)
    hand.scan("75")
    assert hand.told[0].startswith("75 was not used")
    hand.send("/" + hand.path.rpartition("/")[2], eye="yes")
    assert PartStage.INSPECT not in stages(unit, job)


def test_a_set_that_nothing_waits_of_says_so(hand, unit) -> None:
    job = a_job_at(unit, PartStage.BLAST)
    hand.go(address(unit, job))
    assert hand.told == ["No part of this set waits for inspection."]
