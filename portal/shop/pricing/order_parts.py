"""How differences change an order: which part is in which set, and what each set is then.

When a difference concerns all parts of a set the set is amended; when it concerns a few, these
become a set of their own, because only equal parts are finished alike.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from portal.craft.bringing import NewTyres
from portal.craft.damaged import counted, how_many, only
from portal.craft.parts import Bringing, Declared, Item, PartSet, Remover
from portal.craft.removals import removals
from portal.shop.pricing.differences import Difference, patched


@dataclass(frozen=True, slots=True)
class OrderParts:
    """An order, and the set of each part that it counts on, by the number of the part."""

    declared: Declared
    key_of: Mapping[int, str]

    def set_of(self, key: str) -> PartSet | None:
        """Return a set of the order; None where there is none of this key."""
        return next((one for one in self.declared.sets if one.key == key), None)

    def numbers_of(self, key: str) -> tuple[int, ...]:
        """Return the parts of a set, in their order."""
        return tuple(sorted(n for n, one in self.key_of.items() if one == key))

    def groups_of(self, numbers: Iterable[int]) -> dict[str, tuple[int, ...]]:
        """Return some parts by the set in which they are; parts that are in none are left out."""
        found: dict[str, list[int]] = {}
        for number in sorted(numbers):
            if number in self.key_of:
                found.setdefault(self.key_of[number], []).append(number)
        return {key: tuple(own) for key, own in found.items()}

    def as_declared(self, key: str, numbers: Iterable[int]) -> PartSet:
        """Return a set with only these of its parts, each with its own damage."""
        own, places = self.set_of(key), self.numbers_of(key)
        assert own is not None  # a part is in a set of the order
        wanted = set(numbers)
        return only(own, [at for at, n in enumerate(places) if n in wanted])


def put_into(order: OrderParts, difference: Difference) -> OrderParts:
    """Return the order as it really is."""
    if difference.more:
        return _with_more(order, difference)
    if difference.bringing is not None:
        declared = brought_otherwise(order.declared, difference.bringing)
        order = OrderParts(declared, order.key_of)
    for key, numbers in order.groups_of(difference.numbers).items():
        order = _in_one_set(order, key, difference.of(numbers))
    return order


def every_put_into(order: OrderParts, differences: Iterable[Difference]) -> OrderParts:
    """Return the order with several differences, one after the other."""
    for one in differences:
        order = put_into(order, one)
    return order


def brought_otherwise(declared: Declared, bringing: Bringing) -> Declared:
    """Return the order brought another way; who takes what off stays as it was told so far."""
    return replace(
        declared,
        bringing=bringing,
        sets=tuple(
            replace(one, removers={**_usual(one, declared.bringing), **one.removers})
            for one in declared.sets
        ),
    )


def refitted(declared: Declared, tyres: NewTyres) -> Bringing | None:
    """Return how an order is brought whose tyres we take off and put on; None for as told.

    Of parts that were to come bare the shop puts nothing back on; with tyres they are complete.
    """
    if declared.bringing is Bringing.BARE and tyres is not NewTyres.LATER:
        return Bringing.COMPLETE
    return None


def _usual(one: PartSet, bringing: Bringing | None) -> dict[Item, Remover]:
    return {removal.item: removal.by(one) for removal in removals(one, bringing)}


def _in_one_set(order: OrderParts, key: str, difference: Difference) -> OrderParts:
    own, every = order.set_of(key), order.numbers_of(key)
    assert own is not None  # a part is in a set of the order
    rest = [at for at, n in enumerate(every) if n not in difference.numbers]
    gone = () if difference.missing else (_real(order, key, difference),)
    new_key = key if not rest or difference.missing else _free_key(order.declared)
    put = tuple(replace(one, key=new_key) for one in gone)
    if rest:
        put = (only(own, rest), *put)
    sets: list[PartSet] = []
    for one in order.declared.sets:
        sets += put if one.key == key else (one,)
    key_of = {n: k for n, k in order.key_of.items() if n not in difference.numbers}
    if not difference.missing:
        key_of |= dict.fromkeys(difference.numbers, new_key)
    return OrderParts(replace(order.declared, sets=tuple(sets)), key_of)


def _real(order: OrderParts, key: str, difference: Difference) -> PartSet:
    declared = order.as_declared(key, difference.numbers)
    real = patched(declared, difference)
    # whoever brought an undeclared item left it for us to take off
    removers = dict(declared.removers)
    for item in real.fitted:
        if item not in declared.fitted:
            removers[item] = Remover.US
    return replace(real, removers=removers)


def _with_more(order: OrderParts, difference: Difference) -> OrderParts:
    """Return the order with parts beside those of a set, like them but without their damage."""
    own = order.set_of(difference.set_key)
    new = [number for number in difference.numbers if number not in order.key_of]
    if own is None or not new:
        return order
    damage = {one: how_many(own, one) for one in own.damage}
    more = counted(replace(own, count=own.count + len(new)), damage)
    sets = tuple(more if one.key == own.key else one for one in order.declared.sets)
    key_of = {**order.key_of, **dict.fromkeys(new, own.key)}
    return OrderParts(replace(order.declared, sets=sets), key_of)


def _free_key(declared: Declared) -> str:
    taken = {one.key.upper() for one in declared.sets}
    return next(letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in taken)
