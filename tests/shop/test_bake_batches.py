"""What may share a load: the same purpose and time, at temperatures close enough."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.bakes import Bake, Schedule
from portal.shop.route import PartStage
from portal.shop.scheduling.bake_batches import agree, all_agree, batch_of
from portal.shop.scheduling.lots import visits
from portal.shop.scheduling.oven_loads import Waiting, propose
from portal.shop.scheduling.stations import (
    Cure,
    Oven,
    PartWork,
    read_stations,
    read_work,
    write_work,
)
from tests.shop.test_stations import DEMO

FULL = Schedule(Bake.CURE, 180, 15, 15)
OVEN = Oven()
TWO = PartWork(
    set_key="A",
    minutes={},
    coat=(6, 6),
    cures=(Cure(180, 7.5, "P", 15), Cure(180, 15, "C", 15)),
    pre_bake=(180, 20.0),
)


def test_a_base_coat_that_is_only_gelled_is_proposed_apart_from_full_cures() -> None:
    waiting = [Waiting(1, "a", TWO, 0), Waiting(2, "b", TWO, 1)]
    loads = propose(waiting, OVEN)
    assert [(one.part_ids, one.bake, one.set_point_c, one.minutes) for one in loads] == [
        ((1,), Bake.GEL, 180, 8),
        ((2,), Bake.CURE, 180, 15),
    ]


def test_a_part_cure_never_shares_with_a_full_cure_of_the_same_minutes() -> None:
    gel = Schedule(Bake.GEL, 180, 15, 30)
    assert not all_agree([gel, FULL], apart_c=50)


def test_a_pre_bake_never_shares_with_powder() -> None:
    loads = propose([Waiting(1, "a", TWO, 0, pre_bake=True), Waiting(2, "b", TWO, 1)], OVEN)
    assert [one.bake for one in loads] == [Bake.PRE_BAKE, Bake.CURE]
    assert not all_agree([Schedule(Bake.PRE_BAKE, 180, 15), FULL], apart_c=50)


@pytest.mark.parametrize(
    ("other", "apart", "together"),
    [
        (replace(FULL, set_point_c=190), 0, False),
        (replace(FULL, set_point_c=190), 10, True),
        (replace(FULL, set_point_c=191), 10, False),
        (replace(FULL, minutes=20, full_min=20), 50, False),
        (replace(FULL, minutes=14.5, full_min=14.5), 0, True),
    ],
)
def test_time_and_temperature_decide(other, apart, together) -> None:
    assert all_agree([FULL, other], apart) is together


schedules = st.builds(
    Schedule,
    st.sampled_from(Bake),
    st.integers(100, 290),
    st.floats(0.5, 240),
)


@given(schedules, schedules, st.floats(0, 50))
def test_the_number_of_a_bake_says_what_a_reader_would(one, other, apart) -> None:
    alike = one.bake is other.bake and one.whole_min == other.whole_min
    close = abs(one.set_point_c - other.set_point_c) <= apart
    assert all_agree([one, other], apart) is (alike and close)
    both = np.array([batch_of(one), batch_of(other)])
    assert list(agree(both, batch_of(one), apart)) == [True, alike and close]


def test_the_forecast_goes_by_the_same_rule_as_the_page() -> None:
    ops = visits(TWO, PartStage.BLAST, 0, 4, read_stations(DEMO))
    baked = [op.batch for op in ops if op.station is PartStage.CURE]
    planned = [TWO.pre_bake_schedule, *(cure.schedule for cure in TWO.cures)]
    assert baked == [batch_of(one) for one in planned]
    assert len(set(baked)) == 3


def test_a_work_that_was_written_before_full_cures_were_kept_still_reads() -> None:
    body = write_work(TWO)
    old = read_work({**body, "cures": [row[:3] for row in body["cures"]]})
    assert [cure.schedule.bake for cure in old.cures] == [Bake.CURE, Bake.CURE]
    assert read_work(body) == TWO
