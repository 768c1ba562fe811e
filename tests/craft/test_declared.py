"""Orders from files, drafts and jobs: the good come back the same, the rest is named."""

import json
import math
import tomllib
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.declared import read_declared, write_declared
from portal.craft.messages import CraftError
from portal.craft.parts import (
    BareZone,
    Bringing,
    Closed,
    Damage,
    Declared,
    FaceStyle,
    FinishChoice,
    Gloss,
    Item,
    Layer,
    Making,
    Metal,
    OwnCosts,
    PartKind,
    PartSet,
    Remover,
    Rim,
    System,
    Tyre,
    WheelBuild,
)

WHEELS = {"kind": "wheel", "count": 4}


def key_of(order: object) -> str:
    with pytest.raises(CraftError) as caught:
        read_declared(order)  # type: ignore[arg-type]
    assert caught.value.sentence
    return caught.value.key


def test_a_draft_without_finish_and_size_is_read() -> None:
    declared = read_declared({"sets": [WHEELS]})
    assert declared.sets[0].finish is None
    assert declared.sets[0].rim is None
    assert declared.sets[0].key == "A"
    assert declared.bringing is None


def test_an_empty_draft_is_read() -> None:
    assert read_declared({}) == Declared()


@pytest.mark.parametrize(
    ("order", "key"),
    [
        ({"sets": [WHEELS | {"count": 0}]}, "sets[0].count"),
        ({"sets": [WHEELS | {"count": 41}]}, "sets[0].count"),
        ({"sets": [WHEELS | {"count": 4000}]}, "sets[0].count"),
        ({"sets": [WHEELS | {"count": True}]}, "sets[0].count"),
        ({"sets": [WHEELS | {"count": "4"}]}, "sets[0].count"),
        ({"sets": [WHEELS | {"count": 4.0}]}, "sets[0].count"),
        ({"sets": [{"kind": "caliper", "count": 401}]}, "sets[0].count"),
        ({"sets": [{"kind": "wheel"}]}, "sets[0].count"),
        ({"sets": [{"count": 4}]}, "sets[0].kind"),
        ({"sets": [WHEELS, WHEELS | {"kind": "weel"}]}, "sets[1].kind"),
        ({"sets": [WHEELS | {"key": "A"}, WHEELS | {"key": "A"}]}, "sets[1].key"),
        ({"sets": [WHEELS | {"key": "A/B"}]}, "sets[0].key"),
        ({"sets": [WHEELS | {"colour": "red"}]}, "sets[0].colour"),
        ({"sets": [WHEELS | {"layers": ["powder", "powdr"]}]}, "sets[0].layers[1]"),
        ({"sets": [WHEELS | {"layers": "powder"}]}, "sets[0].layers"),
        ({"sets": [WHEELS | {"removers": {"tyre": "me"}}]}, "sets[0].removers.tyre"),
        ({"sets": [WHEELS | {"removers": {"tire": "us"}}]}, "sets[0].removers.tire"),
        ({"sets": [WHEELS | {"finish": {"colour": "RAL9005"}}]}, "sets[0].finish.system"),
        ({"sets": [WHEELS | {"size_mm": [1, 2]}]}, "sets[0].size_mm"),
        ({"sets": [WHEELS | {"size_mm": [1, 2, -3]}]}, "sets[0].size_mm[2]"),
        ({"sets": [WHEELS | {"size_mm": [1, 2, math.inf]}]}, "sets[0].size_mm[2]"),
        ({"sets": [WHEELS | {"size_mm": [1, 2, 10**4000]}]}, "sets[0].size_mm[2]"),
        (
            {"sets": [WHEELS | {"rim": {"diameter_code": 3, "width_code": 7}}]},
            "sets[0].rim.diameter_code",
        ),
        (
            {"sets": [WHEELS | {"rim": {"diameter_code": math.nan, "width_code": 7}}]},
            "sets[0].rim.diameter_code",
        ),
        ({"sets": [WHEELS | {"rim": {"width_code": 7}}]}, "sets[0].rim.diameter_code"),
        ({"sets": [WHEELS | {"tyre": {"rim_code": 17, "width": 225}}]}, "sets[0].tyre.width"),
        ({"sets": [{"kind": "caliper", "count": 2, "build": "cast"}]}, "sets[0].build"),
        ({"sets": [WHEELS | {"closed": ["none"]}]}, "sets[0].closed"),
        ({"sets": [WHEELS | {"what": "lamp"}]}, "sets[0].what"),
        ({"sets": [{"kind": "tube", "count": 2, "closed": ["none", "tank"]}]}, "sets[0].closed"),
        ({"sets": [{"kind": "other", "count": 2, "what": "x" * 61}]}, "sets[0].what"),
        ({"sets": [{"kind": "other", "count": 2, "made": "wood"}]}, "sets[0].made"),
        ({"sets": [WHEELS | {"note": "x" * 501}]}, "sets[0].note"),
        ({"sets": [WHEELS | {"note": "a\x00b"}]}, "sets[0].note"),
        ({"sets": {"kind": "wheel"}}, "sets"),
        ({"sets": ["wheel"]}, "sets[0]"),
        ({"sets": [WHEELS] * 21}, "sets"),
        ({"bringing": "van"}, "bringing"),
        ({"rush": "yes"}, "rush"),
        ({"own_costs": {"trip": -1}}, "own_costs.trip"),
        ({"own_costs": {"trips": 1}}, "own_costs.trips"),
        ({"set": [WHEELS]}, "set"),
        ([], ""),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(order: object, key: str) -> None:
    assert key_of(order) == key


def test_a_misspelt_key_is_answered_with_the_nearest_one() -> None:
    with pytest.raises(CraftError, match="layers"):
        read_declared({"sets": [WHEELS | {"layer": ["powder"]}]})


def test_a_rim_read_off_the_part_is_kept_as_typed_and_as_understood() -> None:
    declared = read_declared({"sets": [WHEELS | {"rim": "8½J×18 H2 ET35"}]})
    one = declared.sets[0]
    assert one.rim_text == "8½J×18 H2 ET35"
    assert one.rim is not None
    assert (one.rim.diameter_code, one.rim.width_code, one.rim.offset_mm) == (18, 8.5, 35)
    assert read_declared(write_declared(declared)) == declared


def test_a_wheel_set_without_a_rim_may_carry_its_tyre() -> None:
    one = read_declared({"sets": [WHEELS | {"tyre": "225/45 R17 94W"}]}).sets[0]
    assert one.rim is None
    assert one.tyre is not None
    assert one.tyre.rim_code == 17


@pytest.mark.parametrize("field", ["rim", "tyre"])
@pytest.mark.parametrize("text", ["3J x 3", "blue", "", "🙂"])
def test_a_marking_that_makes_no_sense_is_refused_with_its_key(field: str, text: str) -> None:
    assert key_of({"sets": [WHEELS | {field: text}]}) == f"sets[0].{field}"


numbers = st.floats(0.5, 200).map(lambda x: round(x, 2))
words = st.text(st.characters(exclude_categories=("C",)), max_size=20)


def some(kind: type) -> st.SearchStrategy:
    return st.lists(st.sampled_from(list(kind)), unique=True, max_size=4).map(tuple)


def without_none(closed: tuple[Closed, ...]) -> tuple[Closed, ...]:
    return tuple(one for one in closed if one is not Closed.NONE)


def maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | strategy


rims = st.builds(
    Rim,
    diameter_code=st.sampled_from([13.0, 16.5, 18.0]),
    width_code=st.sampled_from([5.5, 8.0]),
    flange=st.sampled_from(["J", "JJ", "B"]),
    hump=st.sampled_from(["", "H2"]),
    offset_mm=maybe(st.sampled_from([-12.0, 0.0, 35.0])),
    bolts=maybe(st.integers(3, 8)),
    bolt_circle_mm=maybe(numbers.filter(lambda x: x >= 50)),
    bore_mm=maybe(numbers.filter(lambda x: x >= 10)),
)
tyres = st.builds(
    Tyre,
    rim_code=st.sampled_from([15.0, 17.0]),
    width_mm=maybe(st.sampled_from([195.0, 225.0])),
    aspect=maybe(st.sampled_from([45.0, 82.0])),
    load_index=maybe(st.integers(60, 120)),
    speed=st.sampled_from(["", "W", "(Y)"]),
    extra_load=st.booleans(),
)
finishes = st.builds(
    FinishChoice,
    system=st.sampled_from(System),
    colour=st.text("ABC-123", max_size=8),
    gloss=st.sampled_from(Gloss),
    face=st.text("ABC-123", max_size=8),
    barrel=st.text("ABC-123", max_size=8),
    bare=some(BareZone),
    decide_from_sample=st.booleans(),
)
common = {
    "count": st.integers(1, 40),
    "metal": st.sampled_from(Metal),
    "size_mm": maybe(st.tuples(numbers, numbers, numbers)),
    "layers": some(Layer),
    "damage": some(Damage),
    "fitted": some(Item),
    "removers": st.dictionaries(st.sampled_from(Item), st.sampled_from(Remover), max_size=4),
    "finish": maybe(finishes),
    "note": words,
}
wheels = st.builds(
    PartSet,
    key=st.just("A"),
    kind=st.just(PartKind.WHEEL),
    build=maybe(st.sampled_from(WheelBuild)),
    rim=maybe(rims),
    tyre=maybe(tyres),
    rim_text=words,
    tyre_text=words,
    face=st.sampled_from(FaceStyle),
    **common,
)
others = st.builds(
    PartSet,
    key=st.just("B"),
    kind=st.sampled_from([k for k in PartKind if k is not PartKind.WHEEL]),
    what=words.filter(lambda text: len(text) <= 60),
    made=st.sampled_from(Making),
    closed=st.just((Closed.NONE,)) | some(Closed).map(without_none),
    **common,
)
orders = st.builds(
    Declared,
    sets=st.lists(st.one_of(wheels, others), max_size=2, unique_by=lambda s: s.key).map(tuple),
    bringing=maybe(st.sampled_from(Bringing)),
    own_costs=st.builds(OwnCosts, maybe(st.integers(0, 9999)), maybe(st.just(0)), st.none()),
    rush=st.booleans(),
    original_before_1980=st.booleans(),
)


@given(orders)
def test_what_is_written_is_read_back_the_same(order: Declared) -> None:
    assert read_declared(json.loads(json.dumps(write_declared(order)))) == order


things = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(
                ["sets", "kind", "count", "rim", "tyre", "finish", "size_mm", "note", "key"]
            )
            | st.text(),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@given(things)
def test_anything_at_all_is_read_or_refused_by_our_own_error(thing: object) -> None:
    for order in ({"sets": [thing]}, thing):
        with suppress(CraftError):
            read_declared(order)  # type: ignore[arg-type]


def test_an_order_from_before_these_questions_reads_as_not_asked() -> None:
    one = read_declared({"sets": [{"kind": "railing", "count": 2}]}).sets[0]
    assert (one.what, one.made, one.closed) == ("", Making.UNKNOWN, ())


def test_an_order_file_in_toml_is_read() -> None:
    text = """
    bringing = "complete"
    [[sets]]
    kind = "wheel"
    count = 4
    rim = "7.5J x 17 ET45"
    fitted = ["tyre", "valve"]
    removers = { tyre = "us" }
    [sets.finish]
    system = "single"
    colour = "JET-G"
    """
    one = read_declared(tomllib.loads(text)).sets[0]
    assert one.removers == {Item.TYRE: Remover.US}
    assert one.finish == FinishChoice(System.SINGLE, "JET-G")


def test_a_marking_is_kept_as_it_was_typed_and_one_that_is_told_beside_it_as_told():
    typed = {"kind": "wheel", "count": 4, "rim": "8J x 18", "tyre": "225/40 R18"}
    told = typed | {"rim_text": "8Jx18 cast", "tyre_text": "as mounted"}
    (one,) = read_declared({"sets": [typed]}).sets
    assert (one.rim_text, one.tyre_text) == ("8J x 18", "225/40 R18")
    (one,) = read_declared({"sets": [told]}).sets
    assert (one.rim_text, one.tyre_text) == ("8Jx18 cast", "as mounted")
