"""How a sum of money is written in every language: in columns with its pence, plain elsewhere."""

from functools import lru_cache

from babel import Locale
from babel.numbers import format_currency

from portal.shop.money import Money

# signs that everybody knows; some languages write the code of a foreign currency instead
SIGNS = {"GBP": "£", "USD": "$", "EUR": "€"}


@lru_cache(maxsize=4096)
def column_sum(amount: Money, locale: str) -> str:
    """Return £1,234.00: whole sums keep their pence, so that columns line up."""
    return _with_sign(
        str(format_currency(amount.major, amount.currency, locale=locale)), amount.currency
    )


@lru_cache(maxsize=4096)
def plain_sum(amount: Money, locale: str) -> str:
    """Return £1,234 for a whole sum and £1,234.50 for any other, as a sentence says it."""
    if amount.minor % 100:
        return column_sum(amount, locale)
    pattern = Locale.parse(locale).currency_formats["standard"].pattern.replace(".00", "")
    text = format_currency(
        amount.major, amount.currency, format=pattern, locale=locale, currency_digits=False
    )
    return _with_sign(str(text), amount.currency)


def _with_sign(text: str, currency: str) -> str:
    return text.replace(currency, SIGNS.get(currency, currency))
