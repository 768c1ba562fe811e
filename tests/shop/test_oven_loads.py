"""Loads are filled by cure and room, sets kept together, in the order in which they are wanted."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from portal.shop.route import PartStage
from portal.shop.scheduling.oven_loads import FULL, Waiting, cures_agree, load_of, propose
from portal.shop.scheduling.stations import Cure, Oven, PartWork

OVEN = Oven(size_mm=(1800, 1500, 1800), limit_kg=250, fill=0.6)
WHEEL = PartWork(
    set_key="A",
    minutes={PartStage.PREP: 10, PartStage.BLAST: 10, PartStage.INSPECT: 4, PartStage.REFIT: 0},
    coat=(6, 6),
    cures=(Cure(180, 15, "P"), Cure(200, 20, "C")),
    envelope_mm=(460, 460, 220),
    mass_kg=10,
)

FITS = 25  # of these by mass: 250 kg in loads of 10


def parts(count: int, group: str, first: int, work: PartWork = WHEEL, coat: int = 0):
    return [Waiting(first + n, group, work, coat) for n in range(count)]


def test_parts_of_one_cure_share_a_load() -> None:
    loads = propose([*parts(4, "a", 1), *parts(4, "b", 11)], OVEN)
    assert len(loads) == 1
    assert (loads[0].set_point_c, loads[0].minutes) == (180, 15)
    assert loads[0].part_ids == (1, 2, 3, 4, 11, 12, 13, 14)


def test_parts_of_different_cures_do_not() -> None:
    loads = propose([*parts(2, "a", 1), *parts(2, "b", 11, coat=1)], OVEN)
    assert [(one.part_ids, one.set_point_c) for one in loads] == [((1, 2), 180), ((11, 12), 200)]


def test_a_shop_may_let_close_cures_share_at_the_hottest() -> None:
    close = replace(WHEEL, cures=(Cure(180, 15, "P"), Cure(200, 15, "C")))
    both = [*parts(2, "a", 1, close), *parts(2, "b", 11, close, coat=1)]
    loads = propose(both, replace(OVEN, apart_c=20))
    assert [(one.set_point_c, one.minutes) for one in loads] == [(200, 15)]


def test_a_set_that_does_not_fit_into_what_is_left_waits_whole() -> None:
    loads = propose([*parts(FITS - 1, "a", 1), *parts(4, "b", 101)], OVEN)
    assert loads[0].part_ids == tuple(range(1, FITS))
    assert loads[1].part_ids == (101, 102, 103, 104)


def test_a_smaller_set_further_down_fills_the_gap() -> None:
    loads = propose([*parts(FITS - 1, "a", 1), *parts(4, "b", 101), *parts(1, "c", 201)], OVEN)
    assert 201 in loads[0].part_ids


def test_a_set_larger_than_the_oven_is_spread_over_loads() -> None:
    loads = propose(parts(FITS + 3, "a", 1), OVEN)
    assert [len(one.part_ids) for one in loads] == [FITS, 3]


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 1)), max_size=12))
def test_every_part_goes_into_exactly_one_load_that_holds_it(groups) -> None:
    waiting = [
        part
        for n, (count, coat) in enumerate(groups)
        for part in parts(count, f"g{n}", 1 + 100 * n, coat=coat)
    ]
    loads = propose(waiting, OVEN)
    placed = [part for one in loads for part in one.part_ids]
    assert sorted(placed) == sorted(one.part_id for one in waiting)
    by_id = {one.part_id: one for one in waiting}
    for one in loads:
        inside = [by_id[part] for part in one.part_ids]
        assert cures_agree(inside, OVEN)
        assert load_of(inside, OVEN).share <= FULL or len(inside) == 1
