"""The forecast of parts that come back: by which way, how long each takes, in which shares."""

from dataclasses import replace

import numpy as np
import pytest

from portal.shop.faults import BENCH_MINUTES, REDO_MIX, Fault
from portal.shop.redo import Redo
from portal.shop.route import PartStage
from portal.shop.scheduling.forecast import simulate_floor
from portal.shop.scheduling.lots import redo_ways, taken_again
from tests.shop.floors import MONDAY, a_floor, a_job, a_week, a_work

P = PartStage
OVEN_MINUTES, INSPECTING = 45.0, 4.0
WAYS = {
    Redo.FURTHER_COAT: ([P.COAT, P.CURE, P.INSPECT], 9 + BENCH_MINUTES[Redo.FURTHER_COAT]),
    Redo.RUB_DOWN: ([P.COAT, P.CURE, P.INSPECT], 9 + BENCH_MINUTES[Redo.RUB_DOWN]),
    Redo.BAKE: ([P.CURE, P.INSPECT], OVEN_MINUTES),
    Redo.BARE: ([P.BLAST, P.COAT, P.CURE, P.INSPECT], 10.0),
}


def test_each_way_has_its_visits_and_minutes():
    ways = dict(zip(REDO_MIX, redo_ways(a_work(), a_floor()), strict=True))
    for redo, (stages, first) in WAYS.items():
        assert [op.station for op in ways[redo].ops] == stages
        assert ways[redo].ops[0].minutes == first
        assert ways[redo].share == REDO_MIX[redo]


def test_of_two_coats_only_the_last_is_sprayed_again_but_all_from_bare_metal():
    ways = dict(zip(REDO_MIX, redo_ways(a_work(coats=2), a_floor()), strict=True))
    stations = {redo: [op.station for op in way.ops] for redo, way in ways.items()}
    assert stations[Redo.FURTHER_COAT].count(P.COAT) == 1
    assert stations[Redo.BARE].count(P.COAT) == 2


def test_what_was_stripped_outside_goes_there_again():
    ways = dict(zip(REDO_MIX, redo_ways(a_work(outside_days=2), a_floor()), strict=True))
    assert ways[Redo.BARE].ops[0].station is P.STRIP


def test_the_shares_are_whole_and_cover_what_inspection_finds():
    assert sum(REDO_MIX.values()) == pytest.approx(1)
    assert {fault.redo for fault in Fault} - set(REDO_MIX) == {Redo.BLAST}  # before any coat


def test_stations_are_taken_again_by_the_ways_that_pass_them():
    assert taken_again(P.PREP) == 0
    assert taken_again(P.BLAST) == REDO_MIX[Redo.BARE]
    assert taken_again(P.COAT) == pytest.approx(1 - REDO_MIX[Redo.BAKE])
    assert taken_again(P.INSPECT) == taken_again(P.REFIT) == taken_again(P.CURE) == 0


@pytest.mark.parametrize("outside_days", [0, 2])
def test_replays_go_the_ways_in_their_shares(outside_days):
    stations = a_floor(rework_rate=0.5)
    job = a_job(1, a_work(outside_days=outside_days), stage=P.INSPECT, comes=MONDAY)
    floor = simulate_floor([job], stations, a_week(), MONDAY, seed=7)
    sim = replace(floor.sim, replications=4000)
    done = np.full(4000, sim.now + 60.0)
    more = sim.after_inspection(floor.lots[0], done) - done
    assert (more == 0).mean() == pytest.approx(0.5, abs=0.03)
    oven = 1.5 * OVEN_MINUTES + 15  # the oven is running half of the time, then it cools
    coated = oven + INSPECTING
    expected = {
        Redo.BAKE: coated,
        Redo.FURTHER_COAT: coated + 9 + BENCH_MINUTES[Redo.FURTHER_COAT],
        Redo.RUB_DOWN: coated + 9 + BENCH_MINUTES[Redo.RUB_DOWN],
    }
    for redo, minutes in expected.items():
        share = np.isclose(more, minutes).mean()
        assert share == pytest.approx(0.5 * REDO_MIX[redo], abs=0.03), redo
    rest = more[(more > 0) & ~np.isin(np.round(more, 6), np.round(list(expected.values()), 6))]
    assert len(rest) / 4000 == pytest.approx(0.5 * REDO_MIX[Redo.BARE], abs=0.03)
    if outside_days:
        assert rest.min() > 8 * 60  # a bath takes its working days
    else:
        assert np.allclose(rest, coated + 10 + 9)
