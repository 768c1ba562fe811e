"""What arrived changes the order: which parts are in which set, and what each set is then."""

from dataclasses import replace

import pytest

from portal.craft.bringing import NewTyres
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    Declared,
    Item,
    Layer,
    Making,
    Metal,
    PartKind,
    PartSet,
    Remover,
    Rim,
    WheelBuild,
)
from portal.shop.pricing.differences import (
    Difference,
    DifferenceKind,
    changed_between,
    kinds_of,
    only_fills,
    patched,
)
from portal.shop.pricing.order_parts import (
    OrderParts,
    brought_otherwise,
    every_put_into,
    put_into,
    refitted,
)

WHEELS = PartSet(
    "A",
    PartKind.WHEEL,
    4,
    build=WheelBuild.CAST,
    rim=Rim(18, 8),
    layers=(Layer.FACTORY_PAINT,),
    fitted=(Item.TYRE,),
)
PLATES = PartSet("B", PartKind.PLATE, 2, metal=Metal.STEEL, size_mm=(300.0, 200.0, 3.0))
ORDER = OrderParts(
    Declared(sets=(WHEELS, PLATES), bringing=Bringing.COMPLETE),
    {1: "A", 2: "A", 3: "A", 4: "A", 5: "B", 6: "B"},
)


def counts(order: OrderParts) -> dict[str, int]:
    return {one.key: one.count for one in order.declared.sets}


def bent(*numbers: int, key: str = "A") -> Difference:
    arrived = replace(WHEELS, count=len(numbers), damage=(Damage.BEND,))
    return Difference(key, numbers, arrived, changed=("damage",))


def test_a_few_parts_become_a_set_of_their_own() -> None:
    found = put_into(ORDER, bent(2, 4))
    assert counts(found) == {"A": 2, "C": 2, "B": 2}
    assert found.numbers_of("A") == (1, 3)
    assert found.numbers_of("C") == (2, 4)
    own, rest = found.set_of("C"), found.set_of("A")
    assert own is not None
    assert own.damage == (Damage.BEND,)
    assert replace(own, key="A", count=4, damage=()) == WHEELS
    assert rest == replace(WHEELS, count=2)


def test_what_concerns_all_of_a_set_amends_it() -> None:
    found = put_into(ORDER, bent(1, 2, 3, 4))
    assert counts(found) == {"A": 4, "B": 2}
    assert found.declared.sets[0] == replace(WHEELS, damage=(Damage.BEND,))
    assert found.key_of == ORDER.key_of


@pytest.mark.parametrize(
    ("numbers", "left"), [((3,), {"A": 3, "B": 2}), ((1, 2, 3, 4), {"B": 2}), ((4, 5), None)]
)
def test_parts_that_are_missing_leave_the_order(numbers, left) -> None:
    found = put_into(ORDER, Difference("A", numbers, WHEELS, missing=True))
    assert counts(found) == (left or {"A": 3, "B": 1})
    assert sorted(found.key_of) == sorted(set(ORDER.key_of) - set(numbers))


def test_several_differences_come_one_after_the_other() -> None:
    stripped = Difference("C", (2,), replace(WHEELS, layers=(Layer.POWDER,)), changed=("layers",))
    found = every_put_into(ORDER, [bent(2, 4), stripped])
    assert counts(found) == {"A": 2, "C": 1, "D": 1, "B": 2}
    assert found.groups_of((6, 2, 4, 1, 99)) == {"A": (1,), "D": (2,), "C": (4,), "B": (6,)}
    last = found.set_of("D")
    assert last is not None
    assert (last.damage, last.layers) == ((Damage.BEND,), (Layer.POWDER,))
    assert found.set_of("E") is None


def test_more_parts_are_like_the_others_without_their_damage() -> None:
    order = put_into(ORDER, bent(1, 2, 3, 4))
    found = put_into(order, Difference("A", (7, 8), WHEELS, more=True))
    assert counts(found) == {"A": 6, "B": 2}
    assert found.numbers_of("A") == (1, 2, 3, 4, 7, 8)
    assert found.declared.sets[0].damaged == {Damage.BEND: 4}
    # what is in the order already, or is of no set of it, changes nothing
    assert put_into(order, Difference("A", (1,), WHEELS, more=True)) == order
    assert put_into(order, Difference("Z", (9,), WHEELS, more=True)) == order


def test_an_item_that_nobody_told_of_is_ours_to_take_off() -> None:
    told = replace(WHEELS, removers={Item.TYRE: Remover.YOU})
    order = replace(ORDER, declared=replace(ORDER.declared, sets=(told, PLATES)))
    arrived = replace(WHEELS, fitted=(Item.TYRE, Item.VALVE))
    found = put_into(order, Difference("A", (1, 2, 3, 4), arrived, changed=("fitted",)))
    assert found.declared.sets[0].removers == {Item.TYRE: Remover.YOU, Item.VALVE: Remover.US}


def test_an_order_that_is_brought_another_way_keeps_who_takes_what_off() -> None:
    other = brought_otherwise(ORDER.declared, Bringing.BARE)
    assert other.bringing is Bringing.BARE
    assert other.sets[0].removers == {Item.TYRE: Remover.US}
    own = replace(ORDER.declared, sets=(replace(WHEELS, removers={Item.TYRE: Remover.YOU}),))
    assert brought_otherwise(own, Bringing.WHOLE_CAR).sets[0].removers == {Item.TYRE: Remover.YOU}
    whole = put_into(ORDER, Difference("A", (), WHEELS, bringing=Bringing.BARE))
    assert whole == OrderParts(other, ORDER.key_of)


@pytest.mark.parametrize(
    ("bringing", "tyres", "found"),
    [
        (Bringing.BARE, NewTyres.SAME, Bringing.COMPLETE),
        (Bringing.BARE, NewTyres.BRING, Bringing.COMPLETE),
        (Bringing.BARE, NewTyres.LATER, None),
        (Bringing.COMPLETE, NewTyres.SAME, None),
    ],
)
def test_bare_parts_whose_tyres_we_put_on_are_complete(bringing, tyres, found) -> None:
    assert refitted(replace(ORDER.declared, bringing=bringing), tyres) is found


def test_only_what_differs_is_taken_over() -> None:
    real = replace(WHEELS, layers=(Layer.POWDER,), build=WheelBuild.STEEL, count=1, note="x")
    assert changed_between(WHEELS, real) == ("build", "layers")
    difference = Difference("A", (1,), real, changed=("layers",))
    assert patched(WHEELS, difference) == replace(WHEELS, layers=(Layer.POWDER,))
    # one from before it was kept what differs says all of it, but the finish
    before = replace(difference, changed=())
    found = patched(WHEELS, before)
    assert (found.build, found.layers, found.count) == (real.build, real.layers, 4)
    assert found.finish is WHEELS.finish


def test_as_many_of_fewer_parts_is_the_same_damage() -> None:
    told = replace(WHEELS, damage=(Damage.BEND,), damaged={Damage.BEND: 2})
    assert changed_between(told, replace(told, count=2, damaged={})) == ()
    assert "damaged" in changed_between(told, replace(told, count=1, damaged={}))


UNKNOWN = replace(
    WHEELS,
    build=WheelBuild.UNKNOWN,
    metal=Metal.UNKNOWN,
    rim=None,
    layers=(Layer.WRAP, Layer.UNKNOWN),
    closed=(Closed.UNKNOWN,),
    made=Making.UNKNOWN,
)
REAL = replace(
    UNKNOWN,
    build=WheelBuild.CAST,
    metal=Metal.CAST_ALUMINIUM,
    rim=Rim(18, 8),
    layers=(Layer.WRAP, Layer.POWDER),
    closed=(Closed.NONE,),
    made=Making.CASTING,
)


def test_what_was_not_known_is_only_filled_in() -> None:
    assert only_fills(UNKNOWN, Difference("A", (1,), REAL))
    assert only_fills(REAL, Difference("A", (1,), REAL))


@pytest.mark.parametrize(
    "more",
    [
        {"missing": True},
        {"more": True},
        {"note": "A screw is in it."},
        {"bringing": Bringing.BARE},
    ],
)
def test_what_somebody_has_to_read_fills_nothing(more) -> None:
    assert not only_fills(UNKNOWN, Difference("A", (1,), REAL, **more))


@pytest.mark.parametrize(
    "told",
    [
        {"rim": Rim(17, 8)},
        {"build": WheelBuild.STEEL},
        {"metal": Metal.STEEL},
        {"made": Making.SHEET},
        {"layers": (Layer.FACTORY_PAINT, Layer.UNKNOWN)},
        {"layers": (Layer.WRAP,)},
        {"damage": (Damage.BEND,)},
        {"closed": (Closed.TANK,)},
        {"fitted": ()},
        {"new_tyres": NewTyres.BRING},
    ],
)
def test_what_was_told_otherwise_is_no_gap_that_is_filled(told) -> None:
    assert not only_fills(replace(UNKNOWN, **told), Difference("A", (1,), REAL))


def test_paint_that_may_hold_lead_is_no_gap_that_is_filled() -> None:
    lead = replace(REAL, yellow_to_red=True)
    assert not only_fills(UNKNOWN, Difference("A", (1,), lead))
    assert only_fills(replace(UNKNOWN, yellow_to_red=True), Difference("A", (1,), lead))


def test_the_kind_that_names_a_finding_comes_first() -> None:
    assert kinds_of(WHEELS, Difference("A", (1,), WHEELS, missing=True)) == (
        DifferenceKind.MISSING,
    )
    lost = Difference("A", (1,), WHEELS, missing=True, lost=True)
    assert kinds_of(WHEELS, lost) == (DifferenceKind.LOST,)
    both = Difference("A", (1,), replace(WHEELS, rim=Rim(17, 7), layers=(Layer.POWDER,)), note="?")
    assert kinds_of(WHEELS, both) == (
        DifferenceKind.LAYERS,
        DifferenceKind.SIZE,
        DifferenceKind.OTHER,
    )
    assert both.of((2, 3)).numbers == (2, 3)
