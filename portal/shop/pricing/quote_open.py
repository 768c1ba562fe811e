"""The lines of a set whose colour is decided from samples: from the least to the most."""

from dataclasses import replace

from portal.craft.answers import SetAppraisal
from portal.craft.parts import Bringing
from portal.shop.money import Money
from portal.shop.pricing import quote_words as words
from portal.shop.pricing.price_list import Tariff
from portal.shop.pricing.quote_lines import QuoteLine, set_lines


def lines_of(answer: SetAppraisal, bringing: Bringing | None, tariff: Tariff) -> list[QuoteLine]:
    """Return the lines of one set, whether its colour is chosen or still open.

    Where it is open, the amounts are those of the plainest colour in stock. A line that some
    colours have and others don't may come to nothing.
    """
    if not answer.possible:
        return set_lines(answer, bringing, tariff)
    each = [{n.key: n for n in set_lines(p, bringing, tariff)} for p in answer.possible]
    every = dict(each[0])
    for lines in each:
        every = lines | every
    return [_spanned(key, one, each, tariff.currency) for key, one in every.items()]


def _spanned(
    key: str, one: QuoteLine, each: list[dict[str, QuoteLine]], currency: str
) -> QuoteLine:
    nothing = Money(0, currency)
    lows = [lines[key].low if key in lines else nothing for lines in each]
    highs = [lines[key].high if key in lines else nothing for lines in each]
    low, high = min(lows, key=lambda m: m.minor), max(highs, key=lambda m: m.minor)
    amount = each[0][key].amount if key in each[0] else nothing
    return replace(
        one,
        why=one.why if all(key in lines for lines in each) else words.IF_CHOSEN,
        amount=amount,
        each=one.each and Money(amount.minor // one.count, currency),
        low=low,
        high=high,
        firm=low == amount == high,
    )
