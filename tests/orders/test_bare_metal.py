"""A blasted part gets its first coat in time, or is blasted again."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.orders.kernel.errors import Refused
from portal.orders.kernel.transitions import undo
from portal.orders.kernel.work_card import CARD
from portal.orders.production import floor
from portal.orders.production.board_view import floor as board
from portal.shop.bare_metal import BareMetal
from portal.shop.faults import Fault
from portal.shop.route import PartStage
from portal.store.jobs import Part
from tests.factories import TWO_COATS, WHEELS, a_job_at, bring_to, stages
from tests.readers import refusing

# 4 to 8 hours or the same day for steel: answers at paintsquare.com; a day for metals that do not
# rust: common practice
STEEL, OTHER = timedelta(hours=8), timedelta(hours=24)
STEEL_WHEELS = WHEELS | {"metal": "steel", "build": "steel"}


def to_cure(unit, tag: str = "101", **told) -> floor.Moved:
    return floor.scan_part(unit, tag, PartStage.CURE, scan_id=None, who=None, **told)


def bare_at_coat(unit) -> BareMetal | None:
    (group,) = [one for column in board(unit) for one in column.groups]
    return group.bare


@pytest.mark.parametrize(("wheels", "within"), [(STEEL_WHEELS, STEEL), (WHEELS, OTHER)])
def test_a_part_is_coated_in_time_and_refused_later(unit, clock, wheels, within) -> None:
    job = a_job_at(unit, PartStage.COAT, wheels)
    clock.advance(seconds=within.total_seconds())
    to_cure(unit, "101")
    clock.advance(seconds=1)
    hours = within // timedelta(hours=1)
    with refusing(Refused, f"was blasted more than {hours} hours ago"):
        to_cure(unit, "102")
    with refusing(Refused, "Send it back to blast"):
        floor.move_on(unit, job.part_ids[1:], to=PartStage.CURE, who=None)
    assert stages(unit, job) == [PartStage.CURE] + [PartStage.COAT] * 3


def test_the_board_tells_how_long_ago_what_is_near_and_what_is_over(unit, clock) -> None:
    a_job_at(unit, PartStage.COAT, STEEL_WHEELS)
    blasted = clock.now()
    clock.advance(hours=5, minutes=59)
    bare = bare_at_coat(unit)
    assert (bare.hours, bare.near, bare.over, bare.until) == (5, False, False, blasted + STEEL)
    clock.advance(minutes=1)
    assert bare_at_coat(unit).near
    clock.advance(hours=2, seconds=1)
    assert (bare_at_coat(unit).near, bare_at_coat(unit).over) == (False, True)


def test_blasting_again_starts_the_clock_again(unit, clock) -> None:
    job = a_job_at(unit, PartStage.COAT, STEEL_WHEELS)
    clock.advance(hours=9)
    for part_id in job.part_ids:
        floor.rework(unit, part_id, Fault.WAITED, who=None)
    assert bare_at_coat(unit) is None
    bring_to(unit, job, PartStage.COAT)
    assert bare_at_coat(unit).hours == 0
    to_cure(unit)


def test_a_move_to_cure_that_was_undone_keeps_the_old_clock(unit, clock) -> None:
    job = a_job_at(unit, PartStage.COAT, STEEL_WHEELS)
    clock.advance(hours=7)
    to_cure(unit)
    unit.write(lambda session: undo(session, job.part_ids[0], at=clock.now(), who=None))
    assert bare_at_coat(unit).hours == 7


def test_a_second_coat_waits_as_long_as_it_likes(unit, clock) -> None:
    job = a_job_at(unit, PartStage.CURE, TWO_COATS)
    with unit.read() as session:
        assert session.get_one(Part, job.part_ids[0]).coats_done == 0
    bring_to(unit, job, PartStage.COAT)
    clock.advance(days=5)
    assert bare_at_coat(unit) is None
    to_cure(unit)


def test_a_card_from_before_has_no_limit_but_tells_since_when(unit, clock) -> None:
    a_job_at(unit, PartStage.COAT, STEEL_WHEELS)

    def forget(session) -> None:
        for part in session.scalars(sa.select(Part)):
            card = {name: value for name, value in part.work[CARD].items() if name != "rusts"}
            part.work = {**part.work, CARD: card}

    unit.write(forget)
    clock.advance(hours=30)
    bare = bare_at_coat(unit)
    assert (bare.hours, bare.until, bare.over, bare.near) == (30, None, False, False)
    to_cure(unit)


def test_a_scan_that_a_phone_kept_counts_by_its_own_time(unit, clock) -> None:
    a_job_at(unit, PartStage.COAT, STEEL_WHEELS)
    clock.advance(hours=9)
    with refusing(Refused, "was blasted more than 8 hours ago"):
        to_cure(unit, "101", ago=timedelta(minutes=30))
    assert to_cure(unit, "101", ago=timedelta(hours=2)).now is PartStage.CURE


def test_the_shop_sets_its_own_hours(unit) -> None:
    with unit.read() as session:
        rules = unit.shop(session).rules
    assert (rules.coat_within(rusts=True), rules.coat_within(rusts=False)) == (STEEL, OTHER)
