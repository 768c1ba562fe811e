"""The appointment's page: staff move a drop-off, call it off, or mark who did not come."""

from datetime import timedelta

from portal.shop.moves import JobState
from tests.factories import a_booked_job, a_job_in_work, state


def slots(hand) -> list[str]:
    options = hand.page.one(id="slot").iter("option")
    return [one.get("value") for one in options if one.get("value")]


def test_a_drop_off_is_moved_from_the_job(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}")
    assert any("/appointment" in (a.get("href") or "") for a in hand.page.all("a"))
    hand.go(f"/counter/job/{job.code}/appointment")
    hand.send("/appointment", slot=slots(hand)[4])
    assert hand.path.endswith(job.code)
    assert hand.told[0].startswith("Moved to")


def test_without_a_time_the_page_says_what_is_missing(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/appointment")
    hand.send("/appointment")
    assert hand.at.status_code == 422
    assert hand.wrong("slot") == "Error: Choose the new time."


def test_find_leads_to_it(hand, unit) -> None:
    first, second = a_booked_job(unit), a_booked_job(unit)
    hand.scan("Robin")
    links = [a.get("href") for a in hand.page.all("a")]
    for job in (first, second):
        assert f"/counter/job/{job.code}/appointment" in links


def test_who_did_not_come_is_marked_and_gets_a_new_time(hand, unit) -> None:
    hand.go(f"/counter/job/{a_booked_job(unit).code}/appointment")
    assert "Mark as not brought" not in hand.page.text
    job = a_booked_job(unit, dropoff=timedelta(hours=-2))
    address = f"/counter/job/{job.code}/appointment"
    hand.go(address)
    hand.send("/not-brought")
    assert state(unit, job) is JobState.NOT_BROUGHT
    hand.go(address)
    hand.send("/appointment", slot=slots(hand)[0])
    assert state(unit, job) is JobState.BOOKED


def test_it_is_called_off_with_a_reason(hand, unit) -> None:
    job = a_booked_job(unit)
    hand.go(f"/counter/job/{job.code}/appointment")
    hand.send("/end", reason="sold the car", how="call_off")
    assert state(unit, job) is JobState.CALLED_OFF


def test_parts_that_are_here_lead_back_to_their_job(hand, unit) -> None:
    job = a_job_in_work(unit)
    hand.go(f"/counter/job/{job.code}/appointment")
    assert hand.path == f"/counter/job/{job.code}"
    assert "You can't do this now" in hand.told[0]
