"""One appraisal: quick, light to import, and without a word missing whatever is described."""

import subprocess
import sys
from dataclasses import fields, is_dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.answers import CautionKind
from portal.craft.appraise import Practice, appraise
from portal.craft.messages import CraftError, Message
from portal.craft.parts import (
    BareZone,
    Bringing,
    Damage,
    Declared,
    FaceStyle,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Metal,
    PartKind,
    PartSet,
    Remover,
    Rim,
    System,
    WheelBuild,
)
from portal.craft.registration import Country, Permission
from tests.craft.shelf import SHELF, finish, part, wheels
from tests.deep import examples
from tests.readers import english

PRACTICE = Practice(stock=SHELF, heat_limit_min_at_200=45)
HEAVY = ("numpy", "coloraide", "flask", "sqlalchemy", "PIL", "weasyprint", "scipy")

RIMS = st.none() | st.builds(
    Rim,
    diameter_code=st.sampled_from([10.0, 13.0, 15.0, 17.0, 18.0, 19.5, 22.0, 24.0]),
    width_code=st.sampled_from([4.0, 6.0, 7.5, 8.5, 11.0]),
    offset_mm=st.none() | st.sampled_from([-20.0, 0.0, 35.0]),
)
FINISHES = st.none() | st.builds(
    FinishChoice,
    system=st.sampled_from(System),
    colour=st.sampled_from(["", "GONE", *SHELF]),
    gloss=st.sampled_from(Gloss),
    face=st.sampled_from(["", "BLACK", "RED"]),
    barrel=st.sampled_from(["", "BLACK", "GONE"]),
    bare=st.lists(st.sampled_from(BareZone), unique=True, max_size=3).map(tuple),
    decide_from_sample=st.booleans(),
)


def some(words, most=4):
    return st.lists(st.sampled_from(words), unique=True, max_size=most).map(tuple)


SETS = st.builds(
    PartSet,
    key=st.just("A"),
    kind=st.sampled_from(PartKind),
    count=st.integers(1, 40),
    metal=st.sampled_from(Metal),
    build=st.none() | st.sampled_from(WheelBuild),
    rim=RIMS,
    face=st.sampled_from(FaceStyle),
    size_mm=st.none() | st.tuples(*[st.floats(20, 3000)] * 3),
    layers=some(Layer),
    damage=some(Damage),
    fitted=some(Item, most=10),
    removers=st.dictionaries(st.sampled_from(Item), st.sampled_from(Remover), max_size=10),
    finish=FINISHES,
    note=st.text(max_size=20),
    permission=st.none() | st.sampled_from(Permission),
)
ORDERS = st.builds(
    Declared,
    sets=st.lists(SETS, max_size=3).map(tuple),
    bringing=st.none() | st.sampled_from(Bringing),
    rush=st.booleans(),
    original_before_1980=st.booleans(),
    registered=st.none() | st.sampled_from(Country),
)


def answered(declared, practice):
    """The appraisal and no error, or the trade's own error and no appraisal."""
    try:
        return appraise(declared, practice), None
    except CraftError as error:
        return None, error


def said_in(answer):
    """Every sentence inside an answer, however deep."""
    if isinstance(answer, Message):
        yield answer
    elif is_dataclass(answer):
        for one in fields(answer):
            yield from said_in(getattr(answer, one.name))
    elif isinstance(answer, tuple | list):
        for one in answer:
            yield from said_in(one)


@given(
    ORDERS, st.sampled_from(["DE", "GB", "US", "", "ZZ"]), st.sampled_from(["", "Yes, because."])
)
def test_anything_that_can_be_described_is_answered_in_whole_sentences(declared, place, decision):
    practice = Practice(stock=SHELF, place=place, place_decision=decision)
    answer, error = answered(declared, practice)
    if error is not None:
        assert english(error.sentence).endswith(".")
        assert error.key.startswith("sets[")
        return
    sentences = list(said_in(answer))
    assert sentences or not declared.sets
    for message in sentences:
        text = english(message)
        assert text.strip()
        assert "{" not in text
    for one in answer.sets:
        assert one.route.why
        assert len(one.removals) == len(one.part_set.fitted)
        assert all(c.says for c in one.cautions)
        # a caution is told once
        assert len({c.key for c in one.cautions}) == len(one.cautions)


@examples(20)
@given(ORDERS)
def test_one_key_tells_one_thing_in_a_whole_order(declared):
    answer, error = answered(declared, PRACTICE)
    told = {}
    for one in answer.sets if error is None else ():
        for caution in one.cautions:
            # a refusal is shown with its own set, and has that set's figures in it
            if caution.kind is not CautionKind.REFUSE:
                assert told.setdefault(caution.key, caution.says) == caution.says


@given(ORDERS)
def test_the_same_order_gets_the_same_answer(declared):
    assert appraise(declared, PRACTICE) == appraise(declared, PRACTICE)


def test_an_ordinary_set_of_wheels_is_answered_whole():
    answer = appraise(Declared(sets=(wheels(),), bringing=Bringing.COMPLETE), PRACTICE)
    (one,) = answer.sets
    assert answer.refused == ()
    assert one.surface.area_m2 > 0.627  # the bare cylinder of an 18 × 8.5 rim, both sides
    assert len(one.removals) == 5
    assert [coat.powder.code for coat in one.coats.coats] == ["BLACK"]
    assert one.needs[0].kg > 0
    assert one.heat.allowed
    # a customer confirms little: what we can't know, and the screen
    confirms = [c.key for c in (*one.cautions, *answer.cautions) if c.kind is CautionKind.CONFIRM]
    assert confirms == ["not_tested_alloy", "screen"]


def test_a_cracked_wheel_is_refused_with_a_reason():
    answer = appraise(Declared(sets=(wheels(damage=(Damage.CRACK,)),)), PRACTICE)
    assert [c.key for c in answer.refused] == ["crack"]
    assert answer.refused[0].instead


def test_a_rule_of_the_place_stops_the_booking_until_the_shop_has_decided():
    order = Declared(sets=(wheels(),))
    undecided = Practice(stock=SHELF, place="DE")
    decided = Practice(stock=SHELF, place="DE", place_decision="Only with the maker's permission.")
    stopped = {c.key for c in appraise(order, undecided).refused}
    assert stopped == {"place_undecided", "place_heat", "place_areas"}
    assert appraise(order, decided).refused == ()


def test_a_colour_that_the_shop_no_longer_has_is_refused_at_its_field():
    answer = appraise(Declared(sets=(wheels(finish=finish(System.SINGLE, "GONE")),)), PRACTICE)
    assert [c.key for c in answer.refused] == ["finish.colour"]
    assert answer.sets[0].coats is None


def test_a_metallic_coat_without_a_clear_coat_is_told_to_dull_sooner():
    def keys(system):
        one = wheels(finish=finish(system, "STRAW"))
        return {c.key for c in appraise(Declared(sets=(one,)), PRACTICE).sets[0].cautions}

    assert "metallic_open" in keys(System.SINGLE)
    assert "metallic_open" not in keys(System.BASE_CLEAR)


def test_magnesium_is_refused_before_any_coat_is_planned():
    answer = appraise(Declared(sets=(wheels(build=WheelBuild.MAGNESIUM),)), PRACTICE)
    assert [c.key for c in answer.refused] == ["metal"]
    assert answer.sets[0].coats is None
    assert answer.sets[0].heat is None


def test_a_wheel_of_unknown_size_has_no_area_and_no_powder_yet():
    (one,) = appraise(Declared(sets=(wheels(rim=None),)), PRACTICE).sets
    assert one.surface is None
    assert one.needs == ()
    assert one.coats is not None


@pytest.mark.parametrize("count", [0, -4])
def test_no_parts_at_all_is_an_error_at_its_field(count):
    with pytest.raises(CraftError) as caught:
        appraise(Declared(sets=(wheels(), wheels(count=count))), PRACTICE)
    assert caught.value.key == "sets[1].count"


def test_the_heat_of_a_heavy_part_uses_its_own_warm_up():
    light = part(PartKind.PLATE, size_mm=(300, 200, 2), metal=Metal.CAST_ALUMINIUM)
    light = PartSet(
        **{f.name: getattr(light, f.name) for f in fields(light)}
        | {"finish": finish(System.SINGLE, "BLACK")}
    )
    answer = appraise(Declared(sets=(light, wheels())), PRACTICE)
    assert answer.sets[0].heat.warm_up_min < answer.sets[1].heat.warm_up_min


def test_an_appraisal_imports_nothing_heavy():
    code = (
        "import sys, portal.craft.appraise, portal.craft.refit, portal.craft.colours\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_finished_set_says_what_its_bakes_do_to_it():
    (one,) = appraise(Declared(sets=(wheels(),)), PRACTICE).sets
    assert one.heat is not None
    assert one.heat.limit_min_at_200 == PRACTICE.heat_limit_min_at_200
    assert one.heat.equivalent_min_at_200 > 0
