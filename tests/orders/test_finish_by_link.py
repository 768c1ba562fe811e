"""Another colour or finish by the link: told first, once, until the booth has the parts."""

from dataclasses import replace
from datetime import timedelta

import pytest

from portal.craft.parts import FinishChoice, Gloss, System
from portal.orders.counter.finish_by_link import change_finish, finish_change, weigh_finish
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.work_card import read_card
from portal.orders.production.floor import scan_part
from portal.shop.route import PartStage
from portal.shop.works import ChangeRules, FinishUntil
from portal.store.tables import Job, Part
from tests.factories import (
    TWO_COATS,
    WHEELS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    events,
    last_event_id,
)
from tests.orders.test_findings import painted, raise_it
from tests.readers import refusing

DIGITS = "0123"
RED = FinishChoice(system=System.SINGLE, colour="R3020-G", gloss=Gloss.GLOSS)
EMBER = FinishChoice(system=System.BASE_CLEAR, colour="EMBER-S", gloss=Gloss.SATIN)


def change(unit, job, choice=RED, key="A", **more) -> None:
    told = {
        "read": weigh_finish(unit, job.token, key, choice).read if "read" not in more else "",
        "digits": DIGITS,
        "expected_event_id": last_event_id(unit, job),
        "once_token": a_token(),
        **more,
    }
    change_finish(unit, job.token, key, choice, **told)


def total(unit, job) -> int:
    with unit.read() as session:
        return account_of(session, job.job_id).total.minor


def colours(unit, job) -> set[str]:
    with unit.read() as session:
        parts = [session.get_one(Part, one) for one in job.part_ids]
        return {read_card(one.work).colour for one in parts}


@pytest.mark.postgres
def test_the_order_the_cards_and_the_account_follow_what_was_told(unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    told = weigh_finish(unit, job.token, "A", EMBER)
    assert told.amount.minor == sum(one.amount.minor for one in told.lines) > 0
    change(unit, job, EMBER)
    assert (total(unit, job), colours(unit, job)) == (told.total.minor, {"Ember bronze"})
    with unit.read() as session:
        assert session.get_one(Job, job.job_id).promise_at == told.ready_at
    (event,) = events(unit, job, "finish")
    assert event.person_id is None


def test_pressing_twice_is_one_change_and_another_press_a_second_one(unit) -> None:
    job = a_booked_job(unit)
    press = {"once_token": a_token(), "expected_event_id": last_event_id(unit, job)}
    press["read"] = weigh_finish(unit, job.token, "A", EMBER).read
    for _ in range(2):
        change(unit, job, EMBER, **press)
    assert len(events(unit, job, "finish")) == 1
    with refusing(Refused, "This is what you have ordered."):
        weigh_finish(unit, job.token, "A", EMBER)


def test_a_guesser_of_digits_changes_nothing(unit) -> None:
    job = a_booked_job(unit)
    before = total(unit, job)
    for digits, says in (("9999", "These aren't the last four digits"), ("12", "last four digits")):
        with refusing(Refused, says):
            change(unit, job, EMBER, digits=digits)
    assert (total(unit, job), events(unit, job, "finish")) == (before, [])


def test_another_price_than_was_read_and_an_older_page_are_told(unit) -> None:
    job = a_booked_job(unit)
    with refusing(Overtaken, "The price or the date has changed."):
        change(unit, job, EMBER, read="1.20200101T0900")
    seen, read = last_event_id(unit, job), weigh_finish(unit, job.token, "A", EMBER).read
    change(unit, job, RED)
    with refusing(Overtaken, "Someone changed this in the meantime: the customer changed"):
        change(unit, job, EMBER, expected_event_id=seen, read=read)


def test_it_ends_where_the_booth_begins_and_the_other_set_goes_on(unit) -> None:
    job = a_job_at(unit, PartStage.COAT, WHEELS)
    with refusing(Refused, "It is too late to change this here."):
        weigh_finish(unit, job.token, "A", RED)
    before = a_job_at(unit, PartStage.BLAST, WHEELS, first_tag=201)
    scan_part(unit, "201", PartStage.COAT, scan_id="one", who=None)
    assert finish_change(unit, before.token).sets == ()
    two = a_job_in_work(unit, WHEELS, {**TWO_COATS, "key": "B", "count": 1}, first_tag=301)
    assert [one.own.key for one in finish_change(unit, two.token).sets] == ["A", "B"]


def test_the_scan_into_the_booth_hears_of_the_new_colour(unit) -> None:
    job = a_job_at(unit, PartStage.BLAST, WHEELS)
    change(unit, job, RED)
    moved = scan_part(unit, "101", PartStage.COAT, scan_id="one", who=None)
    assert "The customer changed the finish: now {colour}." in str(moved.says.values)


def test_the_page_of_before_a_scan_is_overtaken_by_it(unit) -> None:
    job = a_job_at(unit, PartStage.BLAST, WHEELS)
    seen, read = last_event_id(unit, job), weigh_finish(unit, job.token, "A", EMBER).read
    scan_part(unit, "104", PartStage.COAT, scan_id="one", who=None)
    with refusing(Refused, "It is too late to change this here."):
        change(unit, job, EMBER, expected_event_id=seen, read=read)


def test_an_open_question_and_a_colour_from_samples_come_first(unit) -> None:
    asked = a_job_in_work(unit)
    raise_it(unit, asked, painted(unit, asked, 1, 2))
    assert finish_change(unit, asked.token).waits
    with refusing(Refused, "Answer our question about your parts first."):
        weigh_finish(unit, asked.token, "A", RED)
    left = {**WHEELS, "finish": {"system": "single", "gloss": "satin", "decide_from_sample": True}}
    assert finish_change(unit, a_booked_job(unit, left).token).sets == ()


def test_what_cannot_be_made_is_refused(unit) -> None:
    job = a_booked_job(unit)
    for choice in (replace(RED, colour="NONE"), replace(RED, gloss=Gloss.MATT)):
        with refusing(Refused, "We can't make this colour"):
            weigh_finish(unit, job.token, "A", choice)


def test_the_shops_rules_say_until_when_and_at_what_cost(unit, monkeypatch) -> None:
    booked, here = a_booked_job(unit), a_job_in_work(unit)
    free = weigh_finish(unit, booked.token, "A", RED).total.minor
    with unit.read() as session:
        shop = unit.shop(session)
    dear = replace(
        shop,
        tariff=replace(shop.tariff, finish_change=1_500),
        changes=ChangeRules(finish_until=FinishUntil.DROP_OFF),
    )
    monkeypatch.setattr(type(unit), "shop", lambda *_args, **_at: dear)
    assert weigh_finish(unit, booked.token, "A", RED).total.minor == free + 1_500
    change(unit, booked, RED)
    assert total(unit, booked) == free + 1_500
    assert finish_change(unit, here.token).sets == ()
