"""A job with every kind of test: old paint, a metal that nobody knew, a bend and a sample.

It walks by hand through check-in, floor, oven and inspection to the hand-back, by pages, by scan
without a script, and by the scans that a phone kept while there was no network.
"""

import pytest

from portal.craft.check_kinds import CheckKind
from portal.orders.kernel.checks import lines_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from tests.cast import OFFICE, sign_in, token_of
from tests.factories import WHEELS, Booked, a_booked_job, bring_to, stages, state
from tests.web.hand import Hand

SET = {
    **WHEELS,
    "metal": "unknown",
    "build": "unknown",
    "layers": ["liquid_paint"],
    "damage": ["bend"],
    "damaged": {"bend": 1},
    "finish": {"system": "single", "gloss": "satin", "decide_from_sample": True},
}
TAGS = ("101", "102", "103", "104")


@pytest.fixture
def hand(app, client):
    return Hand(sign_in(app, client, OFFICE))


@pytest.fixture
def job(unit) -> Booked:
    return a_booked_job(unit, SET, order={"original_before_1980": True})


def open_lines(unit, job: Booked) -> set[CheckKind]:
    with unit.read() as session:
        return {line.kind for line in lines_of(session, job.job_id) if line.open}


def by_page(hand: Hand, tag: str, to: PartStage) -> list[str]:
    hand.go(f"/counter/floor?at={to}")
    hand.scan(tag)
    return hand.told


def kept(hand: Hand, tag: str, to: PartStage) -> list[str]:
    """Send one scan as a phone does that had kept it; a refusal leads to its page."""
    page = hand.client.get(f"/counter/floor?at={to}")
    one = {
        "scan_id": f"{tag}-{to}-{len(hand.path)}-{next(COUNT)}",
        "q": tag,
        "where": f"floor:{to}",
    }
    answer = hand.client.post(
        "/counter/scans",
        json={"scans": [one]},
        headers={"X-CSRFToken": token_of(page.get_data(as_text=True))},
    ).get_json()["results"][0]
    if "way" in answer:
        hand.go(answer["way"])
    return [answer["says"]]


COUNT = iter(range(10**6))


def received(hand: Hand, job: Booked) -> None:
    """Check a job in: what waits is named, and the colour is chosen from the samples."""
    hand.scan(job.code)
    for name in ("Test for lead and chromate", "Metal check", "Bend measured"):
        assert name in hand.page.text
    for tag in TAGS:
        hand.scan(tag)
    hand.send("/as-declared")
    hand.go(f"/counter/job/{job.code}/colour?set=A")
    plate = next(e.get("value") for e in hand.page.all("input") if e.get("name") == "plate")
    hand.send("/colour", plate=plate, do="weigh")
    hand.send("/colour", do="choose")
    hand.send("/receive")


@pytest.mark.parametrize("move", [by_page, kept])
def test_every_gate_is_met_from_check_in_to_the_hand_back(hand, unit, job, move) -> None:
    received(hand, job)
    assert hand.told == ["Received. Work starts when the open test is done."]
    assert state(unit, job) is JobState.RECEIVED

    # lead: nothing moves, nothing starts, until every part is tested
    assert "lead and chromate" in move(hand, "101", PartStage.STRIP)[0]
    assert hand.path.endswith("/check/lead")
    assert set(stages(unit, job)) == {PartStage.PREP}
    hand.go(f"/counter/job/{job.code}")
    hand.send("/start")
    assert hand.path.endswith("/check/lead")
    hand.send("/check/lead", result="clear")
    assert state(unit, job) is JobState.IN_WORK

    # metal: no strip, no blast
    assert "metal of part 1" in move(hand, "101", PartStage.STRIP)[0]
    assert hand.path.endswith("/check/metal")
    hand.send("/check/metal", result="aluminium")
    for tag in TAGS:
        move(hand, tag, PartStage.STRIP)
    assert set(stages(unit, job)) == {PartStage.STRIP}

    # the bend: before the grit, and on the bent wheel alone
    assert "bend of part 1" in move(hand, "101", PartStage.BLAST)[0]
    move(hand, "102", PartStage.BLAST)
    assert stages(unit, job)[:2] == [PartStage.STRIP, PartStage.BLAST]
    hand.go(f"/counter/job/{job.code}/check/bend")
    hand.send("/check/bend", note="0.8 mm", result="within")
    for tag in (TAGS[0], *TAGS[2:]):
        move(hand, tag, PartStage.BLAST)
    assert set(stages(unit, job)) == {PartStage.BLAST}

    # cracks: with the old finish off, before the powder
    assert "cracks in part 1" in move(hand, "101", PartStage.COAT)[0]
    hand.go(f"/counter/job/{job.code}/check/cracks")
    hand.send("/check/cracks", result="none")
    for tag in TAGS:
        move(hand, tag, PartStage.COAT)
    assert open_lines(unit, job) == set()

    # through the oven and the inspection to the hand-back
    bring_to(unit, job, PartStage.DONE)
    hand.go(f"/counter/job/{job.code}")
    assert "0.8 mm" in hand.page.text
    hand.send("/ready")
    assert state(unit, job) is JobState.READY
