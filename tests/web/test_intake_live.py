"""The live price: what a browser with script shows while its owner chooses."""

import re

import pytest

from tests.page import Page, words
from tests.web.walk import CONTACT, WHEELS, Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def live(customer: Customer, **values) -> Page:
    """Send the open page to its live address, as the script does after a choice."""
    bar = customer.page.one(class_="bar-now")
    sent = customer.fields | values
    answer = customer.client.post(bar.get("data-live", ""), data=sent)
    assert answer.status_code == 200
    return Page(answer.get_data(as_text=True))


def region(page: Page, name: str) -> str:
    found = page.all(data_region=name)
    return " ".join("".join(found[0].itertext()).split()) if found else ""


def price(page: Page) -> str:
    found = re.search(r"£[\d,.]+(?: – £[\d,.]+)?", region(page, "bar"))
    return found[0] if found else ""


def bar(page: Page) -> str:
    """Price and date of a whole page."""
    return words(page.one(class_="bar-now"))


def test_a_marking_is_read_at_once(customer) -> None:
    page = live(customer, size="8½J×18 H2 ET35")
    assert "18 inches" in region(page, "size")
    assert "35" in region(page, "size")


def test_a_marking_that_cannot_be_says_so_at_once(customer) -> None:
    assert "3 inches" in region(live(customer, size="3Jx3"), "size")


def test_the_price_stands_as_soon_as_the_parts_are_told(customer) -> None:
    assert not price(live(customer, size="8Jx18"))
    assert price(live(customer, **WHEELS))


def test_the_price_changes_with_the_count(customer) -> None:
    assert price(live(customer, **WHEELS, count="2")) != price(live(customer, **WHEELS))


def test_the_price_changes_with_the_layers(customer) -> None:
    customer.walk_to("on-them")
    usual = price(live(customer))
    assert price(live(customer, **{"A-layers": ["chrome"]})) != usual


def test_another_way_of_bringing_starts_from_its_own_usual(customer) -> None:
    customer.walk_to("comes-off")
    complete = live(customer, bringing="complete")
    bare = live(customer, bringing="bare")
    assert complete.one("input", name="A-tyre", value="us").get("checked") is not None
    assert bare.one("input", name="A-tyre", value="you").get("checked") is not None
    assert price(bare) != price(complete)


@pytest.mark.parametrize(
    ("step", "values"),
    [
        ("on-them", {"A-layers": ["chrome"], "registered": "nowhere"}),
        ("comes-off", {"bringing": "bare", "trip": "far"}),
        ("finish", {"A-system": "translucent", "A-colour": "no such"}),
    ],
)
def test_a_page_that_is_shown_again_has_the_price_of_what_stands_in_it(
    customer, step: str, values: dict
) -> None:
    customer.walk_to(step)
    before = bar(customer.page)
    ahead = region(live(customer, **values), "bar")
    customer.send(**values)
    assert customer.at.status_code == 422
    assert bar(customer.page) == ahead
    assert ahead != before


def test_another_system_offers_its_own_colours(customer) -> None:
    customer.walk_to("finish")
    single = live(customer, **{"A-system": "single"})
    translucent = live(customer, **{"A-system": "translucent"})
    codes = [
        {e.get("value") for e in page.all("input", name="A-colour")}
        for page in (single, translucent)
    ]
    assert codes[0]
    assert codes[1]
    assert not codes[0] & codes[1]
    assert not translucent.all(class_="wrong")


def test_the_nearest_colours_to_a_ral_number_are_told_in_words(customer) -> None:
    customer.walk_to("finish")
    page = live(customer, **{"A-system": "single", "A-gloss": "gloss", "A-near": "#0A0A0D"})
    assert "Jet black" in region(page, "colours-A")
    assert "As near as a screen can tell: compare a sample" in region(page, "colours-A")


@pytest.mark.parametrize("text", ["RAL 12", "pink", "#12", "😀", "RAL 0000"])
def test_a_colour_that_is_none_is_answered_kindly(customer, text: str) -> None:
    customer.walk_to("finish")
    page = live(customer, **{"A-near": text})
    assert page.all(class_="read--wrong")


def test_the_promise_changes_with_the_day(customer) -> None:
    customer.walk_to("day")
    slots = [e.get("value") for e in customer.page.all("input", name="slot")]
    first, last = (region(live(customer, slot=s), "bar") for s in (slots[0], slots[-1]))
    assert first != last


def test_what_stands_in_a_page_is_there_again_after_a_reload(customer) -> None:
    live(customer, size="8Jx1", count="7", build="forged")
    customer.go_to("parts")
    assert customer.page.one("input", id="size").get("value") == "8Jx1"
    assert customer.page.one("input", id="count").get("value") == "7"
    assert customer.page.one("input", name="build", value="forged").get("checked") is not None


def test_what_was_sent_wins_over_what_was_left_unsent(customer) -> None:
    live(customer, **WHEELS, count="7")
    customer.send(**WHEELS, count="3")
    customer.go_to("parts/A")
    assert customer.page.one("input", id="count").get("value") == "3"


def test_a_choice_that_arrives_after_its_page_was_sent_does_not_come_back(customer) -> None:
    """On a slow line the answer to a tick can be asked for before Continue and come in after it."""
    late = customer.page
    customer.send(**WHEELS, count="3")
    bar = late.one(class_="bar-now")
    sent = late.fields(customer.forms - 1) | WHEELS | {"count": "7"}
    assert customer.client.post(bar.get("data-live", ""), data=sent).status_code == 200
    customer.go_to("parts/A")
    assert customer.page.one("input", id="count").get("value") == "3"


def test_a_half_typed_contact_waits_on_another_device(customer, app) -> None:
    customer.walk_to("you")
    live(customer, name="Taylor", email="tay")
    other = app.test_client().get(customer.url("you")).get_data(as_text=True)
    assert 'value="Taylor"' in other
    assert 'value="tay"' in other
    customer.go_to("you")
    customer.send(**CONTACT)
    assert customer.step == "read-back"


def test_nothing_that_is_only_chosen_counts_as_answered(customer) -> None:
    live(customer, **WHEELS)
    customer.go_to("on-them")
    assert customer.step == "parts"


def test_rubbish_in_a_live_page_is_no_accident(customer) -> None:
    for step in ("parts", "on-them", "comes-off", "finish", "day", "you"):
        customer.walk_to(step)
        fields = {name: "😀\x01'\"<" for name in customer.fields if name != "csrf_token"}
        live(customer, **fields)
