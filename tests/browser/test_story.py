"""The whole story, as customer, counter and customer again, on a phone and on a desk."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.story import Customer, Hand
from tests.browser.turns import press, unfold
from tests.cast import FLOOR
from tests.deep import DEEP
from tests.web import paper

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("js", [True, False], ids=["scripts", "no-scripts"])
def test_four_wheels_go_from_the_first_page_to_the_hand_back(live, pictures, js) -> None:
    """One orders on a phone, one at a desk; both follow the first one's wheels by its link."""
    customer, other = (Customer(live.person(size, js=js), js=js) for size in ("phone", "desktop"))
    booked = customer.book_wheels(_named(pictures, "phone"))
    # in a quick run, only test_five_flows books at a desk
    for one, size in ((customer, "phone"), (other, "desktop"))[: 2 if DEEP else 1]:
        done = booked if one is customer else one.book_wheels(_named(pictures, size))
        assert done.code
        assert one.taps <= 25
        pictures(one.page, f"{size}-8-booked")
    link = _print_the_slip(live, customer, booked)

    hand = Hand(live.person("desktop", js=js), js=js)
    hand.sign_in()
    _check_in(live, hand, link, booked, pictures)
    _walk_the_floor(live, hand, booked)
    _inspect(hand, booked, pictures)
    _finish(hand, booked)
    _hand_back(live, customer, other, hand, booked, pictures)

    for one, size in ((customer, "phone"), (other, "desktop")):
        one.page.goto(booked.path)
        expect(one.page.locator("main")).to_contain_text("torque wrench")
        pictures(one.page, f"{size}-9-refit")


def _named(pictures, size: str):
    return lambda page, name: pictures(page, f"{size}-{name}")


def _print_the_slip(live, customer: Customer, booked) -> str:
    """Read the QR code off the printed slip, as the scanner at the counter does."""
    answer = customer.page.request.get(f"{booked.path}/slip.pdf?size=a4")
    assert answer.ok
    link = paper.by_zxing(paper.pages(answer.body())[0])
    assert link.upper().endswith(booked.path)
    assert link == link.upper()
    return link


def _check_in(live, hand: Hand, link: str, booked, pictures) -> None:
    hand.scan(link)
    expect(hand.page).to_have_url(re.compile(r"/check-in"))
    pictures(hand.page, "c1-check-in")
    hand.taps = 0
    hand.tap("As declared: front left, front right, rear left, rear right")
    expect(hand.page.locator("label[for=scan]")).to_contain_text("in this order: front left")
    for tag in ("201", "202", "203", "204"):
        hand.scan(tag)
        expect(hand.page.locator("main")).to_contain_text(tag)
    press(hand.page.locator("form:has(input[name=once]) button[type=submit]").last)
    hand.taps += 1
    assert hand.taps <= 6
    expect(hand.page.locator("main")).to_contain_text("In progress")
    pictures(hand.page, "c2-received")


def _walk_the_floor(live, hand: Hand, booked) -> None:
    """Scan a station, then every tag, until the parts wait for inspection."""
    hand.page.goto("/counter/floor")
    strip = _goes_out(live, booked)
    if strip:
        _strip(hand)
    hand.page.goto("/counter/floor")
    for station in (["AT-BLAST"] if not strip else []) + ["AT-COAT", "AT-CURE"]:
        hand.page.goto("/counter/floor")
        hand.scan(station)
        for tag in ("201", "202", "203", "204"):
            hand.scan(tag)
            expect(hand.page.locator("body")).to_contain_text(tag)
    _bake(live, hand)


def _goes_out(live, booked) -> bool:
    from portal.store.tables import Job, Part

    code = booked.code.replace("-", "")
    with live.app.extensions["unit"].read() as session:
        return bool(
            session.query(Part.needs_strip).join(Job, Job.id == Part.job_id)
            .filter(Job.code == code).first()[0]
        )  # fmt: skip


def _strip(hand: Hand) -> None:
    page = hand.page
    page.goto("/counter/floor")
    hand.scan("AT-STRIP")
    for tag in ("201", "202", "203", "204"):
        hand.scan(tag)
        expect(page.locator("body")).to_contain_text(tag)
    page.goto("/counter/strip-runs")
    hand.tap("Start the run")
    for tag in ("201", "202", "203", "204"):
        hand.scan(tag)
        expect(page.locator("main")).to_contain_text(tag)
    hand.tap("Send off")
    for tag in ("201", "202", "203", "204"):
        hand.scan(tag)
        expect(page.locator("main")).to_contain_text(tag)


def _bake(live, hand: Hand) -> None:
    page = hand.page
    page.goto("/counter/oven")
    hand.tap("Start this load")
    live.clock.advance(minutes=50)
    page.goto("/counter/oven")
    hand.tap("Close the load")


def _inspect(hand: Hand, booked, pictures) -> None:
    page = hand.page
    for number in range(1, 5):
        hand.stages(booked.code)
        press(page.get_by_role("link", name=f"Inspect part {number}"))
        page.locator("textarea[name=readings]").fill(
            "78 79 77\n82 81 83\n75 76 74\n80 80 80\n79 78 80"
        )
        page.locator("input[name=eye]").first.check(force=True)
        if number == 1:
            pictures(page, "f1-inspect")
        hand.tap("Check the readings")
        expect(page.locator("body")).not_to_contain_text("Error:")


def _finish(hand: Hand, booked) -> None:
    """Refit prep, where the order has it, then onto the shelf."""
    page = hand.page
    page.goto("/counter/floor")
    unfold(page, booked.code)
    done = page.get_by_role("button", name="To Done")
    if done.count():
        press(done.first)
    hand.stages(booked.code)
    hand.tap(re.compile("onto the shelf"))
    expect(page.locator("main")).to_contain_text("Ready")


def _hand_back(live, customer: Customer, other: Customer, hand: Hand, booked, pictures) -> None:
    for one, size in ((customer, "phone"), (other, "desktop")):
        one.page.goto(booked.path)
        press(one.page.get_by_role("link", name="Show the pickup code"))
        one.page.get_by_label("Last four digits of your phone number").fill("0123")
        press(one.page.get_by_role("button", name="Show the code"))
        expect(one.page.locator("main")).to_contain_text("Your pickup code")
        pictures(one.page, f"{size}-8-ready")
    code = re.search(r"\b\d{3}\s?\d{3}\b", customer.page.inner_text("main")).group(0)
    page = hand.page
    page.goto(f"/counter/job/{booked.code.replace('-', '')}/hand-back")
    page.get_by_label("Pickup code").fill("000000" if code != "000000" else "111111")
    for box in page.locator("input[name=parts], input[name=bags]").all():
        box.check(force=True)
    pictures(page, "h1-hand-back")
    press(page.locator(".bar").get_by_role("button", name="hand back").first)
    expect(page.locator("main")).to_contain_text("Error:")
    page.get_by_label("Pickup code").fill(code)
    press(page.locator(".bar").get_by_role("button", name="hand back").first)
    expect(page.locator("main")).to_contain_text("Collected")


def test_the_floor_person_may_not_hand_back_or_open_the_office(live) -> None:
    hand = Hand(live.person("phone"), FLOOR)
    hand.sign_in()
    assert hand.page.goto("/counter/floor").status == 200
    assert hand.page.goto("/office/").status == 403


def test_the_draft_goes_on_where_it_was_left_after_a_day(live) -> None:
    customer = Customer(live.person("phone"))
    customer.page.goto("/")
    customer.tap("Describe your parts")
    customer.type("What size?", "7x17 ET40")
    customer.page.locator("input[name=build][value=cast]").check(force=True)
    customer.tap("Continue")
    customer.on("on-them")
    address = customer.page.url
    live.clock.advance(hours=26)
    other = live.person("desktop")
    other.goto(address)
    expect(other).to_have_url(re.compile("/on-them"))
    other.go_back()
    live.clock.advance(days=7)
    assert other.goto(address).status in (404, 410)
