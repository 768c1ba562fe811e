"""A difference is weighed, raised, answered, and put into the order."""

from dataclasses import replace

import pytest
import sqlalchemy as sa

from portal.craft.damaged import how_many
from portal.craft.declared import read_declared
from portal.craft.parts import Damage, Item, Layer
from portal.orders.counter import check_in, finding_answers, findings
from portal.orders.counter.finding_impact import weigh
from portal.orders.kernel.errors import Already, Overtaken, Refused
from portal.shop.moves import JobState
from portal.shop.pricing.differences import Difference, DifferenceKind
from portal.shop.pricing.quote import read_quote
from portal.store.tables import Finding, Job, Part
from tests.factories import (
    WHEELS,
    a_booked_job,
    a_job_in_work,
    a_token,
    events,
    last_event_id,
    state,
)
from tests.readers import english, refusing


def declared(unit, job):
    with unit.read() as session:
        return read_declared(session.get(Job, job.job_id).declared)


def painted(unit, job, *numbers: int) -> Difference:
    """What was declared as bare metal carries factory paint."""
    own = declared(unit, job).sets[0]
    arrived = replace(own, layers=(Layer.FACTORY_PAINT,), count=len(numbers))
    return Difference(own.key, numbers, arrived)


def raise_it(unit, job, found: Difference) -> int:
    return findings.raise_finding(
        unit,
        job.job_id,
        found,
        expected_event_id=last_event_id(unit, job),
        once_token=a_token(),
        who=None,
    )


def answer(unit, job, finding: int, *, yes: bool = True) -> None:
    finding_answers.answer_finding(unit, job.job_id, finding, accepted=yes, how="counter", who=None)


def receive(unit, job) -> None:
    check_in.as_declared(unit, job.job_id, who=None)
    for number in range(101, 105):
        check_in.give_tag(unit, job.job_id, str(number), who=None)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )


def test_another_finish_costs_more_and_takes_longer(unit) -> None:
    job = a_booked_job(unit)
    weighed = weigh(unit, job.job_id, painted(unit, job, 1, 2, 3, 4))
    assert weighed.kind is DifferenceKind.LAYERS
    assert weighed.amount_minor > 0
    with unit.read() as session:
        assert weighed.ready_at > session.get(Job, job.job_id).promise_at
    assert weighed.amount_minor == sum(line.amount.minor for line in weighed.lines)
    assert weighed.days > 0
    assert english(weighed.says[0]) == (
        "4 wheels have a different old finish from your order (numbers 1, 2, 3, 4). "
        "We found: Original paint with clear coat. Your order says: Bare metal."
    )


def test_weighing_keeps_nothing(unit) -> None:
    job = a_booked_job(unit)
    weigh(unit, job.job_id, painted(unit, job, 1))
    with unit.read() as session:
        assert session.scalars(sa.select(Finding)).all() == []


def test_nothing_different_is_no_finding(unit) -> None:
    job = a_booked_job(unit)
    own = declared(unit, job).sets[0]
    with refusing(Refused, "nothing differs"):
        raise_it(unit, job, Difference(own.key, (1, 2, 3, 4), own))


@pytest.mark.parametrize("numbers", [(), (5,), (1, 9)])
def test_a_finding_names_parts_of_its_set(unit, numbers) -> None:
    job = a_booked_job(unit)
    with pytest.raises(Refused) as caught:
        weigh(unit, job.job_id, painted(unit, job, *numbers))
    assert caught.value.key == "parts"


def test_work_does_not_start_while_a_finding_has_no_answer(unit) -> None:
    job = a_booked_job(unit)
    raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    receive(unit, job)
    assert state(unit, job) is JobState.WAITING
    with refusing(Refused, "Findings still waiting for the customer's"):
        check_in.start(unit, job.job_id, who=None)


def test_a_yes_changes_the_price_and_the_plan_and_lets_work_start(unit) -> None:
    job = a_booked_job(unit)
    with unit.read() as session:
        before = session.get(Job, job.job_id)
    finding = raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    receive(unit, job)
    answer(unit, job, finding)
    assert state(unit, job) is JobState.IN_WORK
    with unit.read() as session:
        after = session.get(Job, job.job_id)
        kept = session.get(Finding, finding)
        part = session.get(Part, job.part_ids[0])
    assert after.total_minor == before.total_minor + kept.amount_minor == after.quote["total"]
    assert after.promise_at > before.promise_at
    assert after.promised_first_at == before.promised_first_at
    assert part.needs_strip
    assert part.arrived == "differs"


def test_a_no_from_before_the_work_began_stops_it_no_more(unit) -> None:
    job = a_booked_job(unit)
    first = raise_it(unit, job, painted(unit, job, 1))
    receive(unit, job)
    answer(unit, job, first, yes=False)
    assert state(unit, job) is JobState.RECEIVED
    check_in.start(unit, job.job_id, who=None)
    second = raise_it(unit, job, painted(unit, job, 2))
    assert state(unit, job) is JobState.WAITING
    answer(unit, job, second)
    assert state(unit, job) is JobState.IN_WORK


def test_a_no_changes_nothing_and_leaves_the_next_step_to_the_counter(unit) -> None:
    job = a_booked_job(unit)
    with unit.read() as session:
        before = session.get(Job, job.job_id)
    finding = raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    receive(unit, job)
    answer(unit, job, finding, yes=False)
    assert state(unit, job) is JobState.RECEIVED
    with unit.read() as session:
        after = session.get(Job, job.job_id)
    assert (after.total_minor, after.declared) == (before.total_minor, before.declared)
    check_in.start(unit, job.job_id, who=None)


def test_an_answer_is_given_once(unit) -> None:
    job = a_booked_job(unit)
    finding = raise_it(unit, job, painted(unit, job, 1, 2, 3, 4))
    answer(unit, job, finding)
    with unit.read() as session:
        price = session.get(Job, job.job_id).total_minor
    with pytest.raises(Already):
        answer(unit, job, finding)
    with unit.read() as session:
        assert session.get(Job, job.job_id).total_minor == price


def test_a_few_parts_that_differ_become_a_set_of_their_own(unit) -> None:
    job = a_booked_job(unit)
    finding = raise_it(unit, job, painted(unit, job, 2))
    answer(unit, job, finding)
    sets = declared(unit, job).sets
    assert [(s.count, s.layers) for s in sets] == [
        (3, (Layer.BARE,)),
        (1, (Layer.FACTORY_PAINT,)),
    ]
    with unit.read() as session:
        query = sa.select(Part.set_key, Part.needs_strip).where(Part.job_id == job.job_id)
        rows = session.execute(query.order_by(Part.number)).all()
    assert [row.needs_strip for row in rows] == [False, True, False, False]
    assert rows[1].set_key == sets[1].key != rows[0].set_key


def test_a_second_finding_on_the_same_part_builds_on_the_first(unit) -> None:
    job = a_booked_job(unit)
    answer(unit, job, raise_it(unit, job, painted(unit, job, 2)))
    own = declared(unit, job).sets[1]
    more = Difference(own.key, (2,), replace(own, damage=(Damage.KERB_RASH,)))
    answer(unit, job, raise_it(unit, job, more))
    assert declared(unit, job).sets[1].damage == (Damage.KERB_RASH,)


@pytest.mark.parametrize("typed", [{"note": "a\x97b"}, {"rim_text": "8J\x07"}])
def test_what_nobody_could_read_again_is_refused_and_the_next_finding_is_raised(unit, typed):
    job = a_booked_job(unit)
    own = declared(unit, job).sets[0]
    found = Difference(own.key, (1,), replace(own, damage=(Damage.KERB_RASH,), count=1, **typed))
    with refusing(Refused, "Remove the characters that can't be printed."):
        raise_it(unit, job, found)
    answer(unit, job, raise_it(unit, job, painted(unit, job, 2)))
    assert declared(unit, job).sets[1].layers == (Layer.FACTORY_PAINT,)


def test_a_part_that_did_not_come_makes_the_order_smaller_when_the_customer_agrees(unit) -> None:
    job = a_booked_job(unit)
    own = declared(unit, job).sets[0]
    finding = raise_it(unit, job, Difference(own.key, (4,), own, missing=True))
    with unit.read() as session:
        kept = session.get(Finding, finding)
    assert kept.amount_minor < 0
    assert english(kept.says) == "One wheel was not brought: number 4."
    answer(unit, job, finding)
    assert declared(unit, job).sets[0].count == 3
    check_in.as_declared(unit, job.job_id, who=None)
    for number in range(101, 104):
        check_in.give_tag(unit, job.job_id, str(number), who=None)
    check_in.receive(
        unit, job.job_id, expected_event_id=last_event_id(unit, job), once_token=a_token(), who=None
    )
    assert state(unit, job) is JobState.IN_WORK


def test_something_still_fitted_is_taken_off_by_us(unit) -> None:
    job = a_booked_job(unit)
    own = declared(unit, job).sets[0]
    more = replace(own, fitted=(*own.fitted, Item.TYRE, Item.VALVE))
    finding = raise_it(unit, job, Difference(own.key, (1, 2, 3, 4), more))
    with unit.read() as session:
        assert session.get(Finding, finding).amount_minor > 0
    answer(unit, job, finding)
    assert declared(unit, job).sets[0].removers[Item.TYRE] == "us"


def test_a_cracked_wheel_is_refused_with_a_reason_and_goes_home_as_it_is(unit) -> None:
    job = a_booked_job(unit)
    own = declared(unit, job).sets[0]
    cracked = Difference(own.key, (3,), replace(own, damage=(Damage.CRACK,), count=1))
    weighed = weigh(unit, job.job_id, cracked)
    assert weighed.refused
    assert weighed.amount_minor < 0
    finding = raise_it(unit, job, cracked)
    receive(unit, job)
    answer(unit, job, finding)
    with unit.read() as session:
        arrived = [session.get(Part, part).arrived for part in job.part_ids]
    assert arrived == ["as_declared", "as_declared", "turned_away", "as_declared"]


def test_a_finding_on_the_floor_stops_the_work(unit) -> None:
    job = a_job_in_work(unit)
    raise_it(unit, job, painted(unit, job, 1))
    assert state(unit, job) is JobState.WAITING
    assert len(events(unit, job, "finding")) == 1


def test_a_finding_raised_by_mistake_is_withdrawn_and_its_parts_looked_at_again(unit) -> None:
    job = a_booked_job(unit)
    finding = raise_it(unit, job, painted(unit, job, 1))
    findings.withdraw(unit, job.job_id, finding, who=None)
    receive(unit, job)
    assert state(unit, job) is JobState.IN_WORK


def test_two_people_raising_findings_hear_of_each_other(unit) -> None:
    job = a_booked_job(unit)
    page = last_event_id(unit, job)
    raise_it(unit, job, painted(unit, job, 1))
    with refusing(Overtaken, "a finding was reported"):
        findings.raise_finding(
            unit,
            job.job_id,
            painted(unit, job, 2),
            expected_event_id=page,
            once_token=a_token(),
            who=None,
        )


@pytest.mark.parametrize("missing", [(1,), (2, 4), (4,)])
def test_a_part_of_a_partly_damaged_set_that_was_not_brought_takes_its_own_damage_along(
    unit, missing: tuple[int, ...]
) -> None:
    """The first two wheels are the damaged ones: what is left of them is priced, and no other."""
    damaged = {**WHEELS, "damage": ["corrosion"], "damaged": {"corrosion": 2}}
    job = a_booked_job(unit, damaged)
    own = declared(unit, job).sets[0]
    gone = replace(own, count=len(missing))
    answer(unit, job, raise_it(unit, job, Difference(own.key, missing, gone, missing=True)))
    left = declared(unit, job).sets[0]
    assert left.count == 4 - len(missing)
    assert how_many(left, Damage.CORROSION) == 2 - len({1, 2} & set(missing))
    with unit.read() as session:
        row = session.get(Job, job.job_id)
        assert read_quote(row.quote).total.minor == row.total_minor
