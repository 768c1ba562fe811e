"""No order of verbs makes a cent appear or vanish; all that happens is drawn, on both databases.

Beside the account stands a model of six plain integers, which knows nothing of entries. After
every verb, allowed or refused, both must agree, and the SQL that lists read must agree with both.
"""

from dataclasses import dataclass

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from portal.orders.counter import cancellation, payments
from portal.orders.kernel.errors import Refusal
from portal.orders.kernel.ledger import OWED, TOTAL, account_of, owed_by
from portal.orders.kernel.posting import Cause, post_price
from portal.shop.ledger import EntryKind
from portal.shop.moves import JobState
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, LedgerEntry
from tests.deep import examples
from tests.factories import a_booked_job, a_token
from tests.orders.test_payments import OFFICE, number_of

SUMS = st.one_of(st.integers(1, 60_000), st.sampled_from([1, 999_999]))
STEPS = st.one_of(
    st.tuples(st.just("pay"), SUMS, st.sampled_from(PaymentMethod)),
    st.tuples(st.just("pay_more"), SUMS, st.sampled_from(PaymentMethod)),
    st.tuples(st.just("refund"), SUMS, st.sampled_from(PaymentMethod)),
    st.tuples(st.just("reduce"), SUMS, st.sampled_from([EntryKind.DISCOUNT, EntryKind.GOODWILL])),
    st.tuples(st.just("reverse"), st.integers(0, 30), st.none()),
    st.tuples(st.just("price"), st.integers(0, 90_000), st.none()),
    st.tuples(st.just("end"), st.none(), st.none()),
)


@dataclass
class Purse:
    """What changed hands and what was let off, in plain integers."""

    price: int
    off: int = 0
    received: int = 0
    returned: int = 0
    ended: bool = False

    @property
    def owed(self) -> int:
        return self.price - self.off - self.received + self.returned


def take(unit, job_id: int, who: int, purse: Purse, step) -> None:
    """Play one step; the purse changes only where the verb was not refused."""
    verb, number, word = step
    with unit.read() as session:
        before = account_of(session, job_id)
    once = {"once_token": a_token(), "who": who}
    if verb == "pay":
        payments.take_payment(unit, job_id, number, word, **once)
        purse.received += number
    elif verb == "pay_more":
        payments.take_payment(unit, job_id, number, word, confirmed_minor=number, **once)
        purse.received += number
    elif verb == "refund":
        payments.refund(unit, job_id, number, word, "because", **once)
        purse.returned += number
    elif verb == "reduce":
        payments.reduce(unit, job_id, word, number, "because", **once)
        purse.off += number
    elif verb == "reverse":
        entry = before.entries[number % len(before.entries)]
        payments.reverse(unit, job_id, entry.id, "a slip", **once)
        sum_ = abs(entry.amount.minor)
        if entry.kind is EntryKind.PAYMENT:
            purse.received -= sum_
        elif entry.kind is EntryKind.REFUND:
            purse.returned -= sum_
        else:
            purse.off -= sum_
    elif verb == "price":
        if not purse.ended:
            unit.write(lambda session: change(session, unit, job_id, number))
            purse.price, purse.off = number, min(purse.off, number)
    else:
        cancellation.call_off(unit, job_id, "sold", who=who)
        purse.price, purse.off, purse.ended = 0, 0, True


def change(session, unit, job_id: int, total: int) -> None:
    job = session.get(Job, job_id)
    job.total_minor = total
    post_price(session, job, Cause(unit.now(), None))


def check(unit, job_id: int, purse: Purse) -> None:
    with unit.read() as session:
        account = account_of(session, job_id)
        stored = session.scalar(
            sa.select(sa.func.coalesce(sa.func.sum(LedgerEntry.amount_minor), 0)).where(
                LedgerEntry.job_id == job_id
            )
        )
        total, owed = session.execute(sa.select(TOTAL, OWED).where(Job.id == job_id)).one()
        by_state = owed_by(session, tuple(JobState))
        state = session.get(Job, job_id).state
    assert account.owed.minor == purse.owed == stored == owed
    assert account.price.minor == purse.price
    assert account.discounts.minor + account.goodwill.minor == purse.off
    assert account.total.minor == purse.price - purse.off == total >= 0
    assert (account.paid.minor, account.refunded.minor) == (purse.received, purse.returned)
    assert account.owed == account.total - account.paid + account.refunded
    assert account.to_pay - account.credit == account.owed
    assert 0 <= account.deposit_due.minor <= max(0, account.total.minor)
    assert by_state[state] == ([purse.owed] if purse.owed > 0 else [])
    assert all(type(one.amount.minor) is int and one.amount.minor for one in account.entries)


@pytest.mark.postgres
@settings(examples(25), suppress_health_check=[HealthCheck.function_scoped_fixture])
@example(
    steps=[
        ("end", None, None),
        ("pay_more", 1, PaymentMethod.CARD),
        ("refund", 1, PaymentMethod.CARD),
        ("reverse", 2, None),
    ]
)
@given(steps=st.lists(STEPS, min_size=3, max_size=14))
def test_no_order_of_verbs_makes_a_cent_appear_or_vanish(unit, steps) -> None:
    who = number_of(unit, OFFICE)
    unit.write(lambda session: session.execute(sa.update(Job).values(state=JobState.HANDED_BACK)))
    job_id = a_booked_job(unit).job_id
    with unit.read() as session:
        purse = Purse(account_of(session, job_id).price.minor)
    refused = 0
    for step in steps:
        history = entries(unit, job_id)
        try:
            take(unit, job_id, who, purse, step)
        except Refusal:
            refused += 1
            assert entries(unit, job_id) == history
        assert entries(unit, job_id)[: len(history)] == history
        check(unit, job_id, purse)


def entries(unit, job_id: int) -> tuple:
    with unit.read() as session:
        return tuple(sorted(account_of(session, job_id).entries, key=lambda one: one.id))
