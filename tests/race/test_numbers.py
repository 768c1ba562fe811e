"""Many payments at once: their receipts are numbered without a gap, and none is given twice."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import payments
from portal.orders.kernel import invoice_rows
from portal.shop.states import PaymentMethod
from portal.store.tables import Invoice, LedgerEntry, NumberSeries
from tests.factories import a_booked_job
from tests.race.crowd import Crowd

MANY = 8


def issued(unit) -> list[str]:
    with unit.read() as session:
        return sorted(session.scalars(sa.select(Invoice.number)))


def pay(jobs):
    def work(unit, n, together):
        together()
        payments.take_payment(
            unit,
            jobs[n].job_id,
            100 + n,
            PaymentMethod.CASH,
            once_token=f"press-{n:08d}",
            who=None,
        )

    return work


def test_the_numbers_of_a_crowd_have_no_gap(unit, database) -> None:
    jobs = [a_booked_job(unit) for _ in range(MANY)]
    outcome = Crowd(database, MANY).run(pay(jobs))
    done = MANY - len(outcome.errors)
    assert outcome.kinds() <= {"Busy"}
    assert done
    assert issued(unit) == [f"D2026-{n:04}" for n in range(1, done + 1)]
    with unit.read() as session:
        paid = session.scalar(sa.select(sa.func.count()).where(LedgerEntry.kind == "payment"))
        assert paid == done
        assert session.scalars(sa.select(NumberSeries.last)).all() == [done]


def test_a_number_that_was_taken_comes_back_when_its_work_fails(unit, monkeypatch) -> None:
    jobs = [a_booked_job(unit) for _ in range(2)]

    def fails(*_: object, **__: object) -> None:
        msg = "the power went"
        raise RuntimeError(msg)

    monkeypatch.setattr(invoice_rows, "InvoiceBuyer", fails)
    with pytest.raises(RuntimeError):
        pay(jobs)(unit, 0, lambda: None)
    monkeypatch.undo()
    pay(jobs)(unit, 1, lambda: None)
    assert issued(unit) == ["D2026-0001"]


def test_the_same_press_twice_takes_one_number(unit) -> None:
    jobs = [a_booked_job(unit)]
    for _ in range(2):
        pay(jobs)(unit, 0, lambda: None)
    assert issued(unit) == ["D2026-0001"]
