"""Which parts of a set are damaged: all of them, or some.

Parts of a set are alike until one of them is inspected, so the first ones count as the damaged
ones: of four wheels with one crack, the first is cracked.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from portal.craft.parts import Damage, PartSet


def how_many(one: PartSet, damage: Damage) -> int:
    """Return how many parts of the set have this damage; 0 where it was not declared."""
    if damage not in one.damage:
        return 0
    return min(one.damaged.get(damage, one.count), one.count)


def counted(one: PartSet, counts: Mapping[Damage, int]) -> PartSet:
    """Return the set with each damage on that many parts; a count of 0 removes the damage."""
    return replace(
        one,
        damage=tuple(damage for damage in Damage if counts.get(damage, 0) > 0),
        damaged={d: n for d, n in counts.items() if 0 < n < one.count},
        damaged_which=one.damaged_which if any(n > 0 for n in counts.values()) else "",
    )


def only(one: PartSet, places: Collection[int]) -> PartSet:
    """Return the set with only the parts at these positions, counted from 0."""
    left = {damage: sum(at < how_many(one, damage) for at in places) for damage in one.damage}
    return counted(replace(one, count=len(places)), left)


def part_at(one: PartSet, place: int) -> PartSet:
    """Return one part of the set, with its own damage; positions count from 0."""
    return only(one, (place,))


def without(one: PartSet, left_at_home: Iterable[Damage]) -> PartSet:
    """Return the set without the parts that have one of these damages.

    The other damage stays: the customer counted how many parts have it, so it applies to as many as
    are left. A count of 0 means that no part is left.
    """
    gone = set(left_at_home)
    count = one.count - min(one.count, sum(how_many(one, damage) for damage in gone))
    counts = {d: min(how_many(one, d), count) for d in one.damage if d not in gone}
    return counted(replace(one, count=count), counts)
