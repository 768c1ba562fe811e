"""The account of a job as arithmetic; each sum is added up by hand."""

from datetime import UTC, datetime

import pytest

from portal.shop.ledger import Account, Balance, Entry, EntryKind
from portal.shop.money import Money

AT = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)


def account(*entries: tuple[EntryKind, int], deposit: int = 0) -> Account:
    rows = (Entry(n, kind, Money(minor, "GBP"), AT) for n, (kind, minor) in enumerate(entries, 1))
    return Account("GBP", Money(deposit, "GBP"), tuple(rows))


def test_what_is_owed_is_the_sum_of_all_entries() -> None:
    found = account(
        (EntryKind.PRICE, 40_000),
        (EntryKind.CHANGE, 3_600),
        (EntryKind.DISCOUNT, -2_000),
        (EntryKind.GOODWILL, -1_000),
        (EntryKind.PAYMENT, -9_600),
        (EntryKind.REFUND, 500),
    )
    assert (found.price, found.discounts, found.goodwill) == (
        Money(43_600, "GBP"),
        Money(2_000, "GBP"),
        Money(1_000, "GBP"),
    )
    assert (found.total, found.paid, found.refunded) == (
        Money(40_600, "GBP"),
        Money(9_600, "GBP"),
        Money(500, "GBP"),
    )
    assert found.owed == found.total - found.paid + found.refunded == Money(31_500, "GBP")
    assert (found.to_pay, found.credit) == (Money(31_500, "GBP"), Money(0, "GBP"))


def test_what_was_paid_too_much_is_a_credit() -> None:
    found = account((EntryKind.PRICE, 100), (EntryKind.PAYMENT, -150))
    assert (found.owed, found.to_pay, found.credit) == (
        Money(-50, "GBP"),
        Money(0, "GBP"),
        Money(50, "GBP"),
    )


def test_a_reversed_payment_counts_no_more() -> None:
    paid = Entry(2, EntryKind.PAYMENT, Money(-100, "GBP"), AT)
    back = Entry(3, EntryKind.PAYMENT, Money(100, "GBP"), AT, reverses_id=2)
    found = Account(
        "GBP", Money(0, "GBP"), (Entry(1, EntryKind.PRICE, Money(100, "GBP"), AT), paid, back)
    )
    assert (found.paid, found.owed) == (Money(0, "GBP"), Money(100, "GBP"))
    assert not any(found.can_reverse(one) for one in found.entries)


@pytest.mark.parametrize(
    ("deposit", "total", "owed", "due"),
    [
        (9_600, 40_000, 40_000, 9_600),
        (9_600, 40_000, 35_000, 4_600),  # 50.00 was paid
        (9_600, 40_000, 30_000, 0),
        (9_600, 5_000, 5_000, 5_000),  # the price fell below the deposit
        (9_600, 0, -9_600, 0),  # cancelled: it is to be given back
        (0, 40_000, 40_000, 0),
    ],
)
def test_a_deposit_is_due_until_it_is_paid(deposit: int, total: int, owed: int, due: int) -> None:
    assert Balance(
        Money(total, "GBP"), Money(owed, "GBP"), Money(deposit, "GBP")
    ).deposit_due == Money(due, "GBP")


def test_the_deposit_of_an_account_is_the_same() -> None:
    found = account((EntryKind.PRICE, 40_000), (EntryKind.PAYMENT, -5_000), deposit=9_600)
    assert found.deposit_due == Money(4_600, "GBP")
