"""No order of invoices, payments, credit notes and goodwill makes a cent of a firm vanish."""

from contextlib import suppress

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portal.orders.counter import payments
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.ledger import account_of
from portal.orders.office import month_payments, month_view, monthly
from portal.shop.ledger import EntryKind
from portal.shop.moves import JobState
from portal.shop.states import PaymentMethod
from portal.store.tables import FirmInvoice, FirmPayment, Invoice, InvoiceJob, Job
from tests.deep import examples
from tests.factories import a_booked_job, a_token
from tests.firms import a_firm
from tests.orders.test_monthly import month_of
from tests.orders.test_payments import OFFICE, number_of

SUMS = st.one_of(st.integers(1, 90_000), st.just(1))
STEPS = st.one_of(
    st.tuples(st.just("issue"), st.just(0)),
    st.tuples(st.just("pay"), SUMS),
    st.tuples(st.just("unpay"), st.integers(0, 9)),
    st.tuples(st.just("cancel"), st.integers(0, 9)),
    st.tuples(st.just("goodwill"), SUMS),
    st.tuples(st.just("at the counter"), SUMS),
)


def issued_to(session, firm_id: int) -> list[str]:
    query = sa.select(Invoice.number).join(FirmInvoice, FirmInvoice.invoice_id == Invoice.id)
    query = query.where(FirmInvoice.firm_id == firm_id)
    return list(session.scalars(query.order_by(Invoice.id)))


def take(unit, firm_id: int, job_ids: list[int], who: int, step) -> None:
    verb, number = step
    once = {"once_token": a_token(), "who": who}
    with unit.read() as session:
        issued = issued_to(session, firm_id)
        own = FirmInvoice.firm_id == firm_id
        query = sa.select(FirmPayment.id).join(
            FirmInvoice, FirmInvoice.invoice_id == FirmPayment.invoice_id
        )
        paid = list(session.scalars(query.where(own).order_by(FirmPayment.id)))
    if verb == "issue":
        draft = monthly.month_draft(unit, firm_id, month_of(unit))
        monthly.issue(unit, firm_id, draft.month, stamp=draft.stamp, **once)
    elif verb == "pay" and issued:
        month_payments.pay(unit, issued[-1], number, PaymentMethod.TRANSFER, **once)
    elif verb == "unpay" and paid:
        month_payments.reverse_payment(unit, paid[number % len(paid)], "a slip", **once)
    elif verb == "cancel" and issued:
        monthly.cancel(unit, issued[number % len(issued)], "wrong", **once)
    elif verb == "goodwill":
        job_id = job_ids[number % len(job_ids)]
        payments.reduce(unit, job_id, EntryKind.GOODWILL, number, "late", **once)
    elif verb == "at the counter":
        payments.take_payment(
            unit, job_ids[number % len(job_ids)], number, PaymentMethod.CASH, **once
        )


def check(unit, firm_id: int, job_ids: list[int]) -> None:
    waiting = monthly.month_draft(unit, firm_id, month_of(unit))
    with unit.read() as session:
        accounts = [account_of(session, one) for one in job_ids]
        shares = sa.select(InvoiceJob.job_id, sa.func.sum(InvoiceJob.amount_minor))
        shares = shares.where(InvoiceJob.job_id.in_(job_ids)).group_by(InvoiceJob.job_id)
        charged = {row[0]: row[1] for row in session.execute(shares)}
        series = session.execute(sa.select(Invoice.series, Invoice.count)).all()
    for job_id, account in zip(job_ids, accounts, strict=True):
        assert account.owed == account.total - account.paid + account.refunded
        assert 0 <= charged.get(job_id, 0) <= account.total.minor
    # what is on no invoice waits for the next one, to the cent
    total = sum(one.total.minor for one in accounts)
    assert sum(charged.values()) + waiting.total.minor == total
    owed = sum(one.sum.minor for one in month_view.who_owes(unit) if one.firm_id == firm_id)
    assert owed <= sum(one.to_pay.minor for one in accounts)
    by_name: dict[str, list[int]] = {}
    for name, count in series:
        by_name.setdefault(name, []).append(count)
    assert all(sorted(counts) == list(range(1, len(counts) + 1)) for counts in by_name.values())


@pytest.mark.postgres
@settings(examples(8), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEPS, min_size=4, max_size=9))
def test_a_month_adds_up_in_any_order_of_verbs(unit, steps) -> None:
    who = number_of(unit, OFFICE)
    firm_id = a_firm(unit, name=f"Garage {a_token()[:8]}")
    job_ids = [a_booked_job(unit, firm_id=firm_id).job_id for _ in range(2)]
    over = {"state": JobState.HANDED_BACK, "handed_back_at": unit.now()}
    unit.write(lambda session: session.execute(sa.update(Job).values(over)))
    for step in [("issue", 0), *steps]:
        with suppress(Refusal):
            take(unit, firm_id, job_ids, who, step)
        check(unit, firm_id, job_ids)
