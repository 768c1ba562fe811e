"""What comes off: where the parts are, the ways that make sense, new tyres, every kind of part."""

from typing import Any

import pytest

from portal.craft.bringing import NewTyres, Whereabouts
from portal.craft.parts import Bringing, Item, PartKind, Remover
from portal.orders.intake.draft_view import Times, compared_ways, look
from portal.web.kit.request_context import unit
from tests.readers import english
from tests.web.test_intake_live import live
from tests.web.walk import WHEELS, Customer

OTHERS = [kind for kind in PartKind if kind is not PartKind.WHEEL]
SIZED = {
    "length": "600",
    "width": "300",
    "height": "100",
    "metal": "steel",
    "closed": "none",
    "what": "lamp base",
}


@pytest.fixture
def fresh(client) -> Customer:
    return Customer(client)


@pytest.fixture
def customer(fresh) -> Customer:
    return fresh.walk_to("comes-off")


def seen(customer: Customer) -> Any:
    with customer.client.application.app_context():
        return look(unit(), customer.token, times=Times.NONE)


def way(customer: Customer) -> Any:
    found = seen(customer).answers
    here = customer.client.application.extensions["unit"]
    with here.read() as session:
        shop = here.shop(session)
    ways = compared_ways(found, shop, here.now())
    return next(w for w in ways if w.bringing is found.declared.bringing)


def offered(page: Any) -> list[str]:
    return [e.get("value", "") for e in page.all("input", name="bringing")]


def test_wheels_on_the_car_can_come_in_three_ways_with_their_sums(customer) -> None:
    assert offered(customer.page) == ["bare", "complete", "whole_car"]
    text = customer.page.text
    for row in ("Tyre shop", "Trips", "Car off the road", "Altogether"):
        assert row in text
    assert "£72" in text  # four tyres at a tyre shop for 18.00 each


def test_wheels_that_are_bare_already_are_asked_for_no_errand(customer) -> None:
    customer.send(where="bare")
    assert customer.step == "finish"
    assert seen(customer).answers.declared.whereabouts is Whereabouts.BARE
    assert seen(customer).sets[0].fitted == ()
    one = way(customer)
    assert one.bringing is Bringing.BARE
    assert (one.own.minor, one.tyres, one.days_without) == (0, 0, 0)
    assert one.together == one.price
    customer.go_to("comes-off")
    assert "axle stands" not in customer.page.text
    assert not customer.page.all(class_="errands")
    assert offered(customer.page) == []
    assert "Bring us the wheels, dry" in customer.page.text


def test_the_live_page_of_bare_wheels_compares_nothing(customer) -> None:
    page = live(customer, where="bare")
    assert offered(page) == []
    assert page.one("input", name="A-tyre", value="none").get("checked") is not None
    back = live(customer, where="on_car", drawn_for="bare/bare", **{"A-tyre": "none"})
    assert back.one("input", name="A-tyre", value="us").get("checked") is not None


def test_wheels_off_the_car_need_no_stands_and_no_car(customer) -> None:
    customer.send(where="off", then="look")
    assert offered(customer.page) == ["bare", "complete"]
    assert "axle stands" not in customer.page.text
    assert way(customer).days_without == 0


def test_a_way_that_no_longer_makes_sense_is_no_answer(customer) -> None:
    customer.send(where="off", bringing="whole_car")
    assert customer.step == "finish"
    assert seen(customer).answers.declared.bringing is Bringing.COMPLETE


def test_nobody_has_to_say_where_railings_are(fresh) -> None:
    fresh.walk_to("comes-off", kind="railing", **SIZED)
    assert not fresh.page.all("input", name="where")
    assert offered(fresh.page) == []


@pytest.mark.parametrize("kind", OTHERS)
def test_every_kind_of_part_gets_to_its_last_page(fresh, kind: PartKind) -> None:
    fresh.walk_to("comes-off", kind=kind.value, count="2", **SIZED)
    assert fresh.at.status_code == 200
    # a caliper comes off behind a wheel
    assert ("axle stands" in fresh.page.text) is (kind is PartKind.CALIPER)
    fresh.send()
    assert fresh.step == "finish"
    fresh.walk_to("read-back")


def test_with_calipers_the_car_cannot_be_driven_here_or_meanwhile(fresh) -> None:
    fresh.send(**WHEELS, then="another")
    fresh.send(kind="caliper", count="2", **SIZED)
    fresh.walk_to("comes-off")
    assert offered(fresh.page) == ["bare", "complete"]
    assert "can't be driven without its brake calipers" in fresh.page.text
    assert "unless you have other wheels" not in fresh.page.text


def test_the_customers_own_figures_count(customer) -> None:
    customer.send(trip="0", tyre_off_on_each="10", day_without_car="0", bringing="bare")
    assert way(customer).own.minor == 4 * 1000
    customer.go_to("comes-off")
    assert customer.page.one("input", id="trip").get("value") == "0.00"


def test_list_and_picture_count_alike(customer) -> None:
    svg = next(iter(customer.page.all(class_="exploded")))
    drawn = [t.text for t in svg.iter() if str(t.tag).endswith("text")]
    listed = ["".join(e.itertext()) for e in customer.page.all(class_="item-number")]
    assert drawn == listed == ["1", "2", "3", "4", "5"]
    first = customer.page.all(class_="item")[0]
    assert first.get("id") == "item-A-centre_cap"


def test_what_we_do_says_what_is_in_it(customer) -> None:
    assert "We take it off and put it back £60" in customer.page.text
    customer.send(bringing="bare", then="look")
    assert "We take it off £24" in customer.page.text


NEW = {
    "same": NewTyres.SAME,
    "bring": NewTyres.BRING,
    "later": NewTyres.LATER,
}


@pytest.mark.parametrize("answer", NEW)
def test_new_tyres_are_asked_for_where_we_take_the_old_ones_off(customer, answer: str) -> None:
    customer.send(**{"A-new_tyres": answer})
    assert seen(customer).sets[0].new_tyres is NEW[answer]
    lines = {line.key for line in seen(customer).assessment.quote.lines}
    assert ("A.on.tyre" in lines) is (answer != "later")
    assert ("A.new.weights" in lines) is (answer != "later")
    assert "A.off.tyre" in lines
    words = " ".join(english(line.says) for line in seen(customer).assessment.quote.lines)
    assert ("new tyre" in words) is (answer == "bring")


def test_a_car_never_leaves_on_wheels_without_tyres(customer) -> None:
    customer.send(bringing="whole_car", then="look")
    offered_tyres = [e.get("value") for e in customer.page.all("input", name="A-new_tyres")]
    assert offered_tyres == ["same", "bring"]


def test_another_way_takes_an_answer_along_that_it_does_not_offer(customer) -> None:
    """Without script the tyres were to come later, and then the whole car is brought."""
    assert customer.send(bringing="complete", **{"A-new_tyres": "later"}).status_code == 200
    customer.go_to("comes-off")
    answer = customer.send(bringing="whole_car", then="look", **{"A-new_tyres": "later"})
    assert answer.status_code == 200
    assert customer.page.one("input", name="A-new_tyres", value="same").get("checked") is not None


def test_nobody_is_asked_for_new_tyres_where_a_tyre_shop_has_the_old_ones(customer) -> None:
    customer.send(**{"A-tyre": "you"}, then="look")
    assert not customer.page.all("input", name="A-new_tyres")
    assert seen(customer).sets[0].removers[Item.TYRE] is Remover.YOU


def test_the_slip_names_the_new_tyres(customer) -> None:
    customer.send(**{"A-new_tyres": "bring"})
    customer.walk_to("read-back")
    token = customer.book().headers["Location"].rpartition("/")[2]
    slip = customer.follow(customer.client.get(f"/J/{token}/slip"))
    assert "The 4 new tyres" in slip.get_data(as_text=True)


def test_half_a_page_left_unsent_is_there_again(customer) -> None:
    live(customer, where="bare")
    customer.go_to("comes-off")
    assert customer.page.one("input", name="where", value="bare").get("checked") is not None
    assert customer.page.one("input", name="A-tyre", value="none").get("checked") is not None
    customer.send()
    assert customer.step == "finish"
