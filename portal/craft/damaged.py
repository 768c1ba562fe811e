"""Which parts of a set are damaged: a damage may be on all of them, or on some.

Parts of a set are alike until one of them is looked at, so the damaged ones are counted as its
first: of four wheels with one crack, the first is the cracked one.
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
    """Return the set with each damage on so many of its parts; none of them drops the damage."""
    return replace(
        one,
        damage=tuple(damage for damage in Damage if counts.get(damage, 0) > 0),
        damaged={d: n for d, n in counts.items() if 0 < n < one.count},
        damaged_which=one.damaged_which if any(n > 0 for n in counts.values()) else "",
    )


def only(one: PartSet, places: Collection[int]) -> PartSet:
    """Return the set with the parts at these places alone, counted from 0."""
    left = {damage: sum(at < how_many(one, damage) for at in places) for damage in one.damage}
    return counted(replace(one, count=len(places)), left)


def part_at(one: PartSet, place: int) -> PartSet:
    """Return one part of the set, with its own damage; places count from 0."""
    return only(one, (place,))


def without(one: PartSet, left_at_home: Iterable[Damage]) -> PartSet:
    """Return the set without the parts that have one of these damages.

    What was said of the others stays: how many of them are damaged otherwise is the customer's
    own count, as far as so many parts are left. A count of 0 means that no part is left.
    """
    gone = set(left_at_home)
    count = one.count - min(one.count, sum(how_many(one, damage) for damage in gone))
    kept = {d: min(how_many(one, d), count) for d in one.damage if d not in gone}
    return counted(replace(one, count=count), kept)
