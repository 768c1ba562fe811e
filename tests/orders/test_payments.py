"""Money put right: reversals, refunds, discounts, goodwill; no entry is changed or removed."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import cancellation, payments
from portal.orders.counter.payments import AboveOwed
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.posting import Cause, post_price
from portal.shop.ledger import EntryKind
from portal.shop.states import PaymentMethod
from portal.store.tables import Job, Person
from tests.cast import COUNTER, OFFICE, add_staff, is_there
from tests.factories import a_booked_job, a_token, events
from tests.readers import refusing


@pytest.fixture
def job(unit):
    return a_booked_job(unit)


@pytest.fixture
def office(unit) -> int:
    return number_of(unit, OFFICE)


@pytest.fixture
def counter(unit) -> int:
    return number_of(unit, COUNTER)


def number_of(unit, who) -> int:
    if not is_there(unit, who):
        add_staff(unit)
    with unit.read() as session:
        return session.scalars(sa.select(Person.id).where(Person.login == who.login)).one()


def account(unit, job):
    with unit.read() as session:
        return account_of(session, job.job_id)


def pay(unit, job, minor, who=None, **more) -> None:
    payments.take_payment(
        unit, job.job_id, minor, PaymentMethod.CARD, once_token=a_token(), who=who, **more
    )


def reverse(unit, job, entry_id, who, reason="typed twice") -> None:
    payments.reverse(unit, job.job_id, entry_id, reason, once_token=a_token(), who=who)


def refund(unit, job, minor, reason="cancelled", how=PaymentMethod.CASH) -> None:
    payments.refund(unit, job.job_id, minor, how, reason, once_token=a_token(), who=None)


def reduce(unit, job, minor, kind=EntryKind.DISCOUNT, reason="comes often") -> None:
    payments.reduce(unit, job.job_id, kind, minor, reason, once_token=a_token(), who=None)


def last(unit, job):
    return account(unit, job).entries[-1]


def test_a_sum_above_what_is_owed_is_asked_back_and_counts_once_it_is_confirmed(unit, job) -> None:
    owed = account(unit, job).owed.minor
    with pytest.raises(AboveOwed):
        pay(unit, job, owed * 100)
    with pytest.raises(AboveOwed):  # another sum than the one that was asked back
        pay(unit, job, owed * 100, confirmed_minor=owed * 10)
    assert account(unit, job).paid.minor == 0
    pay(unit, job, owed + 500, confirmed_minor=owed + 500)
    assert account(unit, job).credit.minor == 500


def test_the_office_reverses_a_payment_with_its_reason(unit, job, office) -> None:
    before = account(unit, job).owed
    pay(unit, job, 3_000)
    wrong = last(unit, job)
    with refusing(Refused, "Enter the reason"):
        reverse(unit, job, wrong.id, office, reason=" ")
    reverse(unit, job, wrong.id, office)
    found = account(unit, job)
    assert (found.owed, found.paid.minor) == (before, 0)
    assert wrong in found.entries
    assert (found.entries[-1].reverses_id, found.entries[-1].how) == (wrong.id, "card")
    with pytest.raises(Already):
        reverse(unit, job, wrong.id, office)
    with refusing(Refused, "can't be reversed"):  # a counter-entry
        reverse(unit, job, found.entries[-1].id, office)
    with refusing(Refused, "can't be reversed"):  # the price
        reverse(unit, job, found.entries[0].id, office)
    with pytest.raises(Unknown):
        reverse(unit, job, 10**6, office)
    (event,) = events(unit, job, "reverse")
    assert (event.data["minor"], event.data["how"]) == (3_000, "card")
    assert event.says.values["reason"] == "typed twice"


def test_who_took_a_payment_takes_it_back_for_a_quarter_of_an_hour(
    unit, clock, job, counter, office
) -> None:
    pay(unit, job, 3_000, who=counter)
    own = last(unit, job)
    pay(unit, job, 2_000, who=office)
    other = last(unit, job)
    assert payments.reversible(unit, account(unit, job), who=counter) == {own.id}
    assert payments.reversible(unit, account(unit, job), who=office) == {own.id, other.id}
    with refusing(Refused, "Ask the office"):
        reverse(unit, job, other.id, counter)
    clock.advance(minutes=16)
    assert payments.reversible(unit, account(unit, job), who=counter) == frozenset()
    with refusing(Refused, "Ask the office"):
        reverse(unit, job, own.id, counter)
    reverse(unit, job, own.id, office)


def test_no_more_goes_back_than_we_owe(unit, job) -> None:
    pay(unit, job, 5_000)
    with refusing(Refused, "that is what we owe"):
        refund(unit, job, 100)
    cancellation.call_off(unit, job.job_id, "sold the car", who=None)
    found = account(unit, job)
    assert (found.total.minor, found.credit.minor) == (0, 5_000)
    with refusing(Refused, "Enter a sum up to £50"):
        refund(unit, job, 5_001)
    refund(unit, job, 5_000)
    assert account(unit, job).owed.minor == 0
    assert events(unit, job, "refund")[0].data["minor"] == 5_000


def test_no_more_goes_back_by_card_than_was_paid_by_card(unit, job, office) -> None:
    pay(unit, job, 3_000)
    payments.take_payment(
        unit, job.job_id, 2_000, PaymentMethod.CASH, once_token=a_token(), who=None
    )
    cancellation.call_off(unit, job.job_id, "sold the car", who=None)
    assert account(unit, job).credit.minor == 5_000
    with refusing(Refused, "By card you can give back at most what was paid by card: £30"):
        refund(unit, job, 3_001, how=PaymentMethod.CARD)
    refund(unit, job, 1_000, how=PaymentMethod.CARD)
    # what went back counts, and comes back when it is reversed
    with refusing(Refused, "paid by card: £20"):
        refund(unit, job, 2_001, how=PaymentMethod.CARD)
    reverse(unit, job, last(unit, job).id, office)
    refund(unit, job, 3_000, how=PaymentMethod.CARD)
    with refusing(Refused, "paid by card: £0"):
        refund(unit, job, 1, how=PaymentMethod.CARD)
    refund(unit, job, 2_000)
    assert account(unit, job).owed.minor == 0


def test_a_discount_has_a_reason_and_is_no_more_than_the_price(unit, job) -> None:
    price = account(unit, job).price
    with refusing(Refused, "Enter the reason"):
        reduce(unit, job, 100, reason="")
    with refusing(Refused, "charged no more"):
        reduce(unit, job, price.minor + 1)
    reduce(unit, job, 2_000)
    reduce(unit, job, 1_000, EntryKind.GOODWILL, "a day late")
    found = account(unit, job)
    assert (found.discounts.minor, found.goodwill.minor) == (2_000, 1_000)
    assert found.total.minor == price.minor - 3_000
    assert [one.data["minor"] for one in events(unit, job, "goodwill")] == [1_000]


def test_a_price_that_falls_below_the_discounts_makes_them_smaller(unit, job, office) -> None:
    price = account(unit, job).price.minor
    reduce(unit, job, price - 1_000)
    reduce(unit, job, 500)

    def fall(session) -> None:
        row = session.get(Job, job.job_id)
        row.total_minor = 2_000
        post_price(session, row, Cause(unit.now(), None))

    unit.write(fall)
    found = account(unit, job)
    assert (found.price.minor, found.discounts.minor, found.total.minor) == (2_000, 2_000, 0)
    for one in found.open_reductions:
        reverse(unit, job, one.id, office)
    assert account(unit, job).total.minor == 2_000


def test_an_order_that_ends_takes_its_discounts_with_it(unit, job) -> None:
    reduce(unit, job, 2_000)
    cancellation.call_off(unit, job.job_id, "sold", who=None)
    found = account(unit, job)
    assert (found.price.minor, found.discounts.minor, found.total.minor) == (0, 0, 0)
