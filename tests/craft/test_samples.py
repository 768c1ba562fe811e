"""A colour that is decided from samples: nothing is assumed, and what can be done counts."""

from dataclasses import replace

from portal.craft.answers import CautionKind
from portal.craft.appraise import Practice, appraise
from portal.craft.finishes import can_be_made, finishes_from_samples
from portal.craft.parts import Declared, Effect, Gloss, PartKind, Powder, System, WheelBuild
from tests.craft.shelf import SHELF, finish, part, wheels

PRACTICE = Practice(stock=SHELF)


def open_(system, gloss=Gloss.GLOSS):
    return finish(system, "", gloss, decide_from_sample=True)


def answer(one, practice=PRACTICE):
    return appraise(Declared(sets=(one,)), practice).sets[0]


def test_every_powder_of_the_system_is_possible_the_plainest_in_stock_first():
    found = finishes_from_samples(open_(System.SINGLE, Gloss.SATIN), SHELF)
    codes = [one.colour for one in found]
    assert codes[0] == "BLACK-S"  # in stock, plain, in the gloss that was asked for
    assert set(codes) == {"BLACK", "BLACK-S", "RED", "PEWTER", "STRAW", "BRIGHT"}
    assert codes[-1] == "RED"  # the only one that must be bought
    assert {one.gloss for one in found if one.colour == "BLACK"} == {Gloss.GLOSS}


def test_under_a_clear_coat_the_gloss_stays_as_it_was_asked_for():
    found = finishes_from_samples(open_(System.BASE_CLEAR, Gloss.SATIN), SHELF)
    assert {one.gloss for one in found} == {Gloss.SATIN}


def test_no_coat_is_told_but_what_all_of_them_need_is():
    told = answer(wheels(finish=open_(System.BASE_CLEAR)))
    assert told.coats is None
    assert told.heat is None
    assert {need.powder.code for need in told.needs} == {"CLEAR"}
    assert len(told.possible) == len(finishes_from_samples(open_(System.BASE_CLEAR), SHELF))
    assert not told.refused


def test_a_powder_that_might_have_to_be_ordered_counts_from_the_choice():
    told = answer(wheels(finish=open_(System.SINGLE)))
    assert told.powder_days == 0
    assert told.sample_days == SHELF["RED"].lead_days
    chosen = answer(wheels(finish=finish(System.SINGLE, "RED")))
    assert (chosen.powder_days, chosen.sample_days) == (SHELF["RED"].lead_days, 0)


def test_a_colour_that_is_too_hot_is_left_out_and_refuses_nothing():
    hot = Powder("HOT", "Furnace grey", (40, 0, 0), 85, cure=(220, 40), stock_kg=50)
    shelf = {"HOT": hot, **SHELF}
    strict = Practice(stock=shelf, heat_limit_min_at_200=45)
    told = answer(wheels(finish=open_(System.SINGLE)), strict)
    assert not told.refused
    assert "HOT" not in {one.part_set.finish.colour for one in told.possible}
    only = Practice(stock={"HOT": hot}, heat_limit_min_at_200=45)
    refused = answer(wheels(finish=open_(System.SINGLE)), only).refused
    assert [one.kind for one in refused] == [CautionKind.REFUSE]


def test_a_part_that_takes_no_coating_is_refused_as_ever():
    told = answer(wheels(build=WheelBuild.MAGNESIUM, finish=open_(System.SINGLE)))
    assert told.refused
    assert told.possible == ()


def test_it_can_be_made_where_some_colour_can():
    assert can_be_made(wheels(finish=open_(System.TRANSLUCENT)), SHELF)
    dull = {code: p for code, p in SHELF.items() if p.effect is not Effect.TRANSLUCENT}
    assert not can_be_made(wheels(finish=open_(System.TRANSLUCENT)), dull)
    assert not can_be_made(part(PartKind.CALIPER, finish=open_(System.TEXTURE)), SHELF)


def test_an_older_order_with_both_keeps_its_colour():
    both = replace(open_(System.SINGLE), colour="RED")
    assert not both.colour_open
    assert answer(wheels(finish=both)).coats.coats[0].powder.code == "RED"
