"""The one assessment of an order: what the trade and the shop say of it, made once and handed on.

It hangs on the order, the edition of the shop and the day (for the tax) alone. The promise, which
hangs on the queue as well, is no part of it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from portal.craft.answers import Appraisal, Caution, CautionKind, SetAppraisal
from portal.craft.appraise import appraise
from portal.craft.messages import Message
from portal.craft.parts import Declared
from portal.shop.assessment.defaults import with_defaults
from portal.shop.pricing.agreed import at_agreed_sum
from portal.shop.pricing.quote import Quote, quote
from portal.shop.pricing.statements import PriceStatement, price_of_quote
from portal.shop.scheduling.stations import PartWork, part_work
from portal.shop.shop import Shop

# orders that are remembered: the same one is asked for by each page, form and letter about it
REMEMBERED = 128


@dataclass(frozen=True, slots=True)
class Assessment:
    """An order with all that follows from it.

    `declared` is the order that was assessed; `assumed` says what of it is only the usual, and
    was never told. `work` is what one part of each set asks of the stations, by the set's key.
    """

    declared: Declared
    appraisal: Appraisal
    quote: Quote
    work: Mapping[str, PartWork]
    assumed: tuple[Message, ...] = ()

    @property
    def sets(self) -> tuple[SetAppraisal, ...]:
        """The appraisal of each set."""
        return self.appraisal.sets

    @property
    def price(self) -> PriceStatement:
        """What the order comes to, as everything says it."""
        return price_of_quote(self.quote)

    @property
    def refused(self) -> tuple[Caution, ...]:
        """What stops the booking."""
        return self.appraisal.refused

    @property
    def to_confirm(self) -> tuple[Caution, ...]:
        """What the customer confirms before booking, each once."""
        return self.appraisal.cautions_of(CautionKind.CONFIRM)

    @property
    def to_know(self) -> tuple[Caution, ...]:
        """What is good to know, and what is looked at first, each once."""
        kinds = (CautionKind.PLACE, CautionKind.INSPECT, CautionKind.TELL)
        return self.appraisal.cautions_of(*kinds)

    def at_agreed(self, total_minor: int) -> "Assessment":
        """Return the order at the sum that was agreed, in minor units with tax."""
        return replace(self, quote=at_agreed_sum(self.quote, total_minor))

    def of_set(self, key: str) -> SetAppraisal | None:
        """Return the appraisal of one set; None where there is no such set."""
        return next((one for one in self.sets if one.part_set.key == key), None)


def assess(declared: Declared, shop: Shop, on: date) -> Assessment:
    """Return the assessment of an order that is told whole, with the prices and tax of a day.

    Raises CraftError, with the key of the field. An order that was assessed lately under the same
    edition of the shop is not assessed again.
    """
    return _assess(declared, shop, on, None)


def assess_draft(
    declared: Declared, shop: Shop, on: date, told_fitted: frozenset[str]
) -> Assessment:
    """Return the assessment of an order with the usual where nothing was told yet.

    `told_fitted` has the keys of the sets whose fitted things were told.
    """
    return _assess(declared, shop, on, told_fitted)


@lru_cache(maxsize=REMEMBERED)
def _assess(
    declared: Declared, shop: Shop, on: date, told_fitted: frozenset[str] | None
) -> Assessment:
    if told_fitted is not None:
        filled, assumed = with_defaults(declared, shop.practice, told_fitted)
        return replace(_assess(filled, shop, on, None), assumed=assumed)
    appraisal = appraise(declared, shop.practice)
    return Assessment(
        declared=declared,
        appraisal=appraisal,
        quote=quote(declared, appraisal, shop.tariff, on),
        work={
            one.part_set.key: part_work(one, shop.stations, refit=one.refitted)
            for one in appraisal.sets
        },
    )
