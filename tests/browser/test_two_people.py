"""Two people at two devices: who may do what, whose name an event bears, and what each one sees."""

import re
from datetime import timedelta

import pyotp
import pytest
import sqlalchemy as sa
from playwright.sync_api import Page, expect

from portal.orders.access import my_account, second_factor
from portal.orders.counter import bags
from portal.orders.office.people import people
from portal.shop.moves import JobState
from portal.shop.route import PartStage
from portal.store.tables import Move, Person
from tests.browser.staff import enter, says, scan
from tests.browser.turns import press, turned, unfold
from tests.cast import COUNTER, FLOOR, OFFICE, Staff
from tests.factories import PAINTED, a_booked_job, a_job_at, a_job_in_work, events, stages, state

pytestmark = pytest.mark.browser


def number_of(unit, who: Staff) -> int:
    return next(one.person_id for one in people(unit) if one.login == who.login)


def try_the_door(page: Page, who: Staff, password: str = "") -> None:
    page.goto("/counter/sign-in")
    page.get_by_label("Your sign-in name").fill(who.login)
    page.get_by_label("Password").fill(password or who.password)
    press(page.get_by_role("button", name="Sign in"))


def test_a_locked_tablet_changes_hands_while_a_phone_goes_on(live, unit, phone, pictures) -> None:
    my_account.set_pin(unit, number_of(unit, OFFICE), password=OFFICE.password, pin="2580")
    job = a_job_in_work(unit)
    blast = "/counter/floor?at=blast"
    tablet = enter(live.person("desktop"), COUNTER, at=blast, shared="y")
    phone.goto(blast)
    scan(tablet, "101")
    says(tablet, "Tag 101")
    press(tablet.get_by_role("button", name="Lock"))
    expect(tablet.get_by_role("heading", name="Who are you?")).to_be_visible()
    # the other device knows nothing of it
    scan(phone, "102")
    says(phone, "Tag 102")
    # guessing a PIN is slow
    for _ in range(4):
        tablet.get_by_label("Your PIN").fill("1111")
        press(tablet.get_by_role("button", name="Unlock"))
    expect(tablet.get_by_text(re.compile("wait", re.IGNORECASE)).first).to_be_visible()
    pictures(tablet, "slowed")
    live.clock.advance(minutes=1)
    tablet.get_by_label("Your PIN").fill("2580")
    press(tablet.get_by_role("button", name="Unlock"))
    tablet.wait_for_url(f"**{blast}")
    scan(tablet, "103")
    says(tablet, "Tag 103")
    scan(phone, "103")
    says(phone, "already")
    with unit.read() as session:
        names = session.scalars(
            sa.select(Person.name)
            .join(Move, Move.person_id == Person.id)
            .where(Move.to == PartStage.BLAST)
            .order_by(Move.id)
        ).all()
    assert list(names) == [COUNTER.name, FLOOR.name, OFFICE.name]
    assert stages(unit, job).count(PartStage.BLAST) == 3
    # a PIN opens the counter, not the office
    tablet.goto("/office/")
    expect(tablet.get_by_text("For the office pages you need your password.")).to_be_visible()


def test_each_sees_what_their_role_opens_and_guessing_slows_the_guesser(
    live, unit, phone, desk
) -> None:
    for way, title in (("/counter/shelf", "Shelf"), ("/counter/tags", "Tags"), ("/office/", "")):
        assert phone.goto(way).status == 403
        expect(phone.get_by_role("heading", name="Shelf", exact=True)).to_have_count(0)
        assert desk.goto(way).status == 200
        expect(desk.get_by_role("heading", level=1)).to_contain_text(title)
    phone.goto("/counter/floor")
    expect(phone.get_by_role("link", name="Shelf", exact=True)).to_have_count(0)
    stranger = live.person("desktop")
    for _ in range(5):
        try_the_door(stranger, FLOOR, "not the password at all")
    try_the_door(stranger, FLOOR)
    expect(stranger.get_by_text(re.compile("wait", re.IGNORECASE)).first).to_be_visible()
    # whose name was guessed goes on, and comes in again on a device of their own
    phone.reload()
    expect(phone.get_by_role("link", name=FLOOR.name)).to_be_visible()
    phone.context.clear_cookies(name="staff")
    try_the_door(phone, FLOOR)
    phone.wait_for_url("**/counter/floor")
    # with a second factor one code opens one door
    secret = second_factor.new_secret(unit)
    code = pyotp.TOTP(secret)
    second_factor.switch_on(unit, number_of(unit, OFFICE), secret, code.at(live.clock.now()))
    live.clock.advance(minutes=1)
    for page in (desk, stranger):
        page.context.clear_cookies(name="staff")
        try_the_door(page, OFFICE)
        page.get_by_label("The six digits").fill(code.at(live.clock.now()))
        press(page.get_by_role("button", name="Continue"))
    desk.wait_for_url("**/counter/today")
    expect(stranger.get_by_text("was already used").first).to_be_visible()
    assert stranger.goto("/counter/floor").url.endswith("/counter/sign-in?next=/counter/floor")


def test_a_move_is_taken_back_and_what_the_other_did_meanwhile_stands(unit, phone, desk) -> None:
    job = a_job_in_work(unit)
    for page in (phone, desk):
        page.goto("/counter/floor?at=blast")
    scan(phone, "102")
    says(phone, "Prep → Blast")
    scan(desk, "101")
    says(desk, "Prep → Blast")
    desk.reload()
    expect(desk.locator("#at-blast .tag")).to_have_text(["101", "102"])
    press(phone.get_by_role("button", name=re.compile("Undo")))
    says(phone, "1 part back at Prep.")
    expect(phone.locator("#at-blast .tag")).to_have_text(["101"])
    # the next one has gone further by the time that the first takes it back
    scan(phone, "103")
    says(phone, "Tag 103")
    desk.goto("/counter/floor?at=coat")
    scan(desk, "103")
    says(desk, "Blast → Coat")
    press(phone.get_by_role("button", name=re.compile("Undo")))
    says(phone, "Someone else has moved this part since then.")
    assert stages(unit, job) == [
        PartStage.BLAST, PartStage.PREP, PartStage.COAT, PartStage.PREP,
    ]  # fmt: skip
    [undone] = events(unit, job, "undo")
    assert undone.person_id == number_of(unit, FLOOR)


def test_a_load_runs_once_and_is_closed_by_whoever_is_there(live, unit, phone, desk) -> None:
    job = a_job_at(unit, PartStage.CURE)
    for page in (phone, desk):
        page.goto("/counter/oven")
    # the floor scans what does not go in; the desk still has the whole proposal before it
    scan(phone, "104")
    phone.get_by_role("checkbox", name="104").uncheck(force=True)
    for page in (phone, desk):
        press(page.get_by_role("button", name="Start this load").first)
    expect(phone.get_by_role("heading", name="Load 1")).to_be_visible()
    expect(desk.locator("[role=status], .note").filter(has_text="load 1").first).to_be_visible()
    live.clock.advance(minutes=40)
    for page in (phone, desk):
        page.goto("/counter/oven")
    expect(desk.locator(".load .tag")).to_have_text(["101", "102", "103"])
    for page in (desk, phone):
        press(page.get_by_role("button", name="Close the load"))
    expect(phone.get_by_text("The oven is empty.")).to_be_visible()
    expect(desk.get_by_role("row").filter(has_text="101 102 103")).to_be_visible()
    assert stages(unit, job) == [*[PartStage.INSPECT] * 3, PartStage.CURE]


def test_who_is_late_who_came_and_what_is_not_brought_is_seen_by_both(unit, live, desk) -> None:
    late = a_booked_job(unit, name="Sam Sample", dropoff=timedelta(minutes=-45))
    due = a_booked_job(unit, name="Robin Sample")
    counter = enter(live.person("phone"), COUNTER)
    for page in (desk, counter):
        page.reload()
        expect(page.locator(".day-rows li").filter(has_text="Sam Sample")).to_contain_text("late")
        expect(page.locator(".day-rows li").filter(has_text="Robin Sample")).to_be_visible()
    # one is received at the desk while the phone strikes off the other
    scan(desk, due.code)
    desk.wait_for_url("**/check-in")
    press(desk.get_by_role("button", name="All 4 as declared"))
    expect(desk.get_by_role("button", name="Receive and start")).to_be_visible()
    for tag in ("101", "102", "103", "104"):
        scan(desk, tag)
        says(desk, f"Tag {tag}")
    press(desk.get_by_role("button", name="Receive and start"))
    says(desk, "Received.")
    scan(counter, "sam")
    press(counter.get_by_role("link", name="Sam Sample").first)
    counter.wait_for_url("**/check-in")
    # Back leads to what was found, and forward again
    counter.go_back()
    expect(counter.get_by_role("link", name="Robin Sample")).to_be_visible()
    press(counter.get_by_role("link", name="Sam Sample").first)
    counter.wait_for_url("**/check-in")
    unfold(counter, "Work must stop")
    press(counter.get_by_role("button", name="Not brought"))
    for page in (desk, counter):
        page.goto("/counter/today")
        expect(page.locator(".day-fold")).to_contain_text("Robin Sample")
        expect(page.locator("h3", has_text="Not brought").locator("+ ul")).to_contain_text(
            "Sam Sample"
        )
    assert state(unit, late) is JobState.NOT_BROUGHT


def test_what_differs_is_raised_at_the_desk_and_answered_by_the_link(
    live, unit, desk, tmp_path, pictures
) -> None:
    job = a_booked_job(unit, PAINTED)
    counter = enter(live.person("phone"), COUNTER, at=f"/counter/job/{job.code}/check-in")
    desk.goto(f"/counter/job/{job.code}/check-in")
    for n, tag in enumerate(("101", "102", "103", "104"), start=1):
        scan(counter, tag)
        says(counter, f"Tag {tag} is on part {n}")
    press(counter.get_by_role("button", name=re.compile(r"^\+ ")).first)
    press(desk.get_by_role("link", name="Several things differ"))
    desk.get_by_label("Powder coat").first.check(force=True)
    desk.get_by_label("Photo").set_input_files(a_photo(tmp_path))
    press(desk.get_by_role("button", name="Work out the price"))
    expect(desk.get_by_role("heading", name="What it changes")).to_be_visible()
    weighed = desk.get_by_role("status").filter(has_text="What it changes")
    expect(weighed).to_contain_text(re.compile(r"New total\s*£"))
    expect(weighed).to_contain_text(re.compile("New date|The date stays"))
    pictures(desk, "weighed")
    press(desk.get_by_role("button", name="Note it, ask about all later"))
    expect(desk.get_by_text("waiting for an answer")).to_be_visible()
    expect(desk.get_by_role("link", name="Photo of the finding")).to_be_visible()
    # the other one reloads, and can't start what waits for an answer
    counter.reload()
    expect(counter.get_by_text("waiting for an answer")).to_be_visible()
    customer = live.person("phone")
    customer.goto(f"/J/{job.token}")
    expect(customer.get_by_role("img", name="What we found")).to_be_visible()
    customer.get_by_label(re.compile("digits")).fill("0123")
    press(customer.get_by_role("button", name=re.compile("^Go ahead: ")))
    counter.reload()
    expect(counter.get_by_text("agreed", exact=True)).to_be_visible()


def test_the_shelf_is_searched_and_emptied_by_two(live, unit, desk, clock) -> None:
    job = a_job_at(unit, PartStage.DONE, name="Sam Sample", vehicle="Grey van")
    bags.add_bag(unit, job.job_id, "4 centre caps", who=None)
    counter = enter(live.person("phone"), COUNTER, at=f"/counter/job/{job.code}")
    # without its bag nothing goes onto the shelf
    desk.goto(f"/counter/job/{job.code}")
    press(desk.get_by_role("link", name="Lost B1"))
    desk.get_by_label("How it was lost").fill("not where it was")
    press(desk.get_by_role("button", name="Write it off"))
    press(counter.get_by_role("button", name="Ready: onto the shelf"))
    expect(counter.locator("[data-kind=stop]").filter(has_text="B1").first).to_be_visible()
    press(desk.get_by_role("button", name="Found"))
    counter.reload()  # a job that waits for an answer about its bag has no such button
    press(counter.get_by_role("button", name="Ready: onto the shelf"))
    expect(counter.get_by_text("Ready", exact=True).first).to_be_visible()
    clock.advance(days=8)
    desk.context.clear_cookies(name="staff")
    counter.context.clear_cookies(name="staff")
    enter(desk, OFFICE, at="/counter/shelf")
    expect(desk.locator(".jobs li").filter(has_text="Sam Sample")).to_contain_text("8 days")
    enter(counter, COUNTER, at="/counter/find")
    for words in ("sampl", "900123", "#0102", "grey v", job.code[:5].lower(), "jet black"):
        counter.goto("/counter/find")
        with turned(counter):
            scan(counter, words)
        expect(counter.locator("body")).to_contain_text("Sam Sample")
        assert "/counter/find" not in counter.url, words
    for page in (desk, counter):
        page.goto(f"/counter/job/{job.code}/hand-back")
        for tag in ("101", "102", "103", "104"):
            scan(page, tag)
        expect(page.locator("output[data-count=parts]")).to_have_text("4/4")
    # a bag that nobody counted holds the parts back
    desk.get_by_label("Pickup code").fill(job.pickup_code)
    press(desk.locator(".bar").get_by_role("button", name="hand back").first)
    expect(desk.get_by_text("Bags not counted: B1.").first).to_be_visible()
    counter.get_by_label("Handed to").fill("Ash")
    unfold(counter, "Without the code")
    counter.get_by_label("Reason for handing back without the code").fill(
        "Lost the letter; showed the slip"
    )
    for page in (counter, desk):
        page.locator("input[name=bags]").check(force=True)
        press(page.locator(".bar").get_by_role("button", name="hand back").first)
        expect(page.locator("main")).to_contain_text("Collected")
    assert len(events(unit, job, "hand_back")) == 1
    assert state(unit, job) is JobState.HANDED_BACK


def a_photo(folder):
    from PIL import Image

    path = folder / "found.jpg"
    Image.new("RGB", (640, 480), "grey").save(path, "JPEG")
    return path
