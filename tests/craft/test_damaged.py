"""Damage on some parts of a set: counted, told of each part, left at home."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.appraise import Practice, appraise
from portal.craft.cautions import from_table
from portal.craft.damaged import counted, how_many, only, part_at, without
from portal.craft.declared import read_declared, write_declared
from portal.craft.facts import facts_of
from portal.craft.old_finishes import route
from portal.craft.parts import Damage, Declared, PartKind, PartSet

WHEELS = PartSet("A", PartKind.WHEEL, 4)


def hurt(count: int = 4, **counts: int) -> PartSet:
    return counted(
        replace(WHEELS, count=count, damaged_which="front left"),
        {Damage(name): n for name, n in counts.items()},
    )


def test_a_damage_without_a_count_is_on_all_of_them() -> None:
    old = read_declared({"sets": [{"kind": "wheel", "count": 4, "damage": ["bend"]}]}).sets[0]
    assert how_many(old, Damage.BEND) == 4
    assert how_many(old, Damage.CRACK) == 0
    assert all(part_at(old, place).damage == (Damage.BEND,) for place in range(4))


def test_the_first_parts_are_the_damaged_ones() -> None:
    one = hurt(kerb_rash=2, bend=1)
    assert [set(part_at(one, place).damage) for place in range(4)] == [
        {Damage.KERB_RASH, Damage.BEND},
        {Damage.KERB_RASH},
        set(),
        set(),
    ]


def test_a_cracked_one_stays_at_home_and_nothing_else_is_forgotten() -> None:
    rest = without(hurt(crack=1, kerb_rash=2), [Damage.CRACK])
    assert rest.count == 3
    assert rest.damage == (Damage.KERB_RASH,)
    assert how_many(rest, Damage.KERB_RASH) == 2
    assert rest.damaged_which == "front left"


def test_of_a_set_that_is_cracked_throughout_nothing_is_left() -> None:
    assert without(hurt(crack=4), [Damage.CRACK]).count == 0


def test_a_refusal_says_how_many_it_concerns() -> None:
    def refusals(one: PartSet) -> list[tuple[str, int | None]]:
        answer = appraise(Declared((one,)), Practice()).sets[0]
        return [(caution.key, caution.parts) for caution in answer.refused]

    assert refusals(hurt(crack=1)) == [("crack", 1)]
    assert refusals(hurt(crack=4)) == [("crack", None)]
    assert refusals(hurt(kerb_rash=1)) == []


def test_work_by_hand_is_counted_for_the_damaged_parts_alone() -> None:
    none, one, all_ = (route(hurt(kerb_rash=n)).bench_minutes for n in (0, 1, 4))
    assert 4 * (one - none) == pytest.approx(all_ - none)
    assert all_ > none


counts = st.dictionaries(st.sampled_from(Damage), st.integers(0, 6))


@given(st.integers(1, 6), counts)
def test_counts_are_kept_and_read_back(count: int, found: dict[Damage, int]) -> None:
    one = counted(replace(WHEELS, count=count), found)
    assert {d: how_many(one, d) for d in Damage} == {d: min(count, found.get(d, 0)) for d in Damage}
    assert read_declared(write_declared(Declared((one,)))).sets[0] == one


@given(st.integers(1, 6), counts, st.data())
def test_parts_taken_apart_have_together_what_the_set_had(
    count: int, found: dict[Damage, int], data: st.DataObject
) -> None:
    one = counted(replace(WHEELS, count=count), found)
    places = data.draw(st.sets(st.integers(0, count - 1), min_size=1))
    rest = set(range(count)) - places
    for damage in Damage:
        both = how_many(only(one, places), damage)
        both += how_many(only(one, rest), damage) if rest else 0
        assert both == how_many(one, damage)
        each = [damage in part_at(one, place).damage for place in range(count)]
        assert sum(each) == how_many(one, damage)


@pytest.mark.parametrize("damage", [Damage.BEND, Damage.CRACK])
@pytest.mark.parametrize(("count", "parts"), [(1, 1), (3, 3), (4, None)])
def test_a_caution_names_its_damage_and_how_many_parts_have_it(damage, count, parts) -> None:
    """Of all of them no number is told, and of other damage neither."""
    one = hurt(**{damage.value: count, "corrosion": 2})
    found = [c for c in from_table(one, facts_of(one)) if c.damage is damage]
    assert found
    assert {c.parts for c in found} == {parts}
    assert all(c.damage in (None, damage, Damage.CORROSION) for c in from_table(one, facts_of(one)))
    sound = hurt()
    assert all(c.damage is c.parts is None for c in from_table(sound, facts_of(sound)))
