"""The page behind the link: where the job is, and nothing about whose it is."""

import re
from datetime import timedelta

import pytest

from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.customer.status_view import status
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.jobs import Job
from tests.cast import COUNTER, sign_in
from tests.factories import (
    PAINTED,
    TWO_COATS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    a_token,
    bring_to,
    last_event_id,
    state,
)
from tests.orders.test_findings import painted, raise_it
from tests.page import page_of

DIGITS = "0123"
PRIVATE = ("Robin", "Sample", "robin@example.com", "7700900123", "900123", "Brown estate", "ZZ99")


def shown(client, job):
    answer = client.get(f"/J/{job.token}")
    assert answer.status_code == 200
    return page_of(answer)


def heading(page):
    return "".join(page.one("h1").itertext()).strip()


def a_ready_job(unit):
    job = a_job_at(unit, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    return job


def a_job_at_home(unit):
    job = a_ready_job(unit)
    given = HandBack(
        job.pickup_code,
        [1, 2, 3, 4],
        [],
        status(unit, job.token).balance.to_pay.minor,
        PaymentMethod.CARD,
    )
    hand_back(
        unit,
        job.job_id,
        given,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )
    return job


def a_job_with_a_finding(unit):
    job = a_job_in_work(unit)
    raise_it(unit, job, painted(unit, job, 1, 2))
    return job


STAGES = {
    "booked": lambda unit: a_booked_job(unit, PAINTED, name="Robin Sample", vehicle="Brown estate"),
    "in work": lambda unit: a_job_at(unit, PartStage.CURE, TWO_COATS),
    "with a finding": a_job_with_a_finding,
    "ready": a_ready_job,
    "at home": a_job_at_home,
}


@pytest.mark.parametrize("stage", STAGES)
def test_a_page_tells_nothing_about_whose_job_it_is(client, unit, stage):
    job = STAGES[stage](unit)
    for path in ("", "/price", "/slip"):
        html = client.get(f"/J/{job.token}{path}").get_data(as_text=True)
        assert job.code[:4] in html
        # the counter's strip of the slip bears the name, and nothing else of the customer
        html = re.sub(r'<p class="who">.*?</p>', "", html) if path == "/slip" else html
        for private in PRIVATE:
            assert private not in html


@pytest.mark.parametrize("stage", STAGES)
def test_a_page_is_kept_nowhere_and_listed_nowhere(client, unit, stage):
    job = STAGES[stage](unit)
    for _ in range(2):  # the second one may come off the shelf of kept pages
        headers = client.get(f"/J/{job.token}").headers
        assert headers["Cache-Control"] == "no-store"
        assert "noindex" in headers["X-Robots-Tag"]
        assert headers["Referrer-Policy"] == "no-referrer"


def test_a_booked_job_leads_to_its_slip(client, unit):
    job = a_booked_job(unit, dropoff=timedelta(days=1))
    page = shown(client, job)
    assert heading(page) == "Bring your parts on Tuesday 2 June"
    links = {a.get("href") for a in page.all("a")}
    for path in ("slip", "slip.pdf", "drop-off.ics"):
        assert f"/J/{job.token}/{path}" in links


def test_the_promise_stands_there_with_its_weekday(client, unit):
    page = shown(client, a_job_in_work(unit))
    assert "PromisedMonday 8 June, 09:00" in page.text


@pytest.mark.parametrize(("days", "told"), [(2, True), (-2, False)])
def test_the_first_promise_is_recalled_only_where_the_new_one_is_later(client, unit, days, told):
    job = a_booked_job(unit)

    def work(session):
        session.get_one(Job, job.job_id).promise_at += timedelta(days=days)

    unit.write(work)
    assert ("Before your order changed" in shown(client, job).text) is told


def test_a_job_in_work_shows_its_rail_with_the_present_stop(client, unit):
    page = shown(client, a_job_at(unit, PartStage.CURE, TWO_COATS))
    (now,) = page.all("li", aria_current="step")
    assert "First coat" in "".join(now.itertext())
    assert heading(page) == "We are working on your parts"


def test_a_ready_job_shows_code_hours_and_what_to_bring(client, unit):
    job = a_ready_job(unit)
    text = shown(client, job).text
    assert "Show the pickup code" in text
    assert "Monday 1 June: 08:00–17:30" in text
    assert "£302" in text
    assert "Space for 4 parts" in text


@pytest.mark.parametrize("make", [a_booked_job, a_ready_job, a_job_at_home])
def test_no_link_alone_shows_a_pickup_code(client, unit, make):
    job = make(unit)
    assert job.pickup_code not in shown(client, job).text


def test_a_job_at_home_shows_how_to_fit_safely(client, unit):
    text = shown(client, a_job_at_home(unit)).text
    assert "If the vehicle's handbook says something else," in text
    assert "Check before you fit" in text
    assert "N·m" not in text  # the torque stands in the vehicle's handbook


def test_the_page_follows_every_move(client, unit):
    job = a_job_in_work(unit)
    before = shown(client, job).text
    assert shown(client, job).text == before
    bring_to(unit, job, PartStage.BLAST)
    assert shown(client, job).text != before


def test_each_line_of_the_price_is_one_link_away(client, unit):
    job = a_booked_job(unit, PAINTED)
    page = page_of(client.get(f"/J/{job.token}/price"))
    assert "Chemical stripping at a partner company" in page.text


@pytest.mark.parametrize("link", ["A" * 26, "short", "a" * 26, "%F0%9F%9B%9E", "..%2f..%2fetc"])
def test_a_link_to_nothing_is_the_same_page_whatever_it_was(client, link):
    answer = client.get(f"/J/{link}")
    assert answer.status_code == 404
    if "%2f" not in link:
        assert "find a job for this link" in answer.get_data(as_text=True)


def test_a_link_that_is_over_looks_like_one_that_never_was(client, unit, clock):
    job = a_job_at_home(unit)
    clock.advance(days=31)
    over, never = client.get(f"/J/{job.token}"), client.get(f"/J/{'A' * 26}")
    assert over.status_code == never.status_code == 404
    assert page_of(over).text == page_of(never).text


def test_lower_case_is_read_too(client, unit):
    job = a_booked_job(unit)
    for path in (f"/J/{job.token.lower()}", f"/j/{job.token.lower()}"):
        page = page_of(client.get(path))
        assert f"/J/{job.token}/slip" in {a.get("href") for a in page.all("a")}


def test_staff_who_scan_the_code_are_taken_to_the_job(app, unit):
    job = a_booked_job(unit)
    staff = sign_in(app, app.test_client(), COUNTER)
    answer = staff.get(f"/J/{job.token}")
    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/counter/job/{job.code}"
    assert staff.get(f"/J/{'A' * 26}").status_code == 404


# ---- findings


def test_a_finding_is_answered_on_the_page(client, unit):
    job = a_job_with_a_finding(unit)
    page = client.get(f"/J/{job.token}")
    assert heading(page_of(page)) == "We need your answer"
    answer = client.submit(page, digits=DIGITS, yes="1")
    assert answer.status_code == 303
    after = page_of(client.get(answer.headers["Location"]))
    assert "Thank you. We'll go on with the work." in after.text
    assert "you said yes" in after.text
    assert state(unit, job) is JobState.IN_WORK
    # the thanks are said once
    assert "Thank you" not in shown(client, job).text


def test_a_no_is_taken_as_well(client, unit):
    job = a_job_with_a_finding(unit)
    page = client.get(f"/J/{job.token}")
    client.submit(page, digits=DIGITS, no="1")
    assert "you said no" in shown(client, job).text


@pytest.mark.parametrize(
    ("digits", "words"),
    [
        ("", "last four digits"),
        ("12", "last four digits"),
        ("9999", "These aren't the last four digits of the phone"),
    ],
)
def test_wrong_digits_are_said_beside_the_field_and_nothing_is_lost(client, unit, digits, words):
    job = a_job_with_a_finding(unit)
    page = client.get(f"/J/{job.token}")
    answer = client.submit(page, digits=digits, yes="1")
    assert answer.status_code == 422
    wrong = page_of(answer)
    assert words in "".join(wrong.one("p", class_="wrong").itertext())
    assert wrong.one("input", id_="digits").get("value", "") == digits
    assert state(unit, job) is JobState.WAITING


def test_a_form_without_its_token_changes_nothing(client, unit):
    job = a_job_with_a_finding(unit)
    sent = {"digits": DIGITS, "yes": "1"}
    assert client.post(f"/J/{job.token}/answer", data=sent).status_code == 400
    assert state(unit, job) is JobState.WAITING


def test_opening_a_page_changes_nothing(client, unit):
    # mail and chat programs fetch links ahead of people
    job = a_job_with_a_finding(unit)
    before = last_event_id(unit, job)
    for path in ("", "/price", "/slip", "/tags", "/drop-off.ics", "/answer"):
        client.get(f"/J/{job.token}{path}")
    assert last_event_id(unit, job) == before
    assert state(unit, job) is JobState.WAITING
