"""A part that was bare for too long: what the floor reads, and the way back."""

import re

from portal.craft.corners import Corner
from portal.orders.counter.corners import note_corners
from portal.shop.route import PartStage
from tests.cast import COUNTER, sign_in
from tests.factories import WHEELS, a_job_at, stages
from tests.page import checked_client, words
from tests.web.hand import Hand

STEEL = WHEELS | {"metal": "steel", "build": "steel"}


def kept(hand, tag: str, kept_ms: object) -> dict:
    """Send a scan as a phone does that kept it without a network."""
    token = re.search(r'name="csrf_token" value="([^"]+)"', hand.at.text)[1]
    scan = {"scan_id": f"scan-{tag}-{kept_ms}", "where": "floor:cure", "q": tag, "by": ""}
    answer = hand.client.post(
        "/counter/scans",
        json={"scans": [scan | {"kept_ms": kept_ms}]},
        headers={"X-CSRFToken": token},
    )
    return answer.get_json()["results"][0]


def at_the_floor(app) -> Hand:
    """Sign in anew: a session ends when nobody uses it for long."""
    return Hand(sign_in(app, checked_client(app), COUNTER), "/counter/floor")


def test_the_card_says_when_it_must_be_coated_and_then_that_it_is_too_late(
    app, unit, clock
) -> None:
    job = a_job_at(unit, PartStage.COAT, STEEL)
    hand = at_the_floor(app)
    assert "Blasted less than an hour ago. Coat by" in hand.page.text
    assert "Clean, dry gloves. No bare hands on bare metal." in hand.page.text
    clock.advance(hours=7)
    hand = at_the_floor(app)
    assert "Blasted 7 hours ago. Coat by" in hand.page.text
    assert "coat soon" in hand.page.text
    clock.advance(hours=2)
    hand = at_the_floor(app)
    assert "Blasted 9 hours ago. blast again" in hand.page.text
    assert "Coat by" not in hand.page.text
    hand.scan("AT-CURE")
    hand.scan("101")
    assert hand.told == [
        (
            "Tag 101: Part 1 was blasted more than 8 hours ago: too long for bare metal. "
            "Send it back to blast."
        )
    ]
    (back, *_) = [one.get("href") for one in hand.page.all("a") if "Tag 101 back" in words(one)]
    hand.go(back)
    hand.send("/rework")
    assert stages(unit, job) == [PartStage.BLAST] + [PartStage.COAT] * 3


def test_a_kept_scan_is_judged_by_when_it_was_scanned(app, unit, clock) -> None:
    job = a_job_at(unit, PartStage.COAT, STEEL)
    clock.advance(hours=9)
    hand = at_the_floor(app)
    hour = 3_600_000
    late = kept(hand, "101", hour // 2)
    assert late["kind"] == "stop"
    assert "too long for bare metal" in late["says"]
    # what nobody can have kept, or is no number, counts as scanned now
    assert kept(hand, "101", 100 * 24 * hour)["kind"] == "stop"
    assert kept(hand, "101", "x")["kind"] == "stop"
    assert kept(hand, "102", 2 * hour)["kind"] == "go"
    assert stages(unit, job) == [PartStage.COAT, PartStage.CURE, PartStage.COAT, PartStage.COAT]


def test_a_wheel_whose_corner_is_noted_stands_at_coat_with_both(app, unit) -> None:
    job = a_job_at(unit, PartStage.COAT, STEEL)
    note_corners(unit, job.job_id, {1: Corner.FRONT_LEFT}, who=None)
    hand = at_the_floor(app)
    assert hand.at.status_code == 200
    assert "Blasted less than an hour ago." in hand.page.text
