"""The counter's day, two people at once: a walk-in, a caller, money, a hand-back, the till."""

import re

import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.orders.counter import bags, hand_back
from portal.orders.kernel.ledger import account_of
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.browser.staff import enter, says
from tests.browser.tally import Tally
from tests.browser.turns import press, turned
from tests.cast import COUNTER, OFFICE
from tests.factories import a_booked_job, a_job_at, state

pytestmark = pytest.mark.browser


@pytest.fixture
def two(live) -> tuple[Tally, Tally]:
    """Two people at two desks."""
    first, second = (enter(live.person("desktop"), who) for who in (COUNTER, OFFICE))
    return Tally(first), Tally(second)


def order(hands: Tally, name: str, phone: str) -> None:
    """Enter what every order needs: four bare cast wheels in one colour."""
    page = hands.page
    page.goto("/counter/new-order")
    hands.presses += 1  # "New order" in the head of the page
    hands.write("#name", name)
    hands.write("#phone", phone)
    hands.write("#A-size", "8Jx18 ET35")
    page.locator("#A-build-0").select_option("cast")
    hands.pick("#A-layers-8")
    hands.pick("#A-on-2")
    hands.write("#A-near", "R9005-S")
    hands.keys, hands.answers = hands.keys + 1, hands.answers + 1


def agree(hands: Tally, then: str) -> None:
    """Read price and day out, and take the order in; `then` is the page that tells so."""
    hands.key("Control+Enter")
    expect(hands.page.locator("#confirmed")).to_be_focused()
    expect(hands.page.locator("html:not([data-lives=asking])")).to_be_attached()
    hands.key("Space")
    hands.answers += 1
    hands.key("Control+Enter")
    hands.heading(then)


def test_a_walk_in_and_a_caller_at_once(two, unit, pictures) -> None:
    here, call = two
    order(here, "Robin Sample", "07700 900123")
    order(call, "Sam Sample", "07700 900456")
    call.pick("#when-1")
    wanted = call.page.locator("#needed_by")
    with unit.read() as session:
        day = unit.shop(session).day(unit.now())
    wanted.fill(f"{day.replace(day=day.day + 1):%Y-%m-%d}")
    call.key("Tab")
    expect(call.page.get_by_text("No free time is ready by then")).to_be_visible()
    wanted.fill(f"{day.replace(day=28):%Y-%m-%d}")
    call.key("Tab")
    expect(call.page.get_by_text("No free time is ready by then")).to_have_count(0)
    slot = call.page.locator("#slot")
    slot.select_option(index=1)
    call.keys, call.answers = call.keys + 2, call.answers + 1
    pictures(call.page, "caller")
    agree(here, "Taken in")
    here.tell("walk-in taken in")
    assert here.seconds <= 60
    here.press(here.page.get_by_role("link", name="Tag the parts"))
    for tag in ("101", "102", "103", "104"):
        here.scan(tag)
        says(here.page, tag)
    before = here.presses
    here.press(here.page.get_by_role("button", name="Receive").first)
    expect(here.page.get_by_text("Received. Work has started.")).to_be_visible()
    here.tell("walk-in to work begun")
    assert here.presses - before <= 2
    agree(call, "Booked")
    call.tell("a caller")
    with unit.read() as session:
        found = session.execute(sa.select(Job.state, Job.needed_by).order_by(Job.id)).all()
    assert {one.state for one in found} == {JobState.IN_WORK, JobState.BOOKED}
    assert [one.needed_by for one in found if one.needed_by] == [day.replace(day=28)]


def owed(unit, job) -> int:
    with unit.read() as session:
        return account_of(session, job.job_id).owed.minor


def amount(minor: int) -> str:
    return f"{minor // 100}.{minor % 100:02}"


def test_a_wrong_payment_is_put_right_and_the_day_closes_with_the_sum(two, unit, pictures) -> None:
    job = a_booked_job(unit)
    at, boss = two
    page, sum_ = at.page, owed(unit, job)
    page.goto(f"/counter/job/{job.code}/pay")
    field = page.locator("#amount")
    first = page.locator(".sum-buttons button").first
    # the buttons say what stands in the field, and Enter goes to the first of them
    field.fill(str(sum_))
    expect(first).to_have_text(re.compile(rf"^£{sum_:,} by card$"))
    field.fill("1.234")
    expect(first).to_have_text("… by card")
    at.write("#amount", str(sum_))
    at.key("Enter")
    expect(first).to_be_focused()
    assert owed(unit, job) == sum_
    at.press(page.get_by_role("button", name=f"£{sum_:,} in cash"))
    expect(page.locator("#amount-wrong")).to_contain_text("Correct the amount, or confirm")
    assert owed(unit, job) == sum_
    pictures(page, "asked-back")
    at.press(page.get_by_role("button", name=f"£{sum_:,} in cash"))
    assert owed(unit, job) == sum_ - sum_ * 100
    # a hundred times too much was confirmed: whoever took it puts it right
    page.goto(f"/counter/job/{job.code}")
    at.press(page.get_by_role("link", name="Reverse").first)
    at.write("#reason", "two noughts too many")
    at.press(page.locator("main form button[type=submit]").first)
    assert owed(unit, job) == sum_
    page.goto(f"/counter/job/{job.code}/pay")
    at.write("#amount", amount(sum_))
    at.press(page.get_by_role("button", name="in cash"))
    assert owed(unit, job) == 0
    at.tell("a wrong payment put right")
    _close(boss, sum_, page, pictures)


def _close(boss: Tally, sum_: int, other: Page, pictures) -> None:
    """The office counts and closes while the counter looks at the same till."""
    other.goto("/counter/till")
    boss.page.goto("/counter/till")
    boss.write("#opening", "100.00")
    boss.write("#counted", amount(10_000 + sum_))
    boss.press(boss.page.get_by_role("button", name="Close the till"))
    boss.heading("Till closing 1")
    facts = boss.page.locator("dl").first
    expect(facts).to_contain_text(f"{(10_000 + sum_) / 100:,.2f}")
    expect(facts.locator("div").filter(has_text="Difference")).to_contain_text("£0.00")
    boss.tell("a day closed")
    pictures(boss.page, "closed")
    # who counted the same money at the same time is told
    other.locator("#opening").fill("100.00")
    other.locator("#counted").fill(amount(10_000 + sum_))
    press(other.get_by_role("button", name="Close the till"))
    expect(other.locator(".wrongs")).to_be_visible()


def test_a_hand_back_with_the_code_in_the_wrong_field(two, unit, pictures) -> None:
    job = a_job_at(unit, PartStage.DONE)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    hand_back.make_ready(unit, job.job_id, who=None)
    at, other = two
    with unit.read() as session:
        code = session.get(Job, job.job_id).pickup_code
    other.page.goto(f"/counter/job/{job.code}/hand-back")
    at.scan(job.code)
    at.page.wait_for_url("**/hand-back")
    at.scan(code)  # into the field for tags: it goes where it belongs
    expect(at.page.locator("#pickup_code")).to_have_value(code)
    at.page.locator("#pickup_code").fill("")
    # what comes while a name's field has the focus goes where it belongs, and records nothing
    for typed, field, value in ((code, "#pickup_code", code), ("101", "#parts-0", "1")):
        at.page.locator("#collector").fill(typed)
        with turned(at.page):
            at.page.keyboard.press("Enter")
        at.scans += 1
        expect(at.page.locator(field)).to_have_value(value)
        expect(at.page.locator("#collector")).to_have_value("")
    expect(at.page.locator("#parts-0")).to_be_checked()
    assert state(unit, job) is JobState.READY
    for tag in ("102", "103", "104", f"{job.code}-B1"):
        at.scan(tag)
    expect(at.page.locator("output[data-count=bags]")).to_have_text("1/1")
    pictures(at.page, "counted")
    at.press(at.page.locator(".bar").get_by_role("button", name="hand back").first)
    expect(at.page.locator(".wrongs")).to_have_count(0)
    says(at.page, "Handed back.")
    assert state(unit, job) is JobState.HANDED_BACK
    at.tell("hand-back")
    assert at.presses <= 2
    # the second desk is told, and nothing is paid twice
    other.page.locator("#pickup_code").fill(code)
    press(other.page.locator(".bar").get_by_role("button", name="hand back").first)
    assert owed(unit, job) == 0
