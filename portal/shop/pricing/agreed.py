"""A price adjusted to the sum that was agreed with the customer.

Findings are priced one by one, when they are found. Where several of them touch the minimum charge
or the rounding, a new quote adds up to another sum than the customer agreed to: the agreed one
counts, and a line of its own shows the difference.
"""

from dataclasses import replace

from portal.shop.money import Money, round_half_up
from portal.shop.pricing.quote import Quote
from portal.shop.pricing.quote_lines import firm, line
from portal.shop.pricing.quote_words import AGREED, AGREED_WHY


def at_agreed_sum(price: Quote, total_minor: int) -> Quote:
    """Return the price with `total_minor` (minor units, tax included) as its total.

    The lines still add up to the total, or to the sum before tax where prices are without it.
    """
    if total_minor == price.total.minor:
        return price
    currency = price.total.currency
    share = price.tax_percent / (100 + price.tax_percent)
    tax = round_half_up(total_minor * share)
    net = total_minor - tax
    gap = total_minor - price.total.minor if price.tax_inclusive else net - price.net.minor
    moved = total_minor - price.total.minor
    return replace(
        price,
        lines=(*price.lines, line("agreed", AGREED, AGREED_WHY, firm(gap), currency)),
        net=Money(net, currency),
        tax=Money(tax, currency),
        total=Money(total_minor, currency),
        low=Money(price.low.minor + moved, currency),
        high=Money(price.high.minor + moved, currency),
    )
