"""What a till took: by way of payment and rate of tax, and the cash that must be in it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from portal.shop.invoicing.sums import taxed
from portal.shop.states import PaymentMethod


@dataclass(frozen=True, slots=True)
class Taking:
    """One payment, in minor units; what was given back is negative."""

    entry_id: int
    day: date
    way: PaymentMethod
    percent: Decimal
    amount: int


@dataclass(frozen=True, slots=True)
class TakingsSum:
    """What one way brought at one rate; `tax` is what is in it."""

    way: PaymentMethod
    percent: Decimal
    count: int
    amount: int

    @property
    def tax(self) -> int:
        """The tax in the sum."""
        return self.amount - taxed(self.amount, self.percent).net


def sums_of(takings: Iterable[Taking]) -> tuple[TakingsSum, ...]:
    """Return the sums by way and rate: ways in their order, the highest rate first."""
    found: dict[tuple[PaymentMethod, Decimal], list[int]] = {}
    for one in takings:
        found.setdefault((one.way, one.percent), []).append(one.amount)
    ways = list(PaymentMethod)
    return tuple(
        TakingsSum(way, percent, len(amounts), sum(amounts))
        for (way, percent), amounts in sorted(
            found.items(), key=lambda one: (ways.index(one[0][0]), -one[0][1])
        )
    )


def cash_in(takings: Iterable[Taking]) -> int:
    """Return how much cash came in, less what was given back."""
    return sum(one.amount for one in takings if one.way is PaymentMethod.CASH)


@dataclass(frozen=True, slots=True)
class TillCount:
    """A counted till, in minor units."""

    opening: int
    taken: int
    counted: int
    banked: int

    @property
    def expected(self) -> int:
        """What must be in it."""
        return self.opening + self.taken

    @property
    def difference(self) -> int:
        """What was found above it; below zero, what is missing."""
        return self.counted - self.expected

    @property
    def left(self) -> int:
        """What stays in it for the next day."""
        return self.counted - self.banked
