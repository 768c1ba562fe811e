"""The price of an order: lines in the customer's words, each with its reason, that add up.

Every rule of the sum stands here once: lines, then rush, minimum charge and rounding, then tax,
then deposit. The lines of one set come from `quote_lines`. Amounts are as the price list
writes them: with the tax in inclusive mode, without it in the other two.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from portal.craft import reading
from portal.craft.answers import Appraisal
from portal.craft.messages import Message
from portal.craft.parts import Declared
from portal.shop.money import Money, round_half_up
from portal.shop.money import total as sum_of
from portal.shop.pricing import quote_words as words
from portal.shop.pricing.accepted import is_taken, taken
from portal.shop.pricing.price_list import Tariff, TaxMode
from portal.shop.pricing.quote_lines import LineCost, QuoteLine, firm, line
from portal.shop.pricing.quote_open import lines_of
from portal.shop.pricing.quote_order import order_lines
from portal.shop.pricing.quote_words import tax_said


@dataclass(frozen=True, slots=True)
class LineGroup:
    """The lines of one set, or (without a key) those of the order as a whole."""

    set_key: str
    lines: tuple[QuoteLine, ...]
    subtotal: Money


@dataclass(frozen=True, slots=True)
class Quote:
    """A whole price. `low` and `high` are the total in the best and in the worst case.

    The lines add up to `total` in inclusive mode and to `net` in the other two.
    """

    lines: tuple[QuoteLine, ...]
    net: Money
    tax: Money
    tax_percent: Decimal
    tax_inclusive: bool
    total: Money
    low: Money
    high: Money
    deposit: Money
    tax_name: str = "VAT"

    @property
    def firm(self) -> bool:
        """Whether nothing in it depends on the inspection."""
        return self.low == self.total == self.high

    @property
    def groups(self) -> tuple[LineGroup, ...]:
        """The lines by set, each with its subtotal; those of the whole order come last."""
        found: dict[str, list[QuoteLine]] = {}
        for one in sorted(self.lines, key=lambda one: not one.set_key):
            found.setdefault(one.set_key, []).append(one)
        currency = self.total.currency
        return tuple(
            LineGroup(key, tuple(own), sum_of([one.amount for one in own], currency))
            for key, own in found.items()
        )


def write_quote(quote: Quote) -> dict[str, Any]:
    """Return a quote as plain values, to be kept with a job."""
    return {"currency": quote.total.currency, **reading.write(quote, all_of_it=True)}


def read_quote(stored: Mapping[str, Any]) -> Quote:
    """Return the quote that `write_quote` kept."""
    return reading.read(Quote, stored, stored["currency"])


def quote(declared: Declared, appraisal: Appraisal, tariff: Tariff, on: date) -> Quote:
    """Price an order as appraised, with the tax of the day `on`.

    A set that is refused costs nothing: it can't be booked. The result does not depend on the
    order in which things were chosen.
    """
    lines = [
        one
        for answer in appraisal.sets
        if is_taken(answer)
        for one in lines_of(taken(answer), appraisal.bringing, tariff)
    ]
    lines += order_lines(declared, appraisal, tariff)
    usual = sum(one.amount.minor for one in lines)
    low, high = (
        _close(sum(one.low.minor for one in lines), declared, tariff),
        _close(sum(one.high.minor for one in lines), declared, tariff),
    )
    closing = _close(usual, declared, tariff)
    lines += _closing_lines(closing, low, high, tariff)
    tax = _Taxing(tariff, tariff.tax.percent(on))
    net, total = tax.split(closing.listed)

    def money(minor: int) -> Money:
        return Money(minor, tariff.currency)

    return Quote(
        lines=tuple(lines),
        net=money(net),
        tax=money(total - net),
        tax_percent=tax.percent,
        tax_inclusive=tariff.tax.mode is TaxMode.INCLUSIVE,
        total=money(total),
        low=money(tax.split(low.listed)[1]),
        high=money(tax.split(high.listed)[1]),
        deposit=money(_deposit(total, tariff)),
        tax_name=tariff.tax.name,
    )


@dataclass(frozen=True, slots=True)
class _Closing:
    """What comes after the lines, in minor units, and the resulting sums."""

    rush: int
    minimum: int
    rounding: int
    listed: int


def _close(lines: int, declared: Declared, tariff: Tariff) -> _Closing:
    if lines == 0:
        return _Closing(0, 0, 0, 0)
    rush = 0
    if declared.rush:
        share = round_half_up(Decimal(lines) * tariff.rush.percent / 100)
        rush = max(tariff.rush.at_least, share)
    minimum = max(0, tariff.minimum - lines - rush)
    before = lines + rush + minimum
    listed = tariff.rounding.to * round_half_up(Decimal(before) / tariff.rounding.to)
    return _Closing(rush, minimum, listed - before, listed)


def _closing_lines(
    usual: _Closing, low: _Closing, high: _Closing, tariff: Tariff
) -> Iterator[QuoteLine]:
    """Return the closing lines; only the rush has a range, the others follow from the sum."""
    if usual.rush:
        why = Message(words.RUSH_WHY.msgid, percent=tariff.rush.percent.normalize())
        span = LineCost(usual.rush, low.rush, high.rush)
        yield line("rush", words.RUSH, why, span, tariff.currency)
    if usual.minimum:
        span = firm(usual.minimum)
        yield line("minimum", words.MINIMUM, words.MINIMUM_WHY, span, tariff.currency)
    if usual.rounding:
        span = firm(usual.rounding)
        yield line("rounding", words.ROUNDING, words.ROUNDING_WHY, span, tariff.currency)


@dataclass(frozen=True, slots=True)
class _Taxing:
    tariff: Tariff
    percent: Decimal

    def split(self, listed: int) -> tuple[int, int]:
        """Return (net, total) of a sum of listed prices; their difference is the tax."""
        if self.tariff.tax.mode is TaxMode.INCLUSIVE:
            tax = round_half_up(listed * self.percent / (100 + self.percent))
            return (listed - tax, listed)
        return (listed, listed + round_half_up(listed * self.percent / 100))


def _deposit(total: int, tariff: Tariff) -> int:
    """Return the deposit: a share of the total, rounded, at least a sum, never above the total."""
    if total == 0 or total < tariff.deposit.least_total or not tariff.deposit.percent:
        return 0
    share = Decimal(total) * tariff.deposit.percent / 100
    rounded = tariff.rounding.to * round_half_up(share / tariff.rounding.to)
    return min(total, max(tariff.deposit.at_least, rounded))


def difference(before: Quote, after: Quote) -> tuple[QuoteLine, ...]:
    """Return what changed, line by line; the amounts add up to the change of the total.

    Parts that only moved to another set cancel out. What is gone has a negative amount.
    """
    rows: dict[tuple[object, ...], tuple[QuoteLine, int, int, int, int]] = {}
    for one, sign in [(one, 1) for one in after.lines] + [(one, -1) for one in before.lines]:
        name = _identity(one)
        row = rows.get(name, (one, 0, 0, 0, 0))
        rows[name] = (
            row[0],
            row[1] + sign * one.amount.minor,
            row[2] + sign * one.low.minor,
            row[3] + sign * one.high.minor,
            row[4] + sign * one.count,
        )
    currency = after.total.currency
    found = [
        _changed(
            one, LineCost(amount, min(low, amount, high), max(low, amount, high)), count, currency
        )
        for one, amount, low, high, count in rows.values()
        if amount or low or high
    ]
    tax = after.tax.minor - before.tax.minor
    if tax and not after.tax_inclusive:
        says = Message(words.TAX.msgid, name=tax_said(after.tax_name))
        found.append(line("tax", says, words.TAX_WHY, firm(tax), currency))
    return tuple(found)


def _identity(one: QuoteLine) -> tuple[object, ...]:
    """Return what makes two lines equal, whichever set they belong to."""
    if not one.set_key:
        return (one.key,)
    each = one.amount.minor // one.count
    return (one.key.removeprefix(one.set_key), one.says, each)


def _changed(one: QuoteLine, span: LineCost, count: int, currency: str) -> QuoteLine:
    gone = span.usual < 0
    return replace(
        one,
        why=words.NO_LONGER if gone and one.set_key else one.why,
        amount=Money(span.usual, currency),
        firm=span.low == span.usual == span.high,
        low=Money(span.low, currency),
        high=Money(span.high, currency),
        count=abs(count) or 1,
        each=one.each if count and one.each and abs(count) > 1 else None,
    )
