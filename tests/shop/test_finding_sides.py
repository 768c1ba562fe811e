"""Every side of a difference is told in its own sentence: for wheels and parts, one and several."""

from dataclasses import replace
from types import MappingProxyType

import pytest

from portal.craft.bringing import NewTyres
from portal.craft.check_kinds import Found
from portal.craft.hollow import Making
from portal.craft.messages import Message, Plural
from portal.craft.parts import (
    Bringing,
    Closed,
    Damage,
    Effect,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Powder,
    Rim,
    System,
    WheelBuild,
)
from portal.craft.quantities import Box
from portal.shop.change_words import finish_named
from portal.shop.finding_words import DAMAGE, describe_difference, listed, size_of
from portal.shop.found_words import FOUND
from portal.shop.pricing.differences import Difference
from tests.readers import english

EMBER = Powder("E", "Ember", (50, 0, 0), 80, Effect.SOLID)
STOCK = MappingProxyType({"E": EMBER})
EMBERED = FinishChoice(System.SINGLE, "E", Gloss.SATIN)
BLACK = FinishChoice(System.BASE_CLEAR, "GONE", Gloss.GLOSS)
WHEELS = PartSet("A", PartKind.WHEEL, 4, build=WheelBuild.CAST, rim=Rim(18, 8), finish=EMBERED)
PLATES = PartSet("A", PartKind.PLATE, 4, metal=Metal.STEEL, size_mm=(300.0, 200.4, 3.0))
BY_KIND = {"wheel": WHEELS, "part": PLATES}


def said(one: PartSet, numbers: tuple[int, ...], change: dict, **more) -> list[str]:
    """What is told where `numbers` of a set are as `change` says."""
    real = replace(one, count=len(numbers), **change)
    found = Difference("A", numbers, real, **more)
    return [english(each) for each in describe_difference(one, found, STOCK, Bringing.COMPLETE)]


def forms(pair: tuple[Plural, Plural], kind: str) -> Plural:
    return pair[0 if kind == "wheel" else 1]


@pytest.mark.parametrize("kind", BY_KIND)
@pytest.mark.parametrize("damage", Damage)
def test_damage_that_nobody_mentioned(damage: Damage, kind: str) -> None:
    words, one = forms(DAMAGE[damage], kind), BY_KIND[kind]
    change = {"damage": (damage,)}
    assert said(one, (2,), change) == [words.one.format(numbers="2")]
    assert said(one, (1, 3), change) == [words.many.format(count=2, numbers="1, 3")]


@pytest.mark.parametrize("kind", BY_KIND)
@pytest.mark.parametrize("found", Found)
def test_what_a_test_of_ours_found(found: Found, kind: str) -> None:
    words, one = forms(FOUND[found], kind), BY_KIND[kind]
    assert said(one, (2,), {"found": (found,)}) == [words.one.format(numbers="2")]
    known = replace(one, found=(found,))
    assert said(known, (2,), {"found": (found,)}) == []


SIDES = [
    ("wheel", (2,), {}, {"missing": True}, "One wheel was not brought: number 2."),
    ("part", (2, 4), {}, {"missing": True}, "2 parts were not brought: numbers 2, 4."),
    (
        "part",
        (3,),
        {},
        {"missing": True, "lost": True, "note": "fell off the van"},
        (
            "We have lost part 3 (fell off the van). We are sorry. We take its price off and will "
            "agree with you what it is worth. Shall we go on with the rest?"
        ),
    ),
    ("wheel", (5,), {}, {"more": True}, "One wheel more than ordered: number 5."),
    ("part", (5, 6), {}, {"more": True}, "2 parts more than ordered: numbers 5, 6."),
    (
        "wheel",
        (1, 2),
        {"finish": BLACK},
        {},
        (
            "Another finish for 2 wheels (numbers 1, 2): Colour and clear coat, Gloss. Your order "
            "says: Single coat, Ember, Satin."
        ),
    ),
    (
        "part",
        (1,),
        {"finish": EMBERED},
        {},
        "Another finish for one part (number 1): Single coat, Ember, Satin. Your order says: none.",
    ),
    (
        "wheel",
        (1, 2, 3, 4),
        {},
        {"bringing": Bringing.BARE},
        "The parts were brought another way: Parts only. Your order says: Wheels with tyres.",
    ),
    (
        "part",
        (1,),
        {"layers": (Layer.POWDER, Layer.CHROME)},
        {},
        (
            "One part has a different old finish from your order (number 1). We found: {POWDER}, "
            "{CHROME}. Your order says: none."
        ),
    ),
    (
        "wheel",
        (1, 2),
        {"yellow_to_red": True},
        {},
        "The old paint of 2 wheels is yellow, orange or red (numbers 1, 2).",
    ),
    (
        "part",
        (4,),
        {"yellow_to_red": True},
        {},
        (
            "The old paint of one part is yellow, orange or red (number 4). It can contain lead, "
            "so we test it first."
        ),
    ),
    (
        "wheel",
        (2,),
        {"fitted": (Item.CENTRE_CAP,)},
        {},
        "One wheel has something fitted that you didn't mention (number 2): {CENTRE_CAP}.",
    ),
    (
        "part",
        (2,),
        {"closed": (Closed.SEALED_TUBE,)},
        {},
        (
            "One part is closed or sealed in a different way from your order (number 2). We found: "
            "{SEALED_TUBE}. Your order says: none."
        ),
    ),
    (
        "part",
        (1, 2),
        {"metal": Metal.CAST_IRON},
        {},
        (
            "2 parts are of a different metal or build from your order (numbers 1, 2). We found: "
            "{CAST_IRON}. Your order says: {STEEL}."
        ),
    ),
    (  # a wheel's build says its metal, so only what differs is told
        "wheel",
        (1,),
        {"metal": Metal.STEEL},
        {},
        "You weren't sure what one wheel is made of (number 1). We found: {STEEL}.",
    ),
    (
        "part",
        (1,),
        {"made": Making.CASTING},
        {},
        "You weren't sure what one part is made of (number 1). We found: {CASTING}.",
    ),
    (
        "part",
        (1, 2),
        {"size_mm": (310.0, 200.0, 3.0)},
        {},
        (
            "2 parts have a different size from your order (numbers 1, 2). We measured: "
            "310 × 200 × 3 mm. Your order says: 300 × 200 × 3 mm."
        ),
    ),
    ("part", (1,), {}, {"note": "scratched box"}, "Part 1: scratched box"),
    ("wheel", (1, 3), {}, {"note": "scratched box"}, "Parts 1, 3: scratched box"),
]
WORDS = {
    one.name: english(Message("{word}", word=one))
    for kind in (Layer, Item, Closed, Metal, Making)
    for one in kind
}


@pytest.mark.parametrize(("kind", "numbers", "change", "more", "says"), SIDES)
def test_each_side_is_told_in_its_sentence(kind, numbers, change, more, says: str) -> None:
    said_words = {f"{{{name}}}": word for name, word in WORDS.items()}
    for name, word in said_words.items():
        says = says.replace(name, word)
    assert said(BY_KIND[kind], numbers, change, **more) == [says]


def test_something_that_was_to_be_on_it_is_not() -> None:
    one = replace(WHEELS, fitted=(Item.CENTRE_CAP, Item.VALVE))
    cap, valve = WORDS["CENTRE_CAP"], WORDS["VALVE"]
    assert said(one, (1, 2), {"fitted": ()}) == [
        (
            "2 wheels came without something that your order says is fitted (numbers 1, 2): "
            f"{cap}, {valve}."
        )
    ]
    assert said(one, (1,), {"fitted": (Item.SENSOR, Item.VALVE)}) == [
        f"One wheel has something fitted that you didn't mention (number 1): {WORDS['SENSOR']}.",
        f"One wheel came without something that your order says is fitted (number 1): {cap}.",
    ]


TYRES = {
    NewTyres.SAME: "We take the tyres off, put the same ones back on and balance them.",
    NewTyres.BRING: "We take the old tyres off, fit the new ones and balance them.",
    NewTyres.LATER: "We take the tyres off. Your tyre shop fits new ones later.",
}


@pytest.mark.parametrize("tyres", NewTyres)
def test_which_tyres_go_on(tyres: NewTyres) -> None:
    came = said(WHEELS, (1,), {"fitted": (Item.TYRE,), "new_tyres": tyres})
    assert came[1:] == [TYRES[tyres]]
    known = replace(WHEELS, fitted=(Item.TYRE,))
    again = said(known, (1,), {"new_tyres": tyres})
    assert again == ([] if tyres is NewTyres.SAME else [TYRES[tyres]])
    off = replace(WHEELS, fitted=(), new_tyres=NewTyres.SAME)
    assert TYRES[tyres] not in said(off, (1,), {"new_tyres": tyres})


def test_a_way_that_the_order_did_not_say_is_not_compared() -> None:
    found = Difference("A", (1,), replace(WHEELS, count=1), bringing=Bringing.BARE)
    assert describe_difference(WHEELS, found, STOCK, None) == ()
    same = Difference("A", (1,), replace(WHEELS, count=1))
    assert describe_difference(WHEELS, same, STOCK, Bringing.BARE) == ()


def test_less_damage_is_told_beside_more() -> None:
    one = replace(WHEELS, damage=(Damage.BEND, Damage.CORROSION), damaged={Damage.BEND: 1})
    told = said(one, (1, 2), {"damage": (Damage.CRACK,), "damaged": {}})
    bend, corrosion = (english(Message("{x}", x=d)) for d in (Damage.BEND, Damage.CORROSION))
    assert told == [
        "We found cracks in 2 wheels that you didn't mention (numbers 1, 2).",
        f"2 wheels don't have the damage you mentioned (numbers 1, 2): {bend}, {corrosion}.",
    ]


def test_a_finish_in_a_few_words() -> None:
    assert english(finish_named(None, STOCK)) == "none"
    assert english(finish_named(EMBERED, STOCK)) == "Single coat, Ember, Satin"
    assert english(finish_named(BLACK, STOCK)) == "Colour and clear coat, Gloss"


def test_a_size_as_typed_or_in_figures() -> None:
    typed = replace(WHEELS, rim_text="8J x 18", tyre_text="225/40 R18")
    assert size_of(typed) == "8J x 18 · 225/40 R18"
    assert size_of(replace(WHEELS, tyre_text="225/40 R18")) == "225/40 R18"
    assert size_of(replace(WHEELS, rim_text="8J x 18")) == "8J x 18"
    assert size_of(WHEELS) == "8J×18"
    assert size_of(PLATES) == Box((300, 200, 3))
    assert size_of(replace(PLATES, size_mm=None)) == "–"
    assert listed([]) == Message("none")
    assert listed([Layer.POWDER]) == (Layer.POWDER,)
