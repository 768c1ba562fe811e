"""A part's way through a house that polishes; `test_new_station.py` runs it in such a house."""

from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.exc import IntegrityError

from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office.seeding import import_shop
from portal.orders.planning.calibration import what_is_learned
from portal.orders.planning.forecasting import open_jobs, read_floor, reforecast_all, wanted_order
from portal.orders.production import floor
from portal.shop.faults import Fault
from portal.shop.route import ROUTE, PartStage
from portal.shop.scheduling.lots import redo_ways, taken_again
from portal.store import migrations
from portal.store.tables import Part
from tests.conftest import START, Clock, unit_at
from tests.factories import (
    TWO_COATS,
    a_booked_job,
    a_job_at,
    a_job_in_work,
    bring_to,
    stages,
)
from tests.page import page_of, words

POLISH = PartStage("polish")
TAGS = ("101", "102", "103", "104")
HERE = f"AT-{POLISH.value.upper()}"


@pytest.fixture
def before(tmp_path: Path, shop_text: str, powders_text: str) -> tuple[str, UnitOfWork]:
    """A shop that was at work before it polished."""
    url = f"sqlite:///{tmp_path / 'before.sqlite3'}"
    head = int(migrations.head())
    migrations.upgrade(url, f"{head - 1:04d}")
    unit = unit_at(url, Clock())
    import_shop(unit, shop_text, powders_text, at=START - timedelta(days=30))
    yield url, unit
    unit.close()


def test_a_part_that_was_here_before_can_go_there_after_the_migration(before) -> None:
    url, unit = before
    job = a_job_at(unit, PartStage.BLAST)
    with pytest.raises(IntegrityError, match="ck_part_partstage"):
        floor.move_on(unit, job.part_ids, to=POLISH, who=None)
    migrations.upgrade(url)
    floor.move_on(unit, job.part_ids, to=POLISH, who=None)
    assert set(stages(unit, job)) == {POLISH}
    migrations.downgrade(url, f"{int(migrations.head()) - 1:04d}")
    assert set(stages(unit, job)) == {PartStage.BLAST}


def test_it_comes_between_blast_and_coat_once_however_many_coats() -> None:
    assert ROUTE[ROUTE.index(PartStage.BLAST) + 1] is POLISH
    assert ROUTE[ROUTE.index(POLISH) + 1] is PartStage.COAT
    assert taken_again(PartStage.BLAST) == taken_again(POLISH) < taken_again(PartStage.COAT)


def test_tags_are_scanned_into_it_and_out_again(hand, unit) -> None:
    job = a_job_in_work(unit)
    hand.scan("AT-BLAST")
    for tag in TAGS:
        hand.scan(tag)
    assert "To Polish" in words(hand.page.one(id="at-blast"))
    hand.scan("AT-COAT")
    hand.scan(TAGS[0])
    assert "The next station is “Polish”, not “Coat”." in hand.told[0]
    hand.scan(HERE)
    assert "Scanned tags go to: Polish" in words(hand.page.one(class_="scan-label"))
    for tag in TAGS:
        hand.scan(tag)
    assert hand.told[0].endswith("Blast → Polish.")
    assert stages(unit, job) == [POLISH] * 4
    hand.send("/floor/move")
    assert stages(unit, job) == [PartStage.COAT] * 4


def test_the_board_the_labels_and_the_scripts_know_it(hand, unit) -> None:
    job = a_job_at(unit, POLISH)
    page = hand.go("/counter/floor") and hand.page
    columns = [one.get("id") for one in page.all("section")]
    assert columns.index("at-polish") == columns.index("at-blast") + 1
    card = words(page.one(id="at-polish"))
    assert job.code[:4] in card
    assert "Mask:" in card
    assert "To Coat" in card
    for address in ("/counter/floor", "/counter/offline"):
        hand.go(address)
        forms = [one for one in hand.page.all("form") if one.get("data-stations")]
        assert "blast polish coat" in forms[0].get("data-stations")
    hand.go("/counter/station-labels")
    assert HERE in words(hand.page.one("main"))
    hand.go(f"/counter/job/{job.code}")
    assert "Polish" in words(hand.page.one("main"))


def test_the_customer_sees_it_on_the_rail(client, unit, clock) -> None:
    job = a_job_at(unit, PartStage.BLAST, TWO_COATS)
    assert stops(client, job)[3:6] == ["Blast: now", "Polish: next", "First coat: next"]
    clock.advance(minutes=30)
    bring_to(unit, job, POLISH)
    assert stops(client, job)[3:6] == ["Blast: done", "Polish: now", "First coat: next"]
    page = page_of(client.get(f"/J/{job.token}"))
    assert "We polish the bare metal." in map(words, page.all(class_="rail-plain"))
    bring_to(unit, job, PartStage.DONE)
    assert stops(client, job)[4:6] == ["Polish: done", "First coat: done"]


def test_a_fault_found_later_goes_through_it_again(client, unit) -> None:
    job = a_job_at(unit, PartStage.COAT)
    first = job.part_ids[0]
    floor.rework(unit, first, Fault.ADHESION, who=None)
    assert stops(client, job)[3:6] == ["Blast: now", "Polish: next", "Coat: next"]
    floor.move_on(unit, [first], to=POLISH, who=None)
    assert stops(client, job)[3:6] == ["Blast: done", "Polish: now", "Coat: next"]
    floor.rework(unit, first, Fault.OTHER, "A dent.", who=None)
    assert stages(unit, job)[:2] == [PartStage.BLAST, PartStage.COAT]


def test_the_forecast_counts_its_minutes(unit, clock) -> None:
    a_booked_job(unit)
    job = a_job_at(unit, PartStage.BLAST)
    reforecast_all(unit)
    with unit.read() as session:
        shop = unit.shop(session)
        assert shop.stations[POLISH].minutes == 25.0  # the shop's file does not name it
        ahead = read_floor(unit, session).make()
        works = [one.parts[0].work for one in open_jobs(session)]
        order = wanted_order(session)
    assert job.job_id in order[POLISH]
    for lot in ahead.lots:
        way = [op.station for op in lot.ops]
        assert way.index(POLISH) == way.index(PartStage.BLAST) + 1
        assert lot.ops[way.index(POLISH)].minutes == 25.0 * lot.parts
    assert [work.minutes[POLISH] for work in works] == [25.0, 25.0]
    ways = redo_ways(works[0], shop.stations)
    assert any(op.station is POLISH for way in ways for op in way.ops)
    clock.advance(minutes=90)
    bring_to(unit, job, PartStage.COAT)
    learned = {one.written.key for one in what_is_learned(unit).stations}
    assert POLISH in learned


def test_work_that_was_written_before_takes_the_stations_minutes(unit) -> None:
    job = a_job_in_work(unit)

    def as_before(session) -> None:
        for part in session.scalars(sa.select(Part)):
            part.work = {key: one for key, one in part.work.items() if key != POLISH.value}

    unit.write(as_before)
    with unit.read() as session:
        simulated = read_floor(unit, session).make()
    # customers who are expected stand on the floor as well
    lots = [lot for lot in simulated.lots if simulated.jobs[lot.job].booked]
    visits = [op.minutes for lot in lots for op in lot.ops if op.station is POLISH]
    assert sum(visits) == 25.0 * len(job.part_ids)


def test_the_office_can_set_it_up(staff_client) -> None:
    for address in ("stations", "stations/hours", "stations/out-of-order", "what-if"):
        page = page_of(staff_client.get(f"/office/{address}"))
        assert "Polish" in words(page.one("main")), address


def stops(client, job) -> list[str]:
    page = page_of(client.get(f"/J/{job.token}"))
    rail = page.one("ol", class_="rail")
    found = [(one, span) for one in rail for span in one if span.get("class") == "rail-title"]
    return [f"{words(title)}: {one.get('data-state')}" for one, title in found]
