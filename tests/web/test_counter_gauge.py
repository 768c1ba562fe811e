"""A gauge that types readings into the scan field of an inspection, on a page without script."""

import pytest

from portal.shop.route import PartStage
from tests.cast import FLOOR, sign_in
from tests.factories import WHEELS, a_job_at, stages
from tests.page import checked_client
from tests.web.hand import Hand

SPOT = ("128", "131", "127", "140", "133")


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), FLOOR), "/counter/floor")


def readings(hand: Hand) -> list[str]:
    return hand.page.one("textarea", id="readings").text.strip().splitlines()


def test_every_number_is_a_reading_of_the_open_part(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    # another customer's wheel waits there with a tag that could be a film
    a_job_at(unit, PartStage.INSPECT, {**WHEELS, "count": 1}, first_tag=131)
    hand.scan("101")
    for typed in SPOT:
        hand.scan(typed)
        assert hand.path == f"/counter/part/{job.part_ids[0]}/inspect"
    assert readings(hand) == ["128 131 127", "140 133"]
    for typed in ("82,5", "78.5 µm", "102"):
        hand.scan(typed)
    assert readings(hand) == ["128 131 127", "140 133 82,5", "78.5 102"]
    assert hand.heading == "Inspect part 1"


@pytest.mark.parametrize("typed", ["0102", "T-102", "#102", "12345", "2001"])
def test_a_number_that_is_no_film_is_refused_and_nothing_is_lost(hand, unit, typed) -> None:
    a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    hand.scan("78")
    hand.scan(typed)
    assert hand.heading == "Inspect part 1"
    assert hand.told[0].startswith(f"{typed} was not used")
    assert readings(hand) == ["78"]


def test_a_part_is_opened_by_its_code(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    hand.scan(f"{job.code}-4")
    assert hand.heading == "Inspect part 4"
    hand.go("/counter/floor")
    hand.scan("102")
    assert hand.heading == "Inspect part 2"


def test_after_the_inspection_a_number_opens_no_other_part(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT, {**WHEELS, "count": 1})
    other = a_job_at(unit, PartStage.INSPECT, {**WHEELS, "count": 1}, first_tag=131)
    hand.scan("101")
    hand.send("/inspect", readings="\n".join(["80 81 82"] * 5), eye="no")
    assert hand.heading == "Rework"
    hand.scan("131")
    assert hand.heading == "Rework"
    assert hand.told[0].startswith("131 was not used")
    hand.go(f"/counter/part/{job.part_ids[0]}/inspect")
    hand.send("/inspect", readings="\n".join(["80 81 82"] * 5), eye="yes")
    for _ in range(2):
        hand.scan("131")
        assert hand.path == f"/counter/job/{job.code}"
        assert hand.told[0].startswith("131 was not used")
    assert stages(unit, other) == [PartStage.INSPECT]
    hand.go("/counter/floor")
    hand.scan("131")
    assert hand.path == f"/counter/part/{other.part_ids[0]}/inspect"
