"""What a customer does by the link after booking, on a phone, with and without script."""

import re
from datetime import timedelta

import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.orders.counter import thread_answers
from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.threads import talks_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, Move
from tests.browser.turns import press, unfold
from tests.factories import (
    TWO_COATS,
    Booked,
    a_booked_job,
    a_job_at,
    a_token,
    bring_to,
    last_event_id,
    pass_checks,
    state,
    take_in,
)
from tests.orders.test_findings import painted, raise_it
from tests.orders.test_preparing import ON_TYRES

pytestmark = pytest.mark.browser
DIGITS = "Last four digits of your phone number"
BY_THE_LINK = ["reschedule", "finish", "may_fetch", "contact", "settle", "hand_over"]


@pytest.mark.parametrize("js", [True, False], ids=["script", "no script"])
def test_the_life_of_an_order_by_its_link(live, unit, pictures, js) -> None:
    page = live.person("phone", js=js)
    job = a_booked_job(unit, ON_TYRES, dropoff=timedelta(days=3))
    _changes(page, job, pictures, js=js)
    _asks(page, unit, job)
    _prepares(page, job)
    _brings(live.clock, unit, job)
    _answers(page, unit, job, pictures)
    _when_ready(page, unit, job, pictures)
    with unit.read() as session:
        made = session.scalars(sa.select(Move.verb).where(Move.job_id == job.job_id)).all()
    told = [verb for verb in BY_THE_LINK if verb in made]
    assert told == BY_THE_LINK


def _changes(page: Page, job: Booked, pictures, *, js: bool) -> None:
    page.goto(f"/J/{job.token}")
    _choose(page, "Another drop-off time")
    page.locator("input[name=slot]").nth(2).check(force=True)
    press(page.get_by_role("button", name="Take this time"))
    expect(page.locator(".flash")).to_contain_text("Your drop-off is now on")
    _choose(page, "Another colour or finish")
    page.locator("input[name=colour][value=EMBER-S]").check(force=True)
    page.locator("input[name=system][value=base_clear]").check(force=True)
    press(page.get_by_role("button", name="Work out price and date"))
    expect(page.locator(".weighed")).to_contain_text("New total")
    pictures(page, f"finish-priced-{js}")
    page.get_by_label(DIGITS).fill("9999")
    press(page.get_by_role("button", name=re.compile("^Change my order")))
    expect(page.locator("main")).to_contain_text("These aren't the last four digits")
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name=re.compile("^Change my order")))
    expect(page.locator(".flash")).to_contain_text("Your order is changed.")
    _choose(page, "Who else may fetch the parts?")
    page.get_by_label("Name of the person").fill("Kim Sample")
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name="Save"))
    _choose(page, "Contact details and language")
    pictures(page, f"contact-{js}")
    page.get_by_label("New e-mail address").fill("new@example.com")
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name="Save", exact=True))


def _asks(page: Page, unit, job: Booked) -> None:
    _choose(page, "Ask us a question")
    page.locator("textarea").fill("May I watch?")
    press(page.get_by_role("button", name="Send the question"))
    with unit.read() as session:
        talk = talks_of(session, job.job_id)[0]
    thread_answers.answer(
        unit, talk.id, "Yes, on Friday.", last_entry_id=talk.last_id, once_token=a_token(), who=None
    )
    page.goto(f"/J/{job.token}")
    press(page.get_by_role("link", name="Read our answer"))
    expect(page.locator(".talk")).to_contain_text("Yes, on Friday.")


def _prepares(page: Page, job: Booked) -> None:
    page.goto(f"/J/{job.token}")
    press(page.get_by_role("link", name="What to take off"))
    press(page.locator("#task-A-tyre").get_by_role("link", name="I couldn't"))
    expect(page.locator("main")).to_contain_text("New total")
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name="Leave it to us"))
    page.get_by_label("Off: Centre cap").check()
    press(page.get_by_role("button", name="Save what is off"))
    expect(page.locator(".flash")).to_contain_text("Everything is off")


def _brings(clock, unit, job: Booked) -> None:
    with unit.read() as session:
        clock.set(session.get_one(Job, job.job_id).dropoff_at)
    take_in(unit, job)


def _answers(page: Page, unit, job: Booked, pictures) -> None:
    """A question comes while the page is open; the page that is open never changes under it."""
    raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    page.goto(f"/J/{job.token}")
    expect(page.locator("h1")).to_have_text("We need your answer")
    pictures(page, "question")
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name=re.compile("^Go ahead")))
    expect(page.locator("h1")).to_have_text("We are working on your parts")
    expect(page.locator("main")).to_contain_text("you said yes")


def test_an_order_is_called_off_and_two_tabs_are_told(live, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    page = live.person("phone")
    other = page.context.new_page()
    page.goto(f"/J/{job.token}/call-off")
    other.goto(f"/J/{job.token}/time")
    other.locator("input[name=slot]").nth(2).check(force=True)
    press(page.get_by_role("button", name="Cancel the order"))
    expect(page.locator("h1")).to_have_text("Your order is cancelled")
    press(other.get_by_role("button", name="Take this time"))
    expect(other.locator("main")).not_to_contain_text("Your drop-off is now on")
    assert state(unit, job) is JobState.CALLED_OFF


def test_a_page_that_lies_open_renews_itself(live, unit, clock) -> None:
    job = a_job_at(unit, PartStage.DONE, TWO_COATS)
    page = live.person("phone")
    page.clock.install()
    page.goto(f"/J/{job.token}")
    expect(page.locator("h1")).to_have_text("We are working on your parts")
    make_ready(unit, job.job_id, who=None)
    with page.expect_response("**/quiet_refresh.js"):
        page.clock.run_for(6_000)
    page.wait_for_load_state("networkidle")
    page.clock.run_for(70_000)
    expect(page.locator("h1")).to_have_text("Your parts are ready")
    expect(page).to_have_title(re.compile("Your parts are ready"))


def _choose(page: Page, name: str) -> None:
    """Open the fold of what can be changed, and follow one of its links."""
    unfold(page, "Change, cancel or ask")
    press(page.get_by_role("link", name=name))


def _when_ready(page: Page, unit, job: Booked, pictures) -> None:
    pass_checks(unit, job)
    bring_to(unit, job, PartStage.DONE)
    make_ready(unit, job.job_id, who=None)
    page.goto(f"/J/{job.token}")
    pictures(page, "ready")
    press(page.get_by_role("link", name="Say when you will come"))
    page.locator("input[name=slot]").nth(1).check(force=True)
    press(page.get_by_role("button", name="Save this time"))
    press(page.get_by_role("link", name="Show the pickup code"))
    page.get_by_label(DIGITS).fill("0123")
    press(page.get_by_role("button", name="Show the code"))
    expect(page.locator(".pickup")).to_contain_text(job.pickup_code)
    pictures(page, "ready-with-code")
    _bring_home(unit, job)
    page.goto(f"/J/{job.token}")
    pictures(page, "home")
    press(page.get_by_role("link", name="Record of the parts, to hand on"))
    press(page.get_by_role("button", name="Make the link"))
    pictures(page, "record")
    handed_on = page.locator("#hand-on a").inner_text()
    page.goto("/record/" + handed_on.rpartition("/")[2])
    expect(page.locator("main")).not_to_contain_text("Robin")
    page.goto(f"/J/{job.token}")
    press(page.get_by_role("link", name="Something is wrong"))
    page.get_by_label("What is wrong?").fill("The coating chips at the rim.")
    press(page.get_by_role("button", name="Send this to us"))
    expect(page.locator(".talk")).to_contain_text("The coating chips")
    pictures(page, "wrong")
    page.goto(f"/J/{job.token}")
    press(page.get_by_role("link", name="The same again"))
    # this browser has given the digits before
    expect(page.locator("main")).to_contain_text("Your contact details come along.")
    press(page.get_by_role("button", name="Begin the new order"))
    expect(page).to_have_url(re.compile(r"/o/[A-Z2-7]{26}/on-them"))


def _bring_home(unit, job) -> None:
    with unit.read() as session:
        due = account_of(session, job.job_id).to_pay.minor
    given = HandBack(job.pickup_code, [1, 2, 3, 4], [], due, PaymentMethod.CARD)
    told = {"expected_event_id": last_event_id(unit, job), "once_token": a_token()}
    hand_back(unit, job.job_id, given, **told, who=None)
