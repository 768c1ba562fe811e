"""The batch of a powder on an oven load: offered again, and found back on the jobs that got it."""

import pytest

from portal.orders.kernel.errors import Refused
from portal.orders.office.powders import powder
from portal.orders.production.oven import close_load, start_load
from portal.orders.production.oven_view import oven
from portal.shop.codes import shown
from portal.shop.route import PartStage
from tests.factories import a_job_at, a_token

CODE = "R9005-S"


def start(unit, job, **batches: str) -> int:
    (load,) = oven(unit).proposals
    return start_load(
        unit,
        job.part_ids,
        set_point_c=load.set_point_c,
        minutes=load.minutes,
        batches={name.replace("_", "-"): value for name, value in batches.items()},
        once_token=a_token(),
        who=None,
    )


def test_the_last_batch_is_offered_for_the_next_load(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    (load,) = oven(unit).proposals
    assert [(one.code, one.last_batch) for one in load.powders] == [(CODE, "")]
    number = start(unit, job, R9005_S="  L-2291  a ")
    (running,) = oven(unit).running
    assert running.batches == ("L-2291 a",)
    close_load(unit, number, early_because="test", who=None)
    a_job_at(unit, PartStage.CURE, first_tag=201)
    (load,) = oven(unit).proposals
    assert load.powders[0].last_batch == "L-2291 a"


def test_a_powder_names_the_jobs_of_its_batches(unit) -> None:
    first = a_job_at(unit, PartStage.CURE)
    start(unit, first, R9005_S="A1", EMBER_S="not in the load")
    second = a_job_at(unit, PartStage.CURE, first_tag=201)
    start(unit, second, R9005_S="A2")
    used = powder(unit, CODE).batches
    assert [(one.batch, one.codes) for one in used] == [
        ("A2", (shown(second.code),)),
        ("A1", (shown(first.code),)),
    ]
    assert powder(unit, "EMBER-S").batches == ()


def test_a_load_needs_no_batch_and_takes_no_book(unit) -> None:
    job = a_job_at(unit, PartStage.CURE)
    with pytest.raises(Refused) as refused:
        start(unit, job, R9005_S="x" * 41)
    assert refused.value.key == f"batch-{CODE}"
    assert oven(unit).running == ()
    start(unit, job)
    assert oven(unit).running[0].batches == ()
