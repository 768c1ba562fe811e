"""What staff do beside the money of a day: notes, shelf places, bags, powder and its batches."""

import random
from collections import Counter
from collections.abc import Callable
from datetime import timedelta

from portal.orders.counter import bags, lost_bags
from portal.orders.counter.finding_answers import answer_finding
from portal.orders.counter.job_view import job_view
from portal.orders.kernel import notes
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office import powder_orders, powders
from portal.orders.production import oven, shelving
from portal.orders.production.oven_view import oven as oven_of
from portal.orders.production.powder_batches import batches_used
from portal.shop.codes import shown
from portal.shop.route import ON_THE_FLOOR, PartStage
from tests.factories import Booked, a_job_at, a_job_in_work, a_token, last_event_id

NOTES = ("the red one is for Sam", "call before eight", "scratch on the lip, photo taken")
BATCHES = ("24-118", "24-119", "B 7 / 3")


def play(
    unit: UnitOfWork,
    draw: random.Random,
    said: Counter[str],
    next_tag: Callable[[], int],
    *,
    who: int,
) -> None:
    """Order powder, count what came, bake with a batch, lose a bag and find it or not."""
    _powder(unit, draw, said, who=who)
    _batch(unit, draw, said, next_tag(), who=who)
    _bag(unit, draw, said, next_tag(), who=who)


def look_after(
    unit: UnitOfWork, draw: random.Random, said: Counter[str], job: Booked, *, who: int
) -> None:
    """Write a note on a ready job, remove it or not, and put the job on a place of the shelf."""
    stage = draw.choice([None, *ON_THE_FLOOR])
    notes.write_note(unit, job.job_id, draw.choice(NOTES), stage=stage, who=who)
    said["notes"] += 1
    seen = job_view(unit, job.code)
    assert seen.notes
    if draw.random() < 0.3:
        notes.remove_note(unit, job.job_id, seen.notes[-1].id, who=who)
    place = draw.choice(["A1", "A2", "B7"])
    shelving.put_on_shelf(unit, job.code, place, who=who)
    assert job_view(unit, job.code).shelf == place
    said["put on the shelf"] += 1


def _powder(unit: UnitOfWork, draw: random.Random, said: Counter[str], *, who: int) -> None:
    supplies = _supplies(unit)
    code = draw.choice(sorted(supplies))
    with unit.read() as session:
        today = unit.shop(session).day(unit.now())
    grams = draw.choice([500, 20_000])
    powder_orders.order_powder(unit, code, grams, today + timedelta(days=3), who=who)
    said["powder ordered"] += 1
    before = supplies[code]
    assert _supplies(unit)[code].on_order_kg == before.on_order_kg + grams / 1000
    came = grams - draw.choice([0, 100])
    powders.delivery(unit, code, came, who=who)
    after = _supplies(unit)[code]
    assert round((after.stock_kg - before.stock_kg) * 1000) == came
    assert round((after.on_order_kg - before.on_order_kg) * 1000) == grams - came


def _supplies(unit: UnitOfWork) -> dict[str, powder_orders.Supply]:
    with unit.read() as session:
        return powder_orders.supplies(unit, session)


def _batch(
    unit: UnitOfWork, draw: random.Random, said: Counter[str], tag: int, *, who: int
) -> None:
    job = a_job_at(unit, PartStage.CURE, first_tag=tag)
    (load,) = oven_of(unit).proposals
    batch = draw.choice(BATCHES)
    number = oven.start_load(
        unit,
        load.part_ids,
        set_point_c=load.set_point_c,
        minutes=load.minutes,
        batches={one.code: batch for one in load.powders},
        once_token=a_token(),
        who=who,
    )
    oven.close_load(unit, number, early_because="test", who=who)
    for one in load.powders:
        with unit.read() as session:
            (used,) = [row for row in batches_used(session, one.code) if row.batch == batch]
        assert used.codes == (shown(job.code),)
    said["loads with a batch"] += 1


def _bag(unit: UnitOfWork, draw: random.Random, said: Counter[str], tag: int, *, who: int) -> None:
    job = a_job_in_work(unit, first_tag=tag)
    bags.add_bag(unit, job.job_id, "4 centre caps", who=who)
    finding = lost_bags.lose_bag(
        unit,
        job.job_id,
        "B1",
        "not where it was",
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=who,
    )
    said["bags lost"] += 1
    if draw.random() < 0.5:
        answer_finding(unit, job.job_id, finding, accepted=True, how="counter", who=who)
        assert job_view(unit, job.code).bags_to_count == ()
        return
    lost_bags.found_bag(unit, job.job_id, "B1", who=who)
    assert len(job_view(unit, job.code).bags_to_count) == 1
