"""The stations as they are written, and the minutes that a part brings to each of them.

Minutes are added up by hand from the demo's figures; a real appraisal is only asked for minutes
that a workshop would believe.
"""

import json
import math
import tomllib
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.craft.answers import CoatPlan, Mask, SetAppraisal
from portal.craft.appraise import Practice, appraise
from portal.craft.messages import CraftError, Message
from portal.craft.parts import BareZone, Declared, Item, Layer, Remover, System
from portal.craft.reading import read, write
from portal.shop.route import PartPlan, PartStage
from portal.shop.scheduling.station import stations_shape
from portal.shop.scheduling.stations import (
    TIMED,
    Cure,
    Oven,
    PartWork,
    oven_share,
    part_work,
    plan_of,
    read_stations,
    read_work,
    write_work,
)
from tests.craft.shelf import SHELF, finish
from tests.craft.shelf import wheels as declared_wheels
from tests.shop.appraised import answer, plan, removal, route, wheels

HOUSE = Path(__file__).resolve().parents[2]
DEMO: dict[str, Any] = tomllib.loads((HOUSE / "demo_seed/shop.toml").read_text("utf-8"))["stations"]
STATIONS = read_stations(DEMO)
NAN, INF = float("nan"), float("inf")


def changed(section: str, **over: Any) -> dict[str, Any]:
    return {**DEMO, section: {**DEMO[section], **over}}


NONSENSE: list[tuple[str, dict[str, Any]]] = [
    ("polish", {**DEMO, "polish": {}}),
    ("refit", {key: value for key, value in DEMO.items() if key != "refit"}),
    ("prep", {**DEMO, "prep": 8}),
    ("oven", {**DEMO, "oven": [2400, 1500, 2000]}),
    ("prep.speed", changed("prep", speed=1)),
    ("prep.key", changed("prep", key="blast")),
    ("prep.places", changed("prep", places=0)),
    ("prep.places", changed("prep", places=1.5)),
    ("prep.places", changed("prep", places=True)),
    ("blast.minutes", changed("blast", minutes=-1)),
    ("blast.minutes", changed("blast", minutes="18")),
    ("blast.minutes", changed("blast", minutes=NAN)),
    ("coat.per_m2", changed("coat", per_m2=601)),
    ("inspect.spread", changed("inspect", spread=2.5)),
    ("inspect.pace", changed("inspect", pace=0)),
    ("blast.hours.monday", changed("blast", hours={"monday": ["08:00-12:00"]})),
    ("blast.hours.mon", changed("blast", hours={"mon": ["12:00-08:00"]})),
    ("blast.hours", changed("blast", hours={"mon": []})),
    ("blast.hours", changed("blast", hours="mornings")),
    ("cure.down[0]", changed("cure", down=[{"from": "2026-06-01T08:00+01:00"}])),
    ("cure.down[0]", changed("cure", down=["2026-06-01"])),
    (
        "cure.down[0]",
        changed("cure", down=[{"from": "2026-06-01T08:00", "to": "2026-06-01T12:00"}]),
    ),
    (
        "cure.down[1]",
        changed(
            "cure",
            down=[
                {"from": "2026-06-01T08:00Z", "to": "2026-06-01T12:00Z"},
                {"from": "2026-06-02T12:00Z", "to": "2026-06-02T08:00Z"},
            ],
        ),
    ),
    ("oven.depth", changed("oven", depth=1)),
    ("oven.size_mm", changed("oven", size_mm=[2400, 1500])),
    ("oven.size_mm", changed("oven", size_mm=[2400, 1500, 99])),
    ("oven.size_mm", changed("oven", size_mm=[2400, "wide", 2000])),
    ("oven.size_mm", changed("oven", size_mm=[NAN, 1500, 2000])),
    ("oven.size_mm", changed("oven", size_mm=[2400, 1500, INF])),
    ("oven.limit_kg", changed("oven", limit_kg=0)),
    ("oven.fill", changed("oven", fill=1.2)),
    ("oven.fill", changed("oven", fill=0)),
    ("oven.apart_c", changed("oven", apart_c=-1)),
    ("colour_change", {**DEMO, "colour_change": -5}),
    ("rework_rate", {**DEMO, "rework_rate": 0.6}),
    ("strip_late_rate", {**DEMO, "strip_late_rate": "seldom"}),
]


@pytest.mark.parametrize(("key", "body"), NONSENSE)
def test_nonsense_is_refused_with_its_key(key, body):
    with pytest.raises(CraftError) as refused:
        read_stations(body)
    assert refused.value.key == key
    assert refused.value.sentence


def test_the_demo_stations_are_read_as_they_are_written():
    assert STATIONS[PartStage.PREP].places == 2
    assert STATIONS[PartStage.BLAST].minutes == 18
    assert STATIONS[PartStage.COAT].per_m2 == 6
    assert STATIONS.oven == Oven((2400, 1500, 2000), 300, 30, 15, 0.6, 0)
    assert (STATIONS.colour_change, STATIONS.rework_rate, STATIONS.strip_late_rate) == (
        *(12, 0.02),
        0.05,
    )
    with pytest.raises(KeyError):
        STATIONS[PartStage.STRIP]  # it follows the calendar and has no places


def test_stations_are_written_back_with_own_hours_and_times_out_of_order():
    down = [{"from": "2026-06-01T08:00:00+01:00", "to": "2026-06-01T12:00:00+01:00"}]
    body = changed("blast", hours={"mon": ["08:00-12:00"]}, down=down)
    stations = read_stations(body)
    written = json.loads(json.dumps(write(read(stations_shape(), body))))
    assert written["blast"]["hours"] == {"mon": ["08:00-12:00"]}
    assert read_stations(written) == stations
    assert stations[PartStage.BLAST].down == (
        (datetime(2026, 6, 1, 7, tzinfo=UTC), datetime(2026, 6, 1, 11, tzinfo=UTC)),
    )


def test_what_an_older_sheet_wrote_is_still_read():
    """It kept a whole number of places, and how far bakes may differ, as it was typed."""
    body = changed("prep", places=2.0) | {"oven": DEMO["oven"] | {"apart_c": 5.5}}
    assert read_stations(body)[PartStage.PREP].places == 2
    assert read_stations(body).oven.apart_c == 5.5


def work(one: SetAppraisal, *, refit: bool = False) -> PartWork:
    return part_work(one, STATIONS, refit=refit)


def test_the_minutes_of_a_part_add_up_by_hand():
    one = answer(
        wheels(fitted=(Item.TYRE, Item.VALVE)),
        off=(_taking(Item.TYRE, 6.0), _taking(Item.VALVE, 1.0)),
        coats=plan(System.SINGLE),
        area=0.9,
    )
    found = work(_masked(one, 4), refit=True)
    assert found.minutes[PartStage.PREP] == pytest.approx(
        8 + 6 + 1 + 4 * 1.5
    )  # bench, tyre, valve, four masks
    assert found.minutes[PartStage.BLAST] == 10  # the route's own
    assert found.coat == pytest.approx((3 + 6 * 0.9,))
    assert found.cures == (Cure(180, 15, "X", 15),)
    assert (found.minutes[PartStage.INSPECT], found.minutes[PartStage.REFIT]) == (4, 15)
    assert (found.envelope_mm, found.mass_kg) == ((500, 500, 200), 10)


def _taking(item: Item, minutes: float, *who: Remover) -> Any:
    return replace(removal(item, *who), minutes=minutes)


def _masked(one: SetAppraisal, count: int) -> SetAppraisal:
    mask = Mask(BareZone.HUB_FACE, Message("It must stay bare."))
    return replace(one, masks=(mask,) * count)


def test_what_the_customer_takes_off_costs_the_bench_nothing():
    ours = answer(wheels(), off=(_taking(Item.TYRE, 6.0, Remover.US),))
    theirs = answer(wheels(), off=(_taking(Item.TYRE, 6.0, Remover.YOU),))
    assert work(ours).minutes[PartStage.PREP] - work(theirs).minutes[PartStage.PREP] == 6


def test_without_a_size_half_a_square_metre_is_assumed_and_without_a_finish_one_coat():
    found = work(answer(wheels(size=None)))
    assert found.coat == (3 + 6 * 0.5,)
    assert len(found.cures) == 1
    assert found.pre_bake is None


def test_a_route_without_blast_minutes_takes_the_stations_own():
    assert (
        work(answer(wheels(), way=replace(route(), blast_minutes=0))).minutes[PartStage.BLAST] == 18
    )


def test_a_pre_bake_is_carried_along():
    assert work(answer(wheels(), coats=plan(System.SINGLE, bake=True))).pre_bake == (180, 20.0)


WAYS = [
    (False, 1, False, "prep blast coat cure inspect done"),
    (True, 1, False, "prep strip blast coat cure inspect done"),
    (False, 2, True, "prep blast coat cure coat cure inspect refit done"),
    (True, 3, True, "prep strip blast coat cure coat cure coat cure inspect refit done"),
]


@pytest.mark.parametrize(("outside", "coats", "refit", "way"), WAYS)
def test_the_plan_of_a_part_names_its_stages(outside, coats, refit, way):
    single = plan(System.SINGLE)
    coated: CoatPlan = replace(single, coats=single.coats * coats)
    found = plan_of(work(answer(wheels(), way=route(outside=outside), coats=coated), refit=refit))
    assert found == PartPlan(strip=outside, coats=coats, refit=refit)
    assert [stage.value for stage in found.stages()] == way.split()


def test_an_outside_strip_takes_a_day_at_least():
    way = replace(route(outside=True), outside_days=0)
    assert work(answer(wheels(), way=way)).outside_days == 1
    assert work(answer(wheels(), way=route(outside=False))).outside_days == 0


REAL = [
    (declared_wheels(), True, 1),
    (declared_wheels(fitted=(), layers=(Layer.BARE,)), False, 1),
    (declared_wheels(fitted=(), finish=finish(System.BASE_CLEAR, "PEWTER")), True, 2),
    (declared_wheels(fitted=(), finish=finish(System.TRANSLUCENT, "CANDY")), True, 3),
]


@pytest.mark.parametrize(("one", "outside", "coats"), REAL)
def test_a_really_appraised_wheel_brings_minutes_that_a_workshop_believes(one, outside, coats):
    practice = Practice(stock=SHELF, heat_limit_min_at_200=45)
    found = work(appraise(Declared(sets=(one,)), practice).sets[0])
    # spans: common practice for an 18-inch wheel
    assert 10 <= found.minutes[PartStage.PREP] <= 45
    assert 5 <= found.minutes[PartStage.BLAST] <= 30
    assert len(found.coat) == len(found.cures) == coats
    assert all(4 <= minutes <= 20 for minutes in found.coat)
    assert all(150 <= one.cure_c <= 220 and 5 <= one.minutes <= 40 for one in found.cures)
    assert plan_of(found).strip is outside
    assert 6 <= found.mass_kg <= 20


def test_a_wheel_with_its_tyre_on_takes_the_bench_longer_than_a_bare_rim():
    practice = Practice(stock=SHELF, heat_limit_min_at_200=45)
    complete, bare = (
        work(appraise(Declared(sets=(one,)), practice).sets[0])
        for one in (declared_wheels(), declared_wheels(fitted=()))
    )
    assert complete.minutes[PartStage.PREP] > bare.minutes[PartStage.PREP]
    assert complete.minutes[PartStage.BLAST] == bare.minutes[PartStage.BLAST]


def test_the_share_of_a_load_is_by_volume_with_air_or_by_mass():
    one = work(answer(wheels(), area=0.9))  # 500 × 500 × 200 mm with 60 mm of air, 10 kg
    roomy = Oven(size_mm=(2000, 1000, 1000), limit_kg=1000, fill=0.5)
    assert oven_share(one, roomy) == pytest.approx(0.56 * 0.56 * 0.26 / (2.0 * 0.5))
    assert oven_share(one, replace(roomy, limit_kg=20)) == pytest.approx(10 / 20)


positive = st.floats(0, 600)


@given(
    st.builds(
        PartWork,
        set_key=st.text(max_size=4),
        minutes=st.fixed_dictionaries(dict.fromkeys(TIMED, positive)),
        coat=st.lists(positive, max_size=3).map(tuple),
        cures=st.lists(
            st.builds(Cure, st.integers(100, 260), positive, st.text(max_size=8)), max_size=3
        ).map(tuple),
        outside_days=st.integers(0, 30),
        envelope_mm=st.tuples(positive, positive, positive),
        mass_kg=positive,
        pre_bake=st.none() | st.tuples(st.integers(100, 260), positive),
    )
)
def test_the_work_of_a_part_survives_being_kept_as_json(one):
    kept = json.loads(json.dumps(write_work(one)))
    assert read_work(kept) == one
    assert all(math.isfinite(took) for took in read_work(kept).minutes.values())
