"""The account of one job: every sum that was charged, taken or given back, in whole minor units.

An entry is never changed or removed. What was wrong is put right by a counter-entry: the same kind
and way with the opposite amount, naming the entry that it reverses.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from portal.craft.titled import Titled
from portal.shop.money import Money
from portal.shop.states import PaymentMethod


class EntryKind(Titled):
    """What an entry of the account is."""

    PRICE = "price", "Price"
    CHANGE = "change", "Change of the price"
    DISCOUNT = "discount", "Discount"
    GOODWILL = "goodwill", "Goodwill"
    END = "end", "Cancelled"
    PAYMENT = "payment", "Payment"
    REFUND = "refund", "Refund"

    @property
    def is_money(self) -> bool:
        """Whether money changed hands."""
        return self in MONEY


ORDERED = frozenset({EntryKind.PRICE, EntryKind.CHANGE, EntryKind.END})
MONEY = frozenset({EntryKind.PAYMENT, EntryKind.REFUND})
REDUCTIONS = frozenset({EntryKind.DISCOUNT, EntryKind.GOODWILL})
CHARGED = ORDERED | REDUCTIONS
# what people enter, and can get wrong
REVERSIBLE = MONEY | REDUCTIONS


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry; a positive amount is what the customer owes more, a negative one less."""

    id: int
    kind: EntryKind
    amount: Money
    at: datetime
    how: PaymentMethod | None = None
    reason: str = ""
    finding_id: int | None = None
    reverses_id: int | None = None
    person_id: int | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """What an account comes to: what is charged, what of it is owed, and the deposit asked for.

    `monthly` is a trade customer's: it is paid by the invoice of the month.
    """

    total: Money
    owed: Money  # below zero, what we owe the customer
    deposit: Money
    monthly: bool = False

    @property
    def paid(self) -> Money:
        """What the customer paid, without what was given back."""
        return self.total - self.owed

    @property
    def to_pay(self) -> Money:
        """What the customer still has to pay, never below zero."""
        return max(self.owed, Money(0, self.owed.currency))

    @property
    def credit(self) -> Money:
        """What we have to give back, never below zero."""
        return max(-self.owed, Money(0, self.owed.currency))

    @property
    def deposit_due(self) -> Money:
        """What is still to be paid of the deposit, which can't be above the price."""
        nothing = Money(0, self.owed.currency)
        return max(min(self.deposit, self.total) - max(self.paid, nothing), nothing)


@dataclass(frozen=True, slots=True)
class Account:
    """The account of one job, with its entries in the order in which they were made."""

    currency: str
    deposit: Money  # asked for at drop-off
    entries: tuple[Entry, ...]
    monthly: bool = False

    @property
    def price(self) -> Money:
        """The price of the order with every change that was agreed; 0 once it was cancelled."""
        return self._sum(ORDERED)

    @property
    def discounts(self) -> Money:
        """What was taken off the price by agreement."""
        return -self._sum({EntryKind.DISCOUNT})

    @property
    def goodwill(self) -> Money:
        """What was taken off to make amends."""
        return -self._sum({EntryKind.GOODWILL})

    @property
    def total(self) -> Money:
        """What the customer is charged, tax included."""
        return self._sum(CHARGED)

    @property
    def paid(self) -> Money:
        """What the customer paid."""
        return -self._sum({EntryKind.PAYMENT})

    @property
    def refunded(self) -> Money:
        """What was given back to the customer."""
        return self._sum({EntryKind.REFUND})

    def received_by(self, how: PaymentMethod) -> Money:
        """Return what was paid in a way and not given back in it."""
        own = (one.amount for one in self.entries if one.kind in MONEY and one.how is how)
        return -sum(own, start=Money(0, self.currency))

    @property
    def owed(self) -> Money:
        """The sum of all entries: what is still to be paid; below zero, what we owe."""
        return self._sum(frozenset(EntryKind))

    @property
    def balance(self) -> Balance:
        """What the account comes to."""
        return Balance(self.total, self.owed, self.deposit, self.monthly)

    @property
    def to_pay(self) -> Money:
        """What the customer still has to pay, never below zero."""
        return self.balance.to_pay

    @property
    def credit(self) -> Money:
        """What we have to give back, never below zero."""
        return self.balance.credit

    @property
    def deposit_due(self) -> Money:
        """What is still to be paid of the deposit."""
        return self.balance.deposit_due

    @property
    def open_reductions(self) -> tuple[Entry, ...]:
        """The discounts and goodwill that were not taken back."""
        return tuple(one for one in self.entries if one.kind in REDUCTIONS and self._stands(one))

    @property
    def standing(self) -> tuple[Entry, ...]:
        """What people entered and still stands, without what was reversed."""
        return tuple(one for one in self.entries if self.can_reverse(one))

    @property
    def reversed_ids(self) -> frozenset[int]:
        """The entries that were reversed."""
        found = (one.reverses_id for one in self.entries)
        return frozenset(one for one in found if one is not None)

    def can_reverse(self, entry: Entry) -> bool:
        """Whether an entry is one that people make, and still stands."""
        return entry.kind in REVERSIBLE and self._stands(entry)

    def entry(self, entry_id: int) -> Entry | None:
        """Return the entry with this number, None when the account has none."""
        return next((one for one in self.entries if one.id == entry_id), None)

    def _stands(self, entry: Entry) -> bool:
        return entry.reverses_id is None and entry.id not in self.reversed_ids

    def _sum(self, kinds: Collection[EntryKind]) -> Money:
        own = (one.amount for one in self.entries if one.kind in kinds)
        return sum(own, start=Money(0, self.currency))
