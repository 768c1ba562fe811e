"""What a customer does by the link after booking, on a phone, with and without script."""

import re
from datetime import timedelta

import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.orders.counter.hand_back import HandBack, hand_back, make_ready
from portal.orders.kernel.ledger import account_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.shop.states import PaymentMethod
from portal.store.tables import Move
from tests.browser.turns import press, unfold
from tests.factories import (
    TWO_COATS,
    a_booked_job,
    a_job_at,
    a_token,
    last_event_id,
    state,
)

pytestmark = pytest.mark.browser
DIGITS = "Last four digits of your phone number"


@pytest.mark.parametrize("js", [True, False], ids=["script", "no script"])
def test_the_life_of_an_order_by_its_link(live, unit, pictures, js) -> None:
    page = live.person("phone", js=js)
    _while_booked(page, unit, pictures, js=js)
    _when_ready(page, unit, pictures)


def _while_booked(page: Page, unit, pictures, *, js: bool) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    page.goto(f"/J/{job.token}")
    _choose(page, "Another drop-off time")
    page.locator("input[name=slot]").nth(2).check(force=True)
    press(page.get_by_role("button", name="Take this time"))
    expect(page.locator(".flash")).to_contain_text("Your drop-off is now on")
    _choose(page, "Another colour or finish")
    pictures(page, f"finish-{js}")
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
    _choose(page, "Cancel the order")
    press(page.get_by_role("button", name="Cancel the order"))
    assert state(unit, job) is JobState.CALLED_OFF
    with unit.read() as session:
        made = session.scalars(sa.select(Move.verb).where(Move.job_id == job.job_id)).all()
    assert made == ["reschedule", "finish", "may_fetch", "contact", "call_off"]


def _choose(page: Page, name: str) -> None:
    """Open the fold of what can be changed, and follow one of its links."""
    unfold(page, "Change, cancel or ask")
    press(page.get_by_role("link", name=name))


def _when_ready(page: Page, unit, pictures) -> None:
    job = a_job_at(unit, PartStage.DONE, TWO_COATS)
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
