"""What an order costs, in the one form in which every page, paper, letter and list says it.

The sum that is expected stands first; beside it, where something waits for the inspection, the
sum that is never passed without the customer's yes.
"""

from dataclasses import dataclass

from portal.craft.say import Said, say
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.quote import Quote

SETTLED = frozenset(
    {JobState.READY, JobState.HANDED_BACK, JobState.CALLED_OFF, JobState.TURNED_AWAY}
)


@dataclass(frozen=True, slots=True)
class PriceStatement:
    """The price of an order: what is `expected`, and the `most` that it can come to unasked."""

    expected: Money
    most: Money

    @property
    def firm(self) -> bool:
        """Whether nothing can make it dearer than expected."""
        return self.most.minor <= self.expected.minor

    @property
    def sentence(self) -> Said:
        """The whole statement as one message."""
        if self.firm:
            return say("{total}", total=self.expected)
        return say(
            "{total} expected. Never above {most} without your yes.",
            total=self.expected,
            most=self.most,
        )

    @property
    def limit(self) -> Said | None:
        """The second half alone, for places with two lines; None where the price is firm."""
        return None if self.firm else say("Never above {most} without your yes", most=self.most)


def price_of_quote(quote: Quote) -> PriceStatement:
    """Return what a quote comes to, as it is told."""
    return PriceStatement(quote.total, quote.high)


def price_of_job(total: Money, left_open: int, state: JobState) -> PriceStatement:
    """Return what a job comes to.

    `total` counts every change that the customer agreed to; `left_open`, in minor units, is what
    its quote leaves open above that. Once the work is done or called off nothing is open.
    """
    if state in SETTLED or left_open <= 0:
        return PriceStatement(total, total)
    return PriceStatement(total, Money(total.minor + left_open, total.currency))
