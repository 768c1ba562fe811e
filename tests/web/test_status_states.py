"""The status page says one state in one sentence, what to do next, and who made it late."""

from datetime import timedelta

import pytest

from portal.orders.counter import cancellation
from portal.orders.counter.finding_answers import answer_finding
from portal.orders.customer.status_view import status
from portal.shop.codes import shown as grouped
from portal.shop.route import PartStage
from portal.shop.states import AnsweredHow
from portal.store.tables import Job
from tests.factories import PAINTED, a_booked_job, a_job_at, a_job_in_work
from tests.orders.test_findings import painted, raise_it
from tests.orders.test_preparing import ON_TYRES
from tests.page import page_of, words
from tests.rows import forecast_of
from tests.web.test_status_page import a_job_at_home, a_job_with_a_finding, a_ready_job


def page(client, job):
    return page_of(client.get(f"/J/{job.token}"))


def first_action(page):
    """Return the first button or button-like link of the page."""
    found = [e for e in page.one("main").iter() if "button" in (e.get("class") or "").split()]
    return words(found[0]) if found else ""


def _not_brought(unit):
    job = a_booked_job(unit, dropoff=timedelta(hours=-2))
    cancellation.mark_no_show(unit, job.job_id, who=None)
    return job


STATES = {
    "to take off": (
        lambda unit: a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=1)),
        "Bring your parts on Tuesday 2 June",
        "What to take off",
    ),
    "bare": (
        lambda unit: a_booked_job(unit, {**PAINTED, "fitted": []}, dropoff=timedelta(days=1)),
        "Bring your parts on Tuesday 2 June",
        "Your slip",
    ),
    "the hour has passed": (
        lambda unit: a_booked_job(unit, dropoff=timedelta(hours=-2)),
        "We expected your parts on Monday 1 June",
        "Another drop-off time",
    ),
    "not brought": (_not_brought, "You didn't bring your parts", "Another drop-off time"),
    "question": (a_job_with_a_finding, "We need your answer", "Go ahead: £46.00 more"),
    "in work": (a_job_in_work, "We are working on your parts", ""),
    "ready": (a_ready_job, "Your parts are ready", "Show the pickup code"),
    "collected": (a_job_at_home, "You have collected your parts", "Something is wrong"),
}


@pytest.mark.parametrize(("make", "heading", "action"), STATES.values(), ids=STATES)
def test_a_state_is_one_sentence_and_the_next_thing_to_do_comes_first(
    client, unit, make, heading, action
) -> None:
    shown = page(client, make(unit))
    assert words(shown.one("h1")) == heading
    assert first_action(shown) == action


@pytest.mark.parametrize("make", [STATES["the hour has passed"][0], _not_brought])
def test_parts_that_were_not_brought_are_late_by_nobody_of_ours(client, unit, make) -> None:
    job = make(unit)
    unit.write(
        lambda s: forecast_of(s, job.job_id, status(unit, job.token).promise_at + timedelta(days=5))
    )
    shown = page(client, job)
    assert "We promised Monday 8 June for parts that are brought on time." in shown.text
    assert not shown.all(data_kind="promise")
    assert "Later than promised" not in shown.text


@pytest.mark.parametrize(("days", "whose"), [(0, "We are late"), (3, "Work waited for your")])
def test_who_answered_late_is_told_so_and_nobody_else(client, unit, clock, days, whose) -> None:
    job = a_job_in_work(unit)
    finding = raise_it(unit, job, painted(unit, job, 1, 2))
    clock.advance(days=days)
    answer_finding(unit, job.job_id, finding, accepted=True, how=AnsweredHow.LINK, who=None)
    clock.advance(days=30)
    text = page(client, job).text
    assert "Later than promised" in text
    assert whose in text
    assert ("we are sorry" in text) == (days == 0)


def test_what_is_asked_after_the_promise_made_nothing_late(client, unit, clock) -> None:
    job = a_job_in_work(unit)
    clock.advance(days=10)
    finding = raise_it(unit, job, painted(unit, job, 1, 2))
    clock.advance(days=2)
    answer_finding(unit, job.job_id, finding, accepted=True, how=AnsweredHow.LINK, who=None)
    unit.write(lambda s: setattr(s.get_one(Job, job.job_id), "promise_at", _was(unit)))
    assert "We are late, and we are sorry." in page(client, job).text


def _was(unit):
    return unit.now() - timedelta(days=5)


def test_each_stop_of_the_rail_says_in_plain_words_what_is_done(client, unit) -> None:
    shown = page(client, a_job_at(unit, PartStage.BLAST, PAINTED))
    stops = [
        {one.get("class"): words(one) for one in stop.iter("span")}
        for stop in shown.one("ol", class_="rail").iter("li")
    ]
    plain = {one["rail-title"]: one["rail-plain"] for one in stops if "rail-plain" in one}
    assert plain == {
        "Prep": "Small parts off",
        "Strip": "Old paint off",
        "Blast": "Cleaned with grit",
        "Coat": "Powder baked on",
        "Inspect": "Every surface checked",
    }


def test_a_page_renews_itself_except_under_a_question(client, unit) -> None:
    asked, other = a_job_with_a_finding(unit), a_booked_job(unit)
    for job, renews in ((asked, False), (other, True)):
        shown = page(client, job)
        assert bool([e for e in shown.all("div") if e.get("data-refreshes") is not None]) is renews


def test_an_order_that_is_cancelled_says_so_and_leads_to_a_new_one(client, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    client.submit(client.get(f"/J/{job.token}/call-off"))
    shown = page(client, job)
    assert words(shown.one("h1")) == "Your order is cancelled"
    assert first_action(shown) == "Start a new order"
    assert not shown.all("aside")


@pytest.mark.parametrize(
    "typed",
    [grouped, str.lower, lambda t: grouped(t).replace("-", " "), lambda t: t.replace("O", "0")],
)
def test_a_link_may_be_typed_as_it_is_printed(client, unit, typed) -> None:
    job = a_booked_job(unit)
    unit.write(lambda s: setattr(s.get_one(Job, job.job_id), "token", "ABCDO" + job.token[5:]))
    shown = client.get(f"/J/{typed('ABCDO' + job.token[5:])}")
    assert shown.status_code == 200
