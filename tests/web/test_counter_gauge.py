"""A gauge that types readings into the scan field of an inspection, on a page without script."""

import pytest

from portal.shop.route import PartStage
from tests.cast import FLOOR, sign_in
from tests.factories import a_job_at
from tests.page import checked_client
from tests.web.hand import Hand


@pytest.fixture
def hand(app) -> Hand:
    return Hand(sign_in(app, checked_client(app), FLOOR), "/counter/floor")


def test_a_gauge_may_type_into_the_scan_field_of_an_inspection(hand, unit) -> None:
    job = a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    for typed in ("78", "82,5 µm"):
        hand.scan(typed)
    assert hand.heading == "Inspect part 1"
    assert hand.page.one("textarea", id="readings").text.strip() == "78 82,5"
    # a tag that waits here may be a reading: that is asked, and nothing is lost
    hand.scan("103")
    assert hand.page.one("textarea", id="readings").text.strip() == "78 82,5"
    links = hand.page.one(class_="asked").iter("a")
    noted, opened = [link.get("href") for link in links]
    hand.go(noted)
    assert hand.page.one("textarea", id="readings").text.strip() == "78 82,5 103"
    hand.go(opened)
    assert hand.path == f"/counter/part/{job.part_ids[2]}/inspect"
    # while nothing is measured a number that hangs here is a tag, and its form may be plain
    for typed, part in (("102", 2), ("T-101", 1), (f"{job.code}-4", 4)):
        hand.scan(typed)
        assert hand.heading == f"Inspect part {part}"


def test_a_first_reading_that_was_taken_for_a_tag_is_told(hand, unit) -> None:
    a_job_at(unit, PartStage.INSPECT)
    hand.scan("101")
    hand.scan("103")
    assert hand.heading == "Inspect part 3"
    assert hand.told == ["We read 103 as a tag. If it was a reading, go back."]
