"""What sets are called: never two alike, front and rear apart, in every language."""

import itertools
import random
from dataclasses import replace

import pytest

from portal.craft.part_names import name_of, set_names
from portal.craft.parts import FinishChoice, PartKind, PartSet, Rim, System
from tests.readers import english, read_in


def wheels(key: str, width: float = 8.5, diameter: float = 19, count: int = 2) -> PartSet:
    return PartSet(key, PartKind.WHEEL, count, rim=Rim(diameter, width), rim_text="as cast")


def in_colour(one: PartSet, colour: str) -> PartSet:
    return replace(one, finish=FinishChoice(System.SINGLE, colour))


def called(*sets: PartSet, **colours: str) -> list[str]:
    return [english(name.of_set) for name in set_names(sets, colours).values()]


def test_two_pairs_of_wheels_are_front_and_rear() -> None:
    assert called(wheels("A", 9.5), wheels("B", 8.5)) == [
        "2 × 19 × 9½ rear wheels",
        "2 × 19 × 8½ front wheels",
    ]


def test_two_full_sets_are_told_by_their_size_alone() -> None:
    assert called(wheels("A", count=4), wheels("B", 7, 17, count=4)) == [
        "4 × 19 × 8½ wheels",
        "4 × 17 × 7 wheels",
    ]


def test_a_width_that_nobody_told_is_not_in_the_name() -> None:
    guessed = replace(wheels("A"), rim_text="")
    assert called(guessed) == ["2 × 19-inch wheels"]
    assert english(name_of(replace(guessed, count=1)).of_set) == "1 × 19-inch wheel"


def test_other_parts_get_their_size_only_where_it_tells_them_apart() -> None:
    tall = PartSet("A", PartKind.RAILING, 2, size_mm=(1800, 1000, 40))
    low = PartSet("B", PartKind.RAILING, 1, size_mm=(1200, 500, 40))
    assert called(tall) == ["2 × railings"]
    assert called(tall, low) == [
        "2 × railings 1,800 × 1,000 × 40 mm",
        "1 × railing 1,200 × 500 × 40 mm",
    ]


def test_colours_tell_sets_apart_and_letters_come_last() -> None:
    red, black = in_colour(wheels("A"), "r"), in_colour(wheels("B"), "b")
    assert called(red, black, r="Signal red", b="Jet black") == [
        "2 × 19 × 8½ wheels, Signal red",
        "2 × 19 × 8½ wheels, Jet black",
    ]
    assert called(red, replace(red, key="B"), r="Signal red") == [
        "2 × 19 × 8½ wheels (A)",
        "2 × 19 × 8½ wheels (B)",
    ]


@pytest.mark.parametrize("seed", range(40))
def test_no_two_sets_of_an_order_share_a_name(seed: int) -> None:
    chance = random.Random(seed)
    sets = []
    for key in "ABCDE":
        kind = chance.choice(list(PartKind))
        one = PartSet(key, kind, chance.choice((1, 2)), size_mm=chance.choice(SIZES))
        if kind is PartKind.WHEEL:
            one = replace(wheels(key, chance.choice((8, 8.5))), size_mm=None)
        sets.append(in_colour(one, chance.choice("rb")))
    names = set_names(sets, {"r": "Signal red", "b": "Jet black"})
    for locale in ("en", "de", "es"):
        for name, other in itertools.combinations(names.values(), 2):
            assert read_in(name.of_parts, locale) != read_in(other.of_parts, locale)


SIZES = ((600.0, 80.0, 80.0), (300.0, 80.0, 80.0))


def test_a_name_is_told_in_the_readers_language() -> None:
    front, _rear = set_names([wheels("A"), wheels("B", 9.5)]).values()
    assert read_in(front.of_set, "de") == "2 × Räder 19 × 8½ vorn"
    assert read_in(front.of_one, "es") == "Llanta 19 × 8½ delantera"
