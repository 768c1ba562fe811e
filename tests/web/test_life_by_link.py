"""The life of an order by its link alone, without script, on both databases; and who guesses."""

from datetime import timedelta

import pytest

from portal.orders.counter import thread_answers
from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.threads import talks_of
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Job
from tests.factories import (
    a_booked_job,
    a_job_at,
    a_token,
    bring_to,
    last_event_id,
    pass_checks,
    take_in,
)
from tests.orders.test_findings import painted, raise_it
from tests.orders.test_preparing import ON_TYRES
from tests.web.hand import Hand

PHONE, DIGITS = "+44 7700 900456", "0456"  # the new number, which the rest of the life asks for
pytestmark = pytest.mark.postgres


def test_the_life_of_an_order_by_its_link(client, unit, clock) -> None:
    job = a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3))
    hand, home = Hand(client, f"/J/{job.token}"), f"/J/{job.token}"
    _before(hand, home, unit, job)
    _brought(unit, clock, job)
    hand.go(home)
    assert hand.heading == "We need your answer"
    hand.send("/answer", digits=DIGITS, yes="1")
    assert hand.heading == "We are working on your parts"
    pass_checks(unit, job)
    bring_to(unit, job, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    _fetched(hand, home, unit, job)
    _afterwards(hand, home)


def _before(hand: Hand, home: str, unit, job) -> None:
    hand.go(f"{home}/time")
    slots = [one.get("value") for one in hand.page.all("input") if one.get("name") == "slot"]
    hand.send("/time", slot=slots[2])
    assert "Your drop-off is now on" in hand.told[0]
    hand.go(f"{home}/finish")
    hand.send("/finish", system="base_clear", colour="EMBER-S", gloss="gloss", do="weigh")
    assert "What it changes" in hand.page.text
    hand.send("/finish", digits="0123", do="take")
    assert hand.told[0].startswith("Your order is changed.")
    hand.go(f"{home}/contact")
    hand.send("/contact", email="new@example.com", phone=PHONE, digits="0123")
    assert hand.told == ["Saved."]
    hand.go(f"{home}/fetch")
    hand.send("/fetch", name="Kim Sample", digits=DIGITS)
    hand.go(f"{home}/ask")
    hand.send("/ask", text="May I watch?")
    with unit.read() as session:
        talk = talks_of(session, job.job_id)[0]
    thread_answers.answer(
        unit, talk.id, "Yes, on Friday.", last_entry_id=talk.last_id, once_token=a_token(), who=None
    )
    hand.go(f"{home}/ask")
    assert "Yes, on Friday." in hand.page.text
    hand.go(f"{home}/prepare/A-tyre")
    hand.send("/A-tyre", digits=DIGITS)
    every = [one.get("value") for one in hand.page.all("input") if one.get("name") == "done"]
    hand.send("/prepare", done=every)
    assert "Everything is off" in hand.told[0]


def _brought(unit, clock, job) -> None:
    with unit.read() as session:
        clock.set(session.get_one(Job, job.job_id).dropoff_at)
    take_in(unit, job)
    raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))


def _fetched(hand: Hand, home: str, unit, job) -> None:
    hand.go(home)
    assert hand.heading == "Your parts are ready"
    hand.go(f"{home}/pickup-time")
    slots = [one.get("value") for one in hand.page.all("input") if one.get("name") == "slot"]
    hand.send("/pickup-time", slot=slots[1])
    assert "We expect you on" in hand.page.text
    hand.go(f"{home}/code")
    hand.send("/code", digits=DIGITS)
    assert job.pickup_code in hand.page.text
    with unit.read() as session:
        due = account_of(session, job.job_id).to_pay.minor
    given = HandBack(job.pickup_code, [1, 2, 3, 4], [], due, PaymentMethod.CARD)
    told = {"expected_event_id": last_event_id(unit, job), "once_token": a_token()}
    hand_back(unit, job.job_id, given, **told, who=None)


def _afterwards(hand: Hand, home: str) -> None:
    hand.go(home)
    assert hand.heading == "You have collected your parts"
    assert "This page works until" in hand.page.text
    links = {one.get("href", "").removeprefix(home) for one in hand.page.all("a")}
    assert {"/receipts", "/refit", "/inspection", "/record", "/wrong", "/again"} <= links
    hand.go(f"{home}/record")
    hand.send("/record")
    (link,) = [one for one in hand.page.all("a") if "/record/" in one.get("href", "")]
    hand.go(link.get("href"))
    assert "Ember bronze" in hand.page.text
    for own in ("Robin", "Sample", "new@example.com", "900456", "Brown estate", "£", home):
        assert own not in hand.at.text, own
    hand.go(f"{home}/wrong")
    hand.send("/wrong", text="The coating chips.")
    assert "The coating chips." in hand.page.text
    hand.go(f"{home}/again")
    hand.send("/again")
    assert hand.path.startswith("/o/")


def test_who_guesses_digits_or_links_gets_nowhere(client, unit) -> None:
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    hand = Hand(client, f"/J/{job.token}/code")
    for guess in ("0000", "1111", "2222", "3333", "4444"):
        hand.send("/code", digits=guess)
        assert job.pickup_code not in hand.page.text
    hand.send("/code", digits="0123")  # right, and too late
    assert job.pickup_code not in hand.page.text
    near = job.token[:-1] + ("A" if job.token[-1] != "A" else "B")
    assert client.get(f"/J/{near}").status_code == 404


def test_an_older_page_is_told_what_another_one_changed(client, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    one, other = Hand(client, f"/J/{job.token}/time"), Hand(client, f"/J/{job.token}/time")
    slots = [e.get("value") for e in one.page.all("input") if e.get("name") == "slot"]
    one.send("/time", slot=slots[1])
    assert "Your drop-off is now on" in one.told[0]
    before = _drop_off(unit, job)
    other.send("/time", slot=slots[2])
    assert "Your drop-off is now on" not in str(other.told)
    assert _drop_off(unit, job) == before


def _drop_off(unit, job):
    with unit.read() as session:
        return session.get_one(Job, job.job_id).dropoff_at
