"""The letters that follow a job, queued in the verb's own transaction."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.craft.messages import Message
from portal.craft.quantities import UnitSystem, kg
from portal.orders.kernel.job_lock import record_event
from portal.orders.kernel.notifications import (
    letter_findings,
    letter_handed_back,
    letter_new_date,
    letter_not_brought,
    letter_ready,
    letter_received,
)
from portal.orders.office.retention import sweep
from portal.shop.verbs import EventVerb
from portal.store.jobs import ERASED, Finding, HardwareBag
from portal.store.letters import Letter
from tests.rows import a_job_row, a_part_row

WHEELS = {"key": "A", "kind": "wheel", "count": 2, "fitted": ["tyre", "sensor"]}
DECLARED = {"bringing": "complete", "sets": [WHEELS]}


def told(unit, tell, **over) -> list[Letter]:
    """Let `tell` queue its letter about a fresh job; return what lies in the outbox."""

    def work(session) -> None:
        job = a_job_row(session, unit.now(), **{"declared": DECLARED, **over})
        for _ in range(2):
            a_part_row(session, job, unit.now())
        a_part_row(session, job, unit.now(), arrived="missing")
        session.add(HardwareBag(job_id=job.id, label="B1", contents="caps"))
        session.flush()
        tell(unit, session, job)

    unit.write(work)
    with unit.read() as session:
        return list(session.scalars(sa.select(Letter)))


def test_received_counts_what_is_here(unit) -> None:
    (letter,) = told(unit, letter_received)
    assert letter.to == "robin@example.com"
    assert "Parts: 2\n" in letter.text
    assert "Bags of small parts: 1\n" in letter.text
    assert "/J/TOKEN" in letter.text


def test_ready_says_what_is_owed_where_the_pickup_code_is_and_when_to_come(unit) -> None:
    (letter,) = told(unit, letter_ready, total_minor=40_000, paid_minor=15_000)
    assert "To pay: £250\n" in letter.text
    assert "2345" not in letter.text + letter.html
    assert "The pickup code is on the page of your job" in letter.text
    # Monday 1 June 2026, in the demo shop's hours
    assert "Monday 1 June, 08:00–17:30" in letter.text
    assert "Sunday" not in letter.text


def test_a_job_that_was_paid_too_much_owes_nothing(unit) -> None:
    (letter,) = told(unit, letter_ready, total_minor=100, paid_minor=200)
    assert "To pay: £0\n" in letter.text


def test_a_job_that_is_ready_twice_gets_two_letters_and_each_only_once(unit) -> None:
    def twice(unit, session, job) -> None:
        letter_ready(unit, session, job)
        letter_ready(unit, session, job)
        record_event(session, job, EventVerb.REWORK, at=unit.now(), who=None)
        letter_ready(unit, session, job)

    assert len(told(unit, twice)) == 2


def test_a_finding_is_told_with_its_change_and_the_new_total(unit) -> None:
    def tell(unit, session, job) -> None:
        finding = Finding(
            job_id=job.id,
            kind="damage",
            says=Message("Part 2: damage found: Kerb rash."),
            lines=[],
            amount_minor=-1_800,
            raised_at=unit.now(),
        )
        session.add(finding)
        session.flush()
        letter_findings(unit, session, job, [finding])

    (letter,) = told(unit, tell)
    assert "Kerb rash" in letter.text
    assert "Change to the price: -£18\n" in letter.text
    assert "New total: £382\n" in letter.text


@pytest.mark.parametrize("units", [None, *UnitSystem])
def test_a_letter_is_written_in_the_units_of_its_reader(unit, units) -> None:
    def tell(unit, session, job) -> None:
        says = Message("The part weighs about {mass}.", mass=kg(12))
        finding = Finding(
            job_id=job.id,
            kind="damage",
            says=says,
            lines=[],
            amount_minor=0,
            raised_at=unit.now(),
        )
        session.add(finding)
        session.flush()
        letter_findings(unit, session, job, [finding])

    (letter,) = told(unit, tell, units=units)
    assert ("26\u00a0lb" if units is UnitSystem.INCH else "12\u00a0kg") in letter.text


def test_a_new_date_is_told_with_the_old_one(unit) -> None:
    def tell(unit, session, job) -> None:
        later = job.promise_at + timedelta(days=1)
        assert letter_new_date(
            unit, session, job, was_at=job.promise_at, now_at=later, because="The oven is full."
        )
        assert not letter_new_date(unit, session, job, was_at=job.promise_at, now_at=later)

    (letter,) = told(unit, tell)
    assert "We told you: Monday 8 June, 09:00" in letter.text
    assert "Now ready by: Tuesday 9 June, 09:00" in letter.text
    assert "The oven is full." in letter.text


def test_the_refit_guide_follows_what_was_taken_off(unit) -> None:
    (letter,) = told(unit, letter_handed_back)
    assert "Tighten in a cross pattern" in letter.text
    assert "sensor" in letter.text.lower()


def test_whoever_was_erased_gets_no_letter(unit) -> None:
    assert told(unit, letter_not_brought, name=ERASED) == []


def test_what_was_not_brought_is_asked_for_once(unit, clock) -> None:
    told(unit, lambda *_: None)
    clock.advance(days=1)
    assert sweep(unit).not_brought == 1
    clock.advance(days=1)
    assert sweep(unit).not_brought == 0
    with unit.read() as session:
        (letter,) = session.scalars(sa.select(Letter))
    assert letter.kind == "not_brought"
    assert "You didn't bring your parts" in letter.subject
