"""How a sum of money is written in every language: in columns with its pence, plain elsewhere."""

from functools import lru_cache

from babel.numbers import format_currency

from portal.render.catalogues import locale_of
from portal.render.reader import Reader
from portal.shop.money import Money

# signs that everybody knows; some languages write the code of a foreign currency instead
SIGNS = {"GBP": "£", "USD": "$", "EUR": "€"}


def money(sum_: Money, reader: Reader) -> str:
    """Return £1,234.00: whole sums keep their pence, so that columns line up."""
    return _in_column(sum_, reader.language)


def amount(sum_: Money, reader: Reader) -> str:
    """Return £1,234 for a whole sum and £1,234.50 for any other, as a sentence says it."""
    return _in_sentence(sum_, reader.language)


@lru_cache(maxsize=4096)
def _in_column(amount: Money, language: str) -> str:
    locale = locale_of(language)
    text = str(format_currency(amount.major, amount.currency, locale=locale))
    return _with_sign(text, amount.currency)


@lru_cache(maxsize=4096)
def _in_sentence(amount: Money, language: str) -> str:
    if amount.major % 1:
        return _in_column(amount, language)
    locale = locale_of(language)
    pattern = locale.currency_formats["standard"].pattern.replace(".00", "")
    text = format_currency(
        amount.major, amount.currency, format=pattern, locale=locale, currency_digits=False
    )
    return _with_sign(str(text), amount.currency)


def _with_sign(text: str, currency: str) -> str:
    if currency in SIGNS:
        return text.replace(currency, SIGNS[currency])
    # a code of letters stands apart from its figure (UTS 35, currency spacing)
    before, code, after = text.partition(currency)
    return f"{before}{code}\N{NO-BREAK SPACE}{after}" if after[:1].isdecimal() else text
