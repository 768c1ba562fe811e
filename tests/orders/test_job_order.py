"""What a job was told of its order is kept when it is booked, and true whatever comes later."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.parts import Layer
from portal.orders.counter.finding_impact import weigh
from portal.orders.customer.slip_view import slip
from portal.orders.kernel.job_order import order_of
from portal.orders.office import powders
from portal.shop.assessment.assess import assess
from portal.store.tables import Job, Part
from tests.factories import PAINTED, a_booked_job
from tests.orders.test_booking import a_draft, press
from tests.orders.test_findings import answer, painted, raise_it, receive


def withdraw(unit, code: str) -> None:
    """Take a powder off the shop's list."""
    sheet = powders.powder(unit, code)
    powders.save_powder(
        unit, sheet.figures, expected_version=sheet.version, offered=False, who=None
    )


def told(unit, job_id: int):
    with unit.read() as session:
        job = session.get(Job, job_id)
        return order_of(job, unit.shop(session, at=job.booked_at))


def test_a_booking_keeps_all_that_was_said_of_the_order(unit) -> None:
    press(unit, a_draft(unit))
    with unit.read() as session:
        job = session.get(Job, 1)
        shop = unit.shop(session)
        kept = order_of(job, shop)
        assert kept == assess(kept.declared, shop, shop.day(job.booked_at))
        assert kept.price.expected.minor == job.total_minor


def test_a_job_from_before_assessments_were_kept_is_assessed_as_of_its_booking(unit) -> None:
    job = a_booked_job(unit, PAINTED)
    kept = told(unit, job.job_id)
    unit.write(lambda session: session.execute(sa.update(Job).values(assessed=None)))
    assert told(unit, job.job_id) == kept


def test_the_slip_tells_the_colour_also_when_its_powder_is_no_longer_offered(unit) -> None:
    job = a_booked_job(unit)
    before = slip(unit, job.token)
    withdraw(unit, "R9005-S")
    after = slip(unit, job.token)
    assert before.sets[0].colour == "Jet black satin"
    assert (after.sets, after.parts) == (before.sets, before.parts)


@pytest.mark.parametrize("withdrawn", [False, True])
def test_a_finding_changes_the_order_that_was_booked_whatever_the_list_says_today(
    unit, withdrawn: bool
) -> None:
    job = a_booked_job(unit)
    if withdrawn:
        withdraw(unit, "R9005-S")
    found = painted(unit, job, 1, 2, 3, 4)
    weighed = weigh(unit, job.job_id, found)
    assert not weighed.refused
    finding = raise_it(unit, job, found)
    receive(unit, job)
    answer(unit, job, finding)
    order = told(unit, job.job_id)
    assert order.declared.sets[0].layers == (Layer.FACTORY_PAINT,)
    assert order.sets[0].coats is not None
    assert order.quote.total.minor == told_total(unit, job.job_id)
    with unit.read() as session:
        part = session.get(Part, job.part_ids[0])
        assert part.arrived == "differs"
        assert part.work["card"]["colour"] == "Jet black satin"


def told_total(unit, job_id: int) -> int:
    with unit.read() as session:
        return session.get(Job, job_id).total_minor


def test_what_is_agreed_stands_in_the_order_that_is_told(unit) -> None:
    job = a_booked_job(unit)
    order = told(unit, job.job_id)
    agreed = order.at_agreed(order.quote.total.minor - 100)
    assert agreed.price.expected.minor == order.price.expected.minor - 100
    assert replace(agreed, quote=order.quote) == order
