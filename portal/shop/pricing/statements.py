"""What an order costs and when it is ready, in the one form that every page and paper uses.

The expected sum comes first; beside it, where something depends on the inspection, the sum that is
never exceeded without the customer's yes. The expected day comes first too; the promise is the
later one, on which the longest case of every open answer is done.
"""

from dataclasses import dataclass
from datetime import datetime

from portal.craft.messages import Message
from portal.craft.open_answers import Slow
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.pricing.quote import Quote


@dataclass(frozen=True, slots=True)
class PriceStatement:
    """The price of an order: the `expected` one, and the `most` without asking again."""

    expected: Money
    most: Money

    @property
    def firm(self) -> bool:
        """Whether it can't become dearer than expected."""
        return self.most.minor <= self.expected.minor

    @property
    def sentence(self) -> Message:
        """The whole statement as one message."""
        if self.firm:
            return Message("{total}", total=self.expected)
        return Message(
            "{total} expected. Never above {most} without your yes.",
            total=self.expected,
            most=self.most,
        )

    @property
    def limit(self) -> Message | None:
        """The second half alone, for places with two lines; None where the price is firm."""
        return None if self.firm else Message("Never above {most} without your yes", most=self.most)


@dataclass(frozen=True, slots=True)
class DateStatement:
    """When an order is ready: `expected`, and `promised`; the same where nothing is open."""

    expected: datetime
    promised: datetime
    unless: Slow | None = None

    @property
    def firm(self) -> bool:
        """Whether there is only one date."""
        return self.unless is None or self.expected >= self.promised

    @property
    def sentence(self) -> Message:
        """Both days as one message, with the reason of the later one."""
        if self.limit is None:
            return Message("{day}", day=self.promised)
        return Message("{expected}; {limit}", expected=self.expected, limit=self.limit)

    @property
    def limit(self) -> Message | None:
        """The second half alone, for places with two lines; None where the date is firm."""
        if self.firm:
            return None
        return Message(_LIMITS[self.unless or Slow.SEVERAL], latest=self.promised)


_LIMITS = {
    Slow.LAYERS: Message("up to {latest} if the old finish is hard to take off", latest="").msgid,
    Slow.CHROME: Message("up to {latest} if they turn out to be chrome-plated", latest="").msgid,
    Slow.COLOUR: Message(
        "up to {latest} if we have to order the colour you choose", latest=""
    ).msgid,
    Slow.SIZE: Message("up to {latest} if they are large", latest="").msgid,
    Slow.SEVERAL: Message("{latest} at the latest", latest="").msgid,
}


def price_of_quote(quote: Quote) -> PriceStatement:
    """Return the price statement of a quote."""
    return PriceStatement(quote.total, quote.high)


# afterwards the floor knows better than an assumption
SPANNED = frozenset({JobState.BOOKED, JobState.NOT_BROUGHT, JobState.RECEIVED})


def date_of_job(
    promised: datetime, expected: datetime | None, unless: str | None, state: JobState
) -> DateStatement:
    """Return the date statement of a job."""
    if expected is None or not unless or state not in SPANNED:
        return DateStatement(promised, promised)
    return DateStatement(expected, promised, Slow(unless))


def price_of_job(total: Money, left_open: int, state: JobState) -> PriceStatement:
    """Return the price statement of a job.

    `total` includes every change that the customer agreed to; `left_open`, in minor units, is what
    its quote leaves open above that. Once the work is done or cancelled nothing is open.
    """
    if state.is_done or state.is_off or left_open <= 0:
        return PriceStatement(total, total)
    return PriceStatement(total, Money(total.minor + left_open, total.currency))
