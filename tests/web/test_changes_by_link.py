"""What can be changed behind the link: told before the press, refused to who guesses."""

from datetime import timedelta

import pytest

from portal.orders.counter.job_view import job_view
from portal.shop.route import PartStage
from portal.store.tables import Job
from tests.factories import WHEELS, a_booked_job, a_job_at, events
from tests.web.hand import Hand


@pytest.fixture
def visitor(client):
    return lambda job, path="": Hand(client, f"/J/{job.token}{path}")


def test_the_page_leads_to_everything_that_can_be_changed(visitor, unit) -> None:
    booked = visitor(a_booked_job(unit, dropoff=timedelta(days=3)))
    ways = [one.get("href").rpartition("/")[2] for one in booked.page.all("a", class_="alone")]
    wanted = ["time", "finish", "contact", "fetch", "call-off"]
    assert [one for one in ways if one in wanted] == wanted
    coated = visitor(a_job_at(unit, PartStage.COAT, WHEELS))
    ways = [one.get("href").rpartition("/")[2] for one in coated.page.all("a", class_="alone")]
    assert [one for one in ways if one in wanted] == ["contact", "fetch"]


def test_another_colour_is_priced_then_taken_with_the_digits(visitor, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    hand = visitor(job, "/finish")
    assert "Single coat, Jet black satin, Satin" in hand.page.text
    hand.send("/finish", system="base_clear", colour="EMBER-S", gloss="gloss", do="weigh")
    assert "What it changes" in hand.page.text
    hand.send("/finish", digits="9999", do="take")
    assert hand.wrong("digits").startswith("Error: These aren't the last four digits")
    assert "What it changes" in hand.page.text
    hand.send("/finish", digits="0123", do="take")
    assert hand.path == f"/J/{job.token}"
    assert hand.told == ["Your order is changed. The new price and date are on this page."]
    assert len(events(unit, job, "finish")) == 1


def test_a_change_after_the_price_was_read_is_priced_again(visitor, unit) -> None:
    job = a_booked_job(unit, dropoff=timedelta(days=3))
    hand = visitor(job, "/finish")
    hand.send("/finish", colour="R3020-G", do="weigh")
    hand.send("/finish", system="base_clear", colour="EMBER-S", digits="0123", do="take")
    assert hand.at.status_code == 422
    assert "The price or the date has changed." in hand.page.text
    assert "Ember bronze" in hand.page.text
    assert events(unit, job, "finish") == []
    hand.send("/finish", digits="0123", do="take")
    assert len(events(unit, job, "finish")) == 1


def test_a_colour_alone_finds_the_gloss_in_which_it_is_made(visitor, unit) -> None:
    hand = visitor(a_booked_job(unit, dropoff=timedelta(days=3)), "/finish")
    hand.send("/finish", colour="SLATE-X", do="weigh")
    assert "Slate black fine texture, Matt" in hand.page.text
    hand.send("/finish", system="translucent", colour="SLATE-X", do="weigh")
    assert "We can't make this colour" in hand.wrong("colour")


def test_when_the_booth_has_them_the_page_says_whom_to_call(visitor, unit) -> None:
    hand = visitor(a_job_at(unit, PartStage.COAT, WHEELS), "/finish")
    assert "It is too late to change this here." in hand.page.text
    assert not [one for one in hand.page.all("form") if "finish" in one.get("action", "")]


def test_the_contact_is_changed_and_never_shown(visitor, unit) -> None:
    job = a_booked_job(unit)
    hand = visitor(job, "/contact")
    assert "robin" not in hand.page.text.lower()
    assert not [one for one in hand.page.all("input") if "robin" in (one.get("value") or "")]
    hand.send("/contact", email="nobody", phone="12", digits="0123")
    assert hand.wrong("email") == "Error: Enter an e-mail address like name@example.com."
    assert hand.page.one("input", id="phone").get("value") == "12"
    hand.send("/contact", email="new@example.com", phone="", digits="0123")
    assert hand.told == ["Saved."]
    with unit.read() as session:
        assert session.get_one(Job, job.job_id).customer.email == "new@example.com"
    hand.go(f"/J/{job.token}/contact")
    hand.send("/language", locale="de")
    with unit.read() as session:
        assert session.get_one(Job, job.job_id).customer.locale == "de"


def test_who_may_fetch_stands_at_the_hand_back_and_not_behind_the_link(visitor, unit) -> None:
    job = a_booked_job(unit)
    hand = visitor(job, "/fetch")
    hand.send("/fetch", name="Kim Sample", digits="9999")
    assert hand.wrong("digits").startswith("Error: These aren't the last four digits")
    hand.send("/fetch", digits="0123")
    assert job_view(unit, job.code).may_fetch == "Kim Sample"
    hand.go(f"/J/{job.token}/fetch")
    assert "Kim" not in hand.page.text
    assert "You have named somebody." in hand.page.text


def test_without_a_telephone_on_the_order_only_the_language_is_changed_here(visitor, unit) -> None:
    job = a_booked_job(unit, phone="")
    hand = visitor(job, "/contact")
    assert "There is no phone number on this order" in hand.page.text
    ways = [one.get("action").rpartition("/")[2] for one in hand.page.all("form")]
    assert "contact" not in ways
