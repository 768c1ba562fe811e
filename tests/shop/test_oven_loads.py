"""Oven loads: sets stay together, one cure in a load, never more than the oven holds."""

import math
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.shop.oven_loads import Load, Waiting, cures_agree, load_of, propose
from portal.shop.stations import GAP_MM, Cure, Oven, PartWork, oven_share

OVEN = Oven(size_mm=(2000, 1000, 1000), limit_kg=100, fill=0.5)
QUARTER = (500 - GAP_MM, 500 - GAP_MM, 1000 - GAP_MM)  # with its air a quarter of the load


def work(*cures: Cure, size: tuple[float, float, float] = QUARTER, mass: float = 10.0) -> PartWork:
    return PartWork(
        set_key="A",
        prep=8,
        blast=10,
        coat=(8.0,) * len(cures),
        cures=cures,
        inspect=4,
        refit=0,
        envelope_mm=size,
        mass_kg=mass,
    )


BLACK, RED, SLOW, HOT = (
    *(Cure(180, 15, "BLACK"), Cure(180, 15, "RED")),
    *(Cure(180, 25, "SLOW"), Cure(200, 10, "HOT")),
)


def waiting(groups: str, *works: PartWork, coat: int = 0) -> list[Waiting]:
    """One waiting part for each letter; all with the same work, or each with its own."""
    each = works if len(works) == len(groups) else works * len(groups)
    return [
        Waiting(n, group, one, coat)
        for n, (group, one) in enumerate(zip(groups, each, strict=True))
    ]


def ids(loads: tuple[Load, ...]) -> list[tuple[int, ...]]:
    return [one.part_ids for one in loads]


def test_an_empty_queue_makes_no_load():
    assert propose([], OVEN) == ()


def test_a_set_that_fits_into_what_is_left_joins_and_one_that_does_not_waits_whole():
    # a and b leave one quarter free; c would be torn, d fits
    assert ids(propose(waiting("abbccd", work(BLACK)), OVEN)) == [(0, 1, 2, 5), (3, 4)]


def test_a_set_stays_together_although_others_stand_between_its_parts():
    assert ids(propose(waiting("abab", work(BLACK)), OVEN)) == [(0, 2, 1, 3)]
    assert ids(propose(waiting("abaab", work(BLACK)), OVEN)) == [(0, 2, 3), (1, 4)]


def test_a_set_larger_than_the_oven_is_spread_over_loads_and_fills_them():
    loads = propose(waiting("aaaaaa", work(BLACK)), OVEN)
    assert ids(loads) == [(0, 1, 2, 3), (4, 5)]


def test_a_part_larger_than_a_load_still_gets_one_of_its_own():
    giant = work(BLACK, size=(1900, 900, 900))
    loads = propose(waiting("ab", giant, work(BLACK)), OVEN)
    assert ids(loads) == [(0,), (1,)]
    assert loads[0].share > 1


def test_colours_share_a_load_when_they_cure_alike_and_temperatures_apart_do_not():
    loads = propose(waiting("abc", work(BLACK), work(RED), work(HOT)), OVEN)
    assert ids(loads) == [(0, 1), (2,)]


def test_temperatures_close_enough_for_the_shop_share_and_run_hottest_and_longest():
    near = Oven(OVEN.size_mm, OVEN.limit_kg, fill=OVEN.fill, apart_c=20)
    loads = propose(waiting("abc", work(BLACK), work(SLOW), work(HOT)), near)
    assert ids(loads) == [(0, 1, 2)]
    assert (loads[0].set_point_c, loads[0].minutes) == (200, 25)
    assert loads[0].share == pytest.approx(0.75)


def test_heavy_parts_fill_a_load_by_their_mass():
    loads = propose(waiting("aaab", work(BLACK, size=(100, 100, 100), mass=40)), OVEN)
    assert ids(loads) == [(0, 1), (2, 3)]


def test_ten_parts_of_a_tenth_fill_the_oven_exactly():
    loads = propose(waiting("abcdefghij", work(BLACK, size=(100, 100, 100), mass=10)), OVEN)
    assert len(loads) == 1


def test_the_cure_that_counts_is_that_of_the_coat_on_the_part():
    two = work(BLACK, HOT)
    assert waiting("a", two)[0].cure == BLACK
    assert waiting("a", two, coat=1)[0].cure == HOT
    assert waiting("a", two, coat=2)[0].cure == HOT  # a part that is done twice over
    assert not cures_agree([*waiting("a", two), *waiting("b", two, coat=1)], OVEN)


def test_a_load_made_by_hand_adds_up():
    load = load_of(waiting("ab", work(BLACK), work(SLOW)), OVEN)
    assert (load.part_ids, load.set_point_c, load.minutes) == ((0, 1), 180, 25)
    assert load.share == pytest.approx(0.5)


@st.composite
def queues(draw: st.DrawFn) -> list[Waiting]:
    groups = draw(st.lists(st.sampled_from("abcdefg"), min_size=1, max_size=24))
    kinds = {
        group: work(
            draw(st.sampled_from([BLACK, RED, SLOW, HOT])),
            size=draw(st.sampled_from([QUARTER, (300, 300, 200), (640, 600, 400)])),
            mass=draw(st.floats(0.5, 45)),
        )
        for group in sorted(set(groups))
    }
    return [Waiting(n, group, kinds[group], 0) for n, group in enumerate(groups)]


@settings(max_examples=200, deadline=None)
@given(queues(), st.sampled_from([0, 10, 20]))
def test_every_part_gets_exactly_one_load_that_the_oven_bears(queue, apart):
    oven = Oven(OVEN.size_mm, OVEN.limit_kg, fill=OVEN.fill, apart_c=apart)
    by_id = {one.part_id: one for one in queue}
    loads = propose(queue, oven)
    assert Counter(n for one in loads for n in one.part_ids) == Counter(by_id.keys())
    for load in loads:
        parts = [by_id[n] for n in load.part_ids]
        heats = [one.cure.cure_c for one in parts]
        assert max(heats) - min(heats) <= apart
        room = sum(math.prod(side + GAP_MM for side in one.work.envelope_mm) for one in parts)
        assert room <= math.prod(oven.size_mm) * oven.fill * (1 + 1e-9)
        assert sum(one.work.mass_kg for one in parts) <= oven.limit_kg * (1 + 1e-9)


@settings(max_examples=200, deadline=None)
@given(queues())
def test_a_set_that_fits_into_the_oven_is_never_torn(queue):
    where = {n: k for k, load in enumerate(propose(queue, OVEN)) for n in load.part_ids}
    for group in {one.group for one in queue}:
        parts = [one for one in queue if one.group == group]
        if sum(oven_share(one.work, OVEN) for one in parts) <= 1 - 1e-9:
            assert len({where[one.part_id] for one in parts}) == 1
