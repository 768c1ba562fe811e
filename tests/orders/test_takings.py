"""The till: by way and rate, counted against expected, each payment in one closing."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import payments
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.office import bookkeeping, takings
from portal.orders.office.takings import CountedTill
from portal.shop.invoicing.document import InvoiceKind
from portal.shop.invoicing.takings import TillCount
from portal.shop.money import Money
from portal.shop.states import PaymentMethod
from portal.store.tables import TillEntry
from tests.cast import OFFICE, add_staff, is_there
from tests.factories import a_booked_job, a_token
from tests.orders.test_issuing import account, pay, person_of
from tests.readers import english


@pytest.fixture
def wren(unit) -> int:
    if not is_there(unit, OFFICE):
        add_staff(unit)
    return person_of(unit, OFFICE)


def close(unit, who, **over) -> int:
    given = {"opening": 10_000, "counted": 0, "banked": 0, "reason": ""}
    taken = over.pop("expected_taken", takings.till(unit).taken)
    return takings.close_till(
        unit, CountedTill(**{**given, **over}), expected_taken=taken, once_token=a_token(), who=who
    )


def test_the_sums_stand_by_way_and_rate_with_the_tax_in_them(unit) -> None:
    one, other = a_booked_job(unit), a_booked_job(unit)
    pay(unit, one, 6000, PaymentMethod.CASH)
    pay(unit, other, 1200, PaymentMethod.CASH)
    pay(unit, other, 2400)
    sums = takings.till(unit).sums
    assert [(s.way, str(s.percent), s.count, s.amount, s.tax) for s in sums] == [
        (PaymentMethod.CARD, "20", 1, 2400, 400),
        (PaymentMethod.CASH, "20", 2, 7200, 1200),
    ]


def test_a_closing_compares_what_was_counted_and_begins_the_next(unit, wren) -> None:
    pay(unit, a_booked_job(unit), 6000, PaymentMethod.CASH)
    number = close(unit, wren, counted=16_000, banked=6_000)
    seen = takings.closing(unit, number)
    assert seen.count == TillCount(opening=10_000, taken=6_000, counted=16_000, banked=6_000)
    assert (seen.count.difference, seen.count.left) == (0, 10_000)
    assert [row.amount for row in seen.rows] == [Money(6000, "GBP")]
    pay(unit, a_booked_job(unit), 500, PaymentMethod.CASH)
    after = takings.till(unit)
    assert (after.opening, after.taken) == (10_000, 500)


def test_a_difference_needs_its_reason_and_keeps_it(unit, wren) -> None:
    pay(unit, a_booked_job(unit), 6000, PaymentMethod.CASH)
    with pytest.raises(Refused) as refused:
        close(unit, wren, counted=15_900)
    assert refused.value.key == "reason"
    assert english(refused.value.sentence).startswith("There must be £160 in the till.")
    number = close(unit, wren, counted=15_900, reason="a pound too much change")
    seen = takings.closing(unit, number)
    assert (seen.count.difference, seen.reason) == (-100, "a pound too much change")


def test_more_than_was_counted_is_not_taken_out(unit, wren) -> None:
    with pytest.raises(Refused) as refused:
        close(unit, wren, counted=10_000, banked=10_001)
    assert refused.value.key == "banked"


def test_cash_that_came_while_somebody_counted_is_shown_first(unit, wren) -> None:
    pay(unit, a_booked_job(unit), 6000, PaymentMethod.CASH)
    seen = takings.till(unit).taken
    pay(unit, a_booked_job(unit), 100, PaymentMethod.CASH)
    with pytest.raises(Overtaken):
        close(unit, wren, counted=16_000, expected_taken=seen)
    close(unit, wren, counted=16_100)


def test_every_payment_is_in_one_closing(unit, wren) -> None:
    numbers = []
    for n in range(3):
        pay(unit, a_booked_job(unit), 1000 + n, PaymentMethod.CASH)
        till = takings.till(unit)
        numbers.append(close(unit, wren, counted=(till.opening or 10_000) + till.taken))
    assert numbers == [1, 2, 3]
    assert takings.till(unit).rows == ()
    with unit.read() as session:
        assert session.scalar(sa.select(sa.func.count()).select_from(TillEntry)) == 3


def test_a_reversed_payment_leaves_the_till_as_it_was(unit, wren) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000, PaymentMethod.CASH)
    entry = account(unit, job).entries[-1]
    payments.reverse(unit, job.job_id, entry.id, "typed twice", once_token=a_token(), who=wren)
    assert takings.till(unit).taken == 0
    assert len(takings.till(unit).rows) == 2


def test_the_bookkeepers_sales_count_no_tax_twice(unit, wren) -> None:
    job = a_booked_job(unit)
    pay(unit, job, 6000, PaymentMethod.CASH)
    today = unit.now().date()
    (row,) = bookkeeping.sales(unit, today, today)
    assert row.kind is InvoiceKind.DEPOSIT
    assert (row.net, row.tax, row.gross) == (
        Money(5000, "GBP"),
        Money(1000, "GBP"),
        Money(6000, "GBP"),
    )
    assert row.ways == (PaymentMethod.CASH,)
    (paid,) = bookkeeping.payments(unit, today, today)
    assert (paid.amount, paid.way, paid.closing) == (Money(6000, "GBP"), PaymentMethod.CASH, None)
    close(unit, wren, counted=16_000)
    (paid,) = bookkeeping.payments(unit, today, today)
    assert paid.closing == 1


def test_a_span_the_wrong_way_round_is_refused(unit) -> None:
    today = unit.now().date()
    with pytest.raises(Refused):
        bookkeeping.sales(unit, today, today.replace(year=today.year - 1))
