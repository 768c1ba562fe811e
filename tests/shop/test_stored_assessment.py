"""An assessment survives JSON: what was said of an order is said again, word for word."""

import json
from pathlib import Path
from typing import Any

import pytest

from portal.craft.declared import read_declared
from portal.craft.messages import Message
from portal.shop.assessment.assess import Assessment, assess
from portal.shop.assessment.stored import read_assessment, write_assessment
from portal.shop.money import Money
from portal.shop.pricing.quote import read_quote, write_quote
from tests.shop.test_delivery_options import ON, WHEELS, shop

BLACK = {"system": "single", "colour": "R9005-S", "gloss": "satin"}
FITTED = {"fitted": ["tyre", "weights", "valve", "sensor", "centre_cap"]}
ORDERS = {
    "nothing chosen": [WHEELS],
    "all of it": [WHEELS | FITTED | {"finish": BLACK, "damage": ["kerb_rash", "crack"],
                                     "damaged": {"crack": 1}, "note": "rears"}],
    "a refused metal": [{"kind": "wheel", "count": 4, "build": "magnesium", "finish": BLACK}],
    "three sets": [
        WHEELS | {"finish": BLACK},
        {"key": "B", "kind": "caliper", "count": 2, "metal": "cast_iron", "finish": BLACK},
        {"key": "C", "kind": "frame", "count": 1, "metal": "steel", "size_mm": [1900, 700, 700],
         "closed": ["sealed_tube"], "layers": ["chrome"], "finish": BLACK},
    ],
}  # fmt: skip
OPEN = {"system": "base_clear", "gloss": "gloss", "decide_from_sample": True}


def again(order: Assessment) -> Assessment:
    kept = json.loads(json.dumps(write_assessment(order)))
    return read_assessment(kept, order.declared, order.quote)


@pytest.mark.parametrize("name", ORDERS)
def test_an_order_is_the_same_after_it_was_kept(name: str) -> None:
    order = assess(read_declared({"sets": ORDERS[name], "bringing": "complete"}), shop(), ON)
    assert again(order) == order
    # equal texts are not enough: they must still be sentences that can be translated
    caution = again(order).sets[0].cautions[0]
    assert isinstance(caution.says, Message)
    assert caution.says.msgid == order.sets[0].cautions[0].says.msgid


def test_what_an_earlier_release_kept_can_be_read_without_what_is_gone() -> None:
    order = assess(read_declared({"sets": ORDERS["all of it"]}), shop(), ON)
    kept = write_assessment(order)
    kept["sets"][0] |= {"gone": 1}
    kept["sets"][0]["route"] |= {"gone": [1]}
    assert read_assessment(kept, order.declared, order.quote) == order


def test_kept_before_checks_were_it_still_has_those_that_it_needs() -> None:
    order = assess(read_declared({"sets": ORDERS["all of it"]}), shop(), ON)
    kept = write_assessment(order)
    del kept["sets"][0]["checks"]
    assert order.sets[0].checks
    assert read_assessment(kept, order.declared, order.quote) == order


def test_of_an_open_colour_the_price_and_the_longest_wait_are_kept() -> None:
    order = assess(read_declared({"sets": [WHEELS | {"finish": OPEN}]}), shop(), ON)
    kept = again(order)
    assert kept.appraisal.sample_days == order.appraisal.sample_days > 0
    assert kept.quote == order.quote
    assert (kept.sets[0].cautions, kept.work) == (order.sets[0].cautions, order.work)
    (one,) = kept.sets[0].possible
    longest = max(order.sets[0].possible, key=lambda each: each.powder_days)
    assert one.part_set == longest.part_set
    assert one.part_set.finish is not None


def test_rows_that_were_written_field_by_field_are_still_read_and_written() -> None:
    """`kept_order.json` is what columns of a job held before the schema wrote them."""
    row = json.loads((Path(__file__).parent / "kept_order.json").read_text("utf-8"))
    price = read_quote(row["quote"])
    order = read_assessment(row["assessed"], read_declared(row["declared"]), price)
    assert (price.total, price.lines[0].amount.currency) == (Money(63150, "GBP"), "GBP")
    assert order.sets[0].cautions[0].key == row["assessed"]["sets"][0]["cautions"][0]["key"]
    assert order.work["A"].cures[0].cure_c == row["assessed"]["work"]["A"]["cures"][0][0]
    # nothing that stood there is lost or another; what a later release adds may stand beside it
    expected = without_titles(row["assessed"])
    assert without_new(write_assessment(order), expected) == expected
    assert without_new(write_quote(price), row["quote"]) == row["quote"]


def without_titles(kept: Any) -> Any:
    """Return what was written without the titles of coats, which their roles say."""
    if isinstance(kept, dict):
        gone = {"title"} if "role" in kept else set()
        return {key: without_titles(value) for key, value in kept.items() if key not in gone}
    return [without_titles(one) for one in kept] if isinstance(kept, list) else kept


def without_new(written: Any, kept: Any) -> Any:
    """Return what was written, without the keys that were not there before."""
    if isinstance(written, dict):
        return {key: without_new(value, kept[key]) for key, value in written.items() if key in kept}
    if isinstance(written, list):
        return [without_new(*both) for both in zip(written, kept, strict=True)]
    return written
