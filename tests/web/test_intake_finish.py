"""The Finish page: what choices cost, colours found in any gloss, what can't be had and why."""

import re

import pytest

from portal.store.tables import Draft, Job
from tests.page import words
from tests.web.test_intake_comes_off import SIZED
from tests.web.test_intake_live import live, price, region
from tests.web.test_intake_walk import rows
from tests.web.walk import CONTACT, WHEELS, Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def pounds(text: str) -> float:
    return float(re.search(r"£([\d,.]+)", text)[1].replace(",", ""))


def sums(customer: Customer) -> dict[str, str]:
    labels = customer.page.all("label", class_="pick")
    return {
        next(iter(label.iter("input"))).get("value"): words(mark)
        for label in labels
        for mark in label.iter("span")
        if "pick-sum" in (mark.get("class") or "")
    }


def buttons(customer: Customer, name: str) -> list:
    return customer.page.all("button", name=name)


def press(customer: Customer, button, **values):
    return customer.send(**({button.get("name"): button.get("value")} | values))


def test_each_coat_system_tells_what_it_adds_and_the_bar_moves_by_it(customer) -> None:
    customer.walk_to("finish")
    told = sums(customer)
    assert told["single"] == "included"
    single = pounds(price(live(customer, **{"A-system": "single"})))
    for system in ("base_clear", "translucent", "texture"):
        moved = pounds(price(live(customer, **{"A-system": system}))) - single
        assert told[system].startswith("+£")
        assert moved == pytest.approx(pounds(told[system])), system


@pytest.mark.parametrize("asked", ["9005", "RAL 9005", "ral9005"])
def test_a_number_is_found_in_every_gloss_that_hangs(customer, asked: str) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-near": asked, "then": "look"})
    found = customer.page.one(id="A-found")
    assert "We have RAL 9005 in: Gloss, Matt, Satin." in words(found)
    assert len(buttons(customer, "A-choose")) == 3


def test_a_colour_found_in_another_gloss_is_chosen_where_it_stands(customer, app) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-near": "RAL 7016", "then": "look"})
    (hit,) = buttons(customer, "A-choose")
    press(customer, hit)
    assert customer.step == "finish"
    assert customer.fields["A-gloss"] == "satin"
    assert customer.fields["A-colour"] == "R7016-S"
    customer.send()
    assert customer.step == "day"
    (draft,) = rows(app, Draft)
    finish = draft.answers["declared"]["sets"][0]["finish"]
    assert (finish["colour"], finish["gloss"]) == ("R7016-S", "satin")


def test_a_colour_that_only_other_coats_have_brings_its_coats(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-near": "kiln red", "then": "look"})
    (hit,) = buttons(customer, "A-choose")
    press(customer, hit)
    assert customer.fields["A-system"] == "translucent"
    assert customer.fields["A-colour"] == "KILN-T"


def test_under_a_clear_coat_a_colour_hangs_once(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-system": "base_clear", "A-near": "9005", "then": "look"})
    assert len(buttons(customer, "A-choose")) == 1
    codes = [e.get("value") for e in customer.page.all("input", name="A-colour")]
    assert sum(code.startswith("R9005") for code in codes) == 1


def test_the_enter_key_searches_once_and_then_goes_on(customer) -> None:
    customer.walk_to("finish")
    chosen = {"A-colour": "R9005-S", "A-gloss": "satin", "then": "enter"}
    customer.send(**chosen, **{"A-near": "bronze"})
    assert customer.step == "finish"
    assert customer.at.status_code == 200
    assert "Ember bronze" in words(customer.page.one(id="A-found"))
    assert customer.fields["A-colour"] == "R9005-S"
    customer.send(then="enter")
    assert customer.step == "day"


def test_an_impossible_gloss_cannot_be_chosen_and_says_why(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-system": "translucent", "then": "look"})
    matt = customer.page.one("input", name="A-gloss", value="matt")
    assert matt.get("disabled") is not None
    why = words(customer.page.one(id=matt.get("aria-describedby")))
    assert "Matt: A matt clear coat scatters the light" in why


def test_an_impossible_gloss_that_is_sent_anyway_is_an_error_and_loses_nothing(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-system": "translucent", "A-gloss": "matt", "A-colour": "KILN-T"})
    assert customer.at.status_code == 422
    assert any("Choose another gloss" in error for error in customer.errors())
    assert customer.fields["A-system"] == "translucent"
    assert customer.fields["A-colour"] == "KILN-T"
    customer.send()
    assert customer.step == "day"


def test_a_colour_line_speaks_as_a_car_owner_does(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-gloss": "gloss", "A-colour": "R1003-G", "then": "look"})
    side = region(customer.page, "picture-A")
    assert "RAL 1003. Gloss. Ordered for you: 6 working days longer." in side
    customer.send(**{"A-gloss": "gloss", "A-colour": "R3020-G", "then": "look"})
    assert "RAL 3020. Gloss. In stock." in region(customer.page, "picture-A")
    text = customer.page.text
    assert " units" not in text
    assert "R3020-G" not in text


def test_who_decides_from_a_sample_needs_no_colour(customer, app) -> None:
    customer.walk_to("finish")
    hint = region(customer.page, "colours-A")
    assert re.search(r"Price: £[\d.]+ to £[\d.]+, as the colour decides", hint)
    assert re.search(r"The date allows \d+ working days", hint)
    first = region(customer.page, "bar")
    page = live(customer, **{"A-decide_from_sample": "y"})
    assert "Never above" in region(page, "bar")
    assert region(page, "bar") != first
    customer.send(**{"A-decide_from_sample": "y"})
    assert customer.step == "day"
    customer.send()
    customer.send(**CONTACT)
    assert customer.step == "read-back"
    assert "You choose the colour from samples at drop-off" in customer.page.text
    customer.follow(customer.book())
    assert "You choose the colour from samples at drop-off" in customer.page.text
    (job,) = rows(app, Job)
    assert job.quote["low"] < job.quote["high"]
    slip = customer.client.get(f"/J/{job.token}/slip").get_data(as_text=True)
    assert "You choose the colour from samples at drop-off" in slip
    assert "Colour: choose from samples with the customer" in slip


def test_a_second_set_of_wheels_begins_with_the_finish_of_the_first(customer, app) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(**(WHEELS | {"rim_text": "9Jx18 ET40", "count": "2"}))
    customer.walk_to("finish")
    assert not customer.page.all("input", name="B-colour")
    customer.send(**{"A-colour": "R9005-S", "A-gloss": "satin"})
    assert customer.step == "day"
    (draft,) = rows(app, Draft)
    first, second = draft.answers["declared"]["sets"]
    assert first["finish"] == second["finish"]


def test_a_second_set_gets_a_finish_of_its_own_by_one_press_and_back(customer, app) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(**(WHEELS | {"rim_text": "9Jx18 ET40", "count": "2"}))
    customer.walk_to("finish")
    customer.send(**{"A-colour": "R9005-S", "A-gloss": "satin", "B-like": "own"})
    assert customer.fields["A-colour"] == "R9005-S"
    assert customer.page.all("input", name="B-colour")
    customer.send(**{"B-like": "first"})
    assert not customer.page.all("input", name="B-colour")
    customer.send(**{"B-like": "own"})
    customer.send(**{"B-colour": "R3020-G", "B-gloss": "gloss"})
    assert customer.step == "day"
    (draft,) = rows(app, Draft)
    colours = [s["finish"]["colour"] for s in draft.answers["declared"]["sets"]]
    assert colours == ["R9005-S", "R3020-G"]


def test_calipers_cannot_have_every_finish_of_the_wheels(customer) -> None:
    customer.send(**WHEELS, then="another")
    customer.send(kind="caliper", count="2", metal="cast_iron", length="250", width="15 cm",
                  height="4 in")  # fmt: skip
    customer.send(**{"A-layers": "factory_paint", "B-layers": "liquid_paint"})
    customer.send()
    assert customer.page.all("input", name="B-colour")
    customer.send(**{"B-like": "first"})
    customer.send(**{"A-system": "texture", "A-gloss": "matt", "A-colour": "SLATE-X"})
    assert customer.at.status_code == 422
    assert any("can't have this finish" in error for error in customer.errors())


def test_how_they_are_used_changes_the_advice_and_is_kept(customer, app) -> None:
    customer.walk_to("finish")
    page = live(customer, usage="winter")
    assert "For salted roads we advise a clear coat" in region(page, "coats-A")
    assert "Good for salted roads" in region(
        live(customer, usage="winter", **{"A-system": "base_clear"}), "coats-A"
    )
    customer.send(usage="winter", **{"A-colour": "R9005-S", "A-gloss": "satin"})
    (draft,) = rows(app, Draft)
    assert draft.answers["declared"]["usage"] == "winter"


def test_parts_that_go_on_no_vehicle_are_not_asked_how_they_are_driven(customer) -> None:
    customer.walk_to("finish", kind="railing", **SIZED)
    assert customer.step == "finish"
    assert not customer.page.all("input", name="usage")
