"""The catalogue's open pages and the seven pages of the intake."""

from typing import Any

from werkzeug.test import TestResponse

from tests.browser.layout.house import House
from tests.browser.layout.pages import ACCIDENT, state
from tests.web.walk import CONTACT, WHEELS

FITTED = ["tyre", "weights", "valve", "sensor", "centre_cap", "lug_covers"]
LONG_NAME = "Wilhelmina Featherstonehaugh-Llanfairpwllgwyngyll"


def sent(house: House, step: str, **values: Any) -> TestResponse:
    """Walk to a page and send what is refused there; the order stays as it was."""
    customer = house.walked_to(step)
    drop = tuple(values.pop("drop", ()))
    return customer.send(drop=drop, **values)


@state("landing", "open")
def _landing(house: House) -> TestResponse:
    return house.anyone.get("/")


@state("figures", "open")
def _figures(house: House) -> TestResponse:
    return house.anyone.get("/figures")


@state("why powder", "open")
def _why_powder(house: House) -> TestResponse:
    return house.anyone.get("/why-powder")


@state("no such page", "open", 404)
def _no_such_page(house: House) -> TestResponse:
    return house.anyone.get("/no-such-page")


@state("an accident of ours", "open", 500)
def _accident(house: House) -> TestResponse:
    views, was = house.app.view_functions, house.app.view_functions["intake.why_powder"]

    def broken() -> None:
        raise RuntimeError(ACCIDENT)

    views["intake.why_powder"] = broken
    house.app.config["PROPAGATE_EXCEPTIONS"] = False
    try:
        return house.anyone.get("/why-powder")
    finally:
        views["intake.why_powder"] = was


@state("an order that is unknown", "intake", 404)
def _unknown_order(house: House) -> TestResponse:
    return house.anyone.get(f"/o/{'A' * 26}/parts")


@state("parts, empty", "intake")
def _parts_empty(house: House) -> TestResponse:
    return house.order().at


@state("parts, with errors", "intake", 422)
def _parts_errors(house: House) -> TestResponse:
    return house.order().send(count="4000", size="3Jx3, 225/45 R99")


@state("parts, another kind", "intake")
def _other_kind(house: House) -> TestResponse:
    customer = house.order()
    customer.send(
        kind="caliper", count="2", length="260", width="140 mm", height="12 cm", metal="cast_iron"
    )
    assert customer.step == "on-them", customer.page.text
    return customer.go_to("parts/A")


@state("parts, two sets", "intake")
def _two_sets(house: House) -> TestResponse:
    return _with_two_sets(house, "on-them").go_to("parts")


@state("parts, one set again", "intake")
def _set_again(house: House) -> TestResponse:
    return house.ordered_to("on-them", size="8Jx18 ET35, 225/40 R18 92Y").go_to("parts/A")


def _with_two_sets(house: House, step: str) -> Any:
    customer = house.order()
    customer.send(**WHEELS, then="another")
    customer.send(kind="caliper", count="2", length="260", width="140", height="120", metal="steel")
    assert customer.step == "on-them", customer.page.text
    while customer.step != step:
        fields = customer.page.fields(len(customer.page.all("form", method="post")) - 1)
        finish = {}
        for key in ("A", "B"):
            if f"{key}-gloss" in fields or customer.step == "finish":
                finish |= {f"{key}-colour": "R9005-S", f"{key}-gloss": "satin"}
        here = customer.step
        customer.send(**(finish | (CONTACT if here == "you" else {})))
        assert customer.step != here, customer.page.text
    return customer


@state("on them, as reached", "intake")
def _on_them(house: House) -> TestResponse:
    return house.walked_to("on-them").at


@state("on them, several layers", "intake")
def _layers(house: House) -> TestResponse:
    customer = house.ordered_to("on-them")
    customer.send(
        **{
            "A-layers": ["factory_paint", "peelable", "wrap"],
            "A-damage": ["kerb_rash", "corrosion"],
            "A-many_kerb_rash": "2",
            "A-many_corrosion": "1",
            "A-note": "The front left one was repaired once.",
        }
    )
    assert customer.step == "comes-off", customer.page.text
    return customer.go_to("on-them")


@state("on them, with errors", "intake", 422)
def _no_layer(house: House) -> TestResponse:
    return sent(house, "on-them", drop=("A-layers",))


@state("on them, a cracked wheel refused", "intake")
def _cracked(house: House) -> TestResponse:
    customer = house.ordered_to("on-them")
    answer = customer.send(**{"A-damage": ["crack"], "A-many_crack": "1"})
    assert customer.page.all(id="refused"), customer.page.text
    return answer


@state("comes off, as reached", "intake")
def _comes_off(house: House) -> TestResponse:
    return house.walked_to("comes-off").at


@state("comes off, complete wheels", "intake")
def _complete(house: House) -> TestResponse:
    customer = house.ordered_to("comes-off")
    return customer.send(bringing="complete", then="look")


@state("comes off, the whole car", "intake")
def _whole_car(house: House) -> TestResponse:
    customer = house.ordered_to("comes-off")
    return customer.send(bringing="whole_car", then="look")


@state("comes off, bare already", "intake")
def _bare_already(house: House) -> TestResponse:
    return house.ordered_to("comes-off").send(where="bare", then="look")


@state("comes off, off the car, own figures, new tyres", "intake")
def _own_figures(house: House) -> TestResponse:
    own = {"trip": "0", "tyre_off_on_each": "22.50", "A-new_tyres": "bring", "A-sensor": "you"}
    return house.ordered_to("comes-off").send(where="off", then="look", **own)


@state("comes off, with errors", "intake", 422)
def _errand(house: House) -> TestResponse:
    return sent(house, "comes-off", trip="1O.50")


@state("finish, empty", "intake")
def _finish(house: House) -> TestResponse:
    return house.walked_to("finish").at


@state("finish, two coats and a nearest colour", "intake")
def _two_coats(house: House) -> TestResponse:
    customer = house.ordered_to("finish")
    near = {"A-system": "base_clear", "A-gloss": "gloss", "A-near": "7016", "then": "look"}
    return customer.send(**near)


@state("finish, with errors", "intake", 422)
def _no_colour(house: House) -> TestResponse:
    return sent(house, "finish", **{"A-near": "a nice blue"})


@state("finish, chosen", "intake")
def _chosen(house: House) -> TestResponse:
    return house.walked_to("day").go_to("finish")


@state("finish, two sets", "intake")
def _finish_two(house: House) -> TestResponse:
    return _with_two_sets(house, "finish").at


@state("day, empty", "intake")
def _day(house: House) -> TestResponse:
    return house.walked_to("day").at


@state("day, chosen", "intake")
def _day_chosen(house: House) -> TestResponse:
    return house.walked_to("you").go_to("day")


@state("day, with errors", "intake", 422)
def _no_day(house: House) -> TestResponse:
    return sent(house, "day", slot="tomorrow")


@state("you, empty", "intake")
def _you(house: House) -> TestResponse:
    return house.walked_to("you").at


@state("you, filled", "intake")
def _you_filled(house: House) -> TestResponse:
    return house.walked_to("read-back").go_to("you")


@state("you, with errors", "intake", 422)
def _you_errors(house: House) -> TestResponse:
    return sent(house, "you", name="Robin 😀", email="robin@", phone="12")


@state("read back", "intake")
def _read_back(house: House) -> TestResponse:
    return house.walked_to("read-back").at


@state("read back, two sets and a long name", "intake")
def _read_back_two(house: House) -> TestResponse:
    customer = _with_two_sets(house, "you")
    customer.send(**CONTACT | {"name": LONG_NAME, "vehicle": "W" * 40})
    assert customer.step == "read-back", customer.page.text
    return customer.at


@state("read back, not confirmed", "intake", 422)
def _unconfirmed(house: House) -> TestResponse:
    return sent(house, "read-back")


@state("another day", "link")
def _later(house: House) -> TestResponse:
    return house.walked_to("read-back").go_to("later")


@state("on them, registered abroad", "intake", 422)
def _registered(house: House) -> TestResponse:
    return house.walked_to("on-them").send(registered="DE")


@state("another day, with errors", "link", 422)
def _later_errors(house: House) -> TestResponse:
    customer = house.walked_to("read-back")
    customer.go_to("later")
    return customer.send(email="robin@")


@state("another day, sent", "link")
def _later_sent(house: House) -> TestResponse:
    customer = house.walked_to("read-back")
    customer.go_to("later")
    return customer.send(email="robin@example.com")


@state("privacy", "open")
def _privacy(house: House) -> TestResponse:
    return house.anyone.get("/privacy")


@state("terms", "open")
def _terms(house: House) -> TestResponse:
    return house.anyone.get("/terms")
