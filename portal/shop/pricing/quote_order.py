"""The lines that an order has once, however many sets it has."""

from portal.craft.answers import Appraisal
from portal.craft.check_kinds import CheckKind
from portal.craft.open_answers import may_be_chrome
from portal.craft.parts import Declared
from portal.shop.pricing import quote_words as words
from portal.shop.pricing.accepted import is_taken
from portal.shop.pricing.price_list import Tariff
from portal.shop.pricing.quote_lines import LineCost, QuoteLine, firm, line


def order_lines(declared: Declared, appraisal: Appraisal, tariff: Tariff) -> list[QuoteLine]:
    """Return the lines that an order has once, however many sets it has."""
    lines = []
    taken = [answer for answer in appraisal.sets if is_taken(answer)]
    away = any(answer.route.outside for answer in taken)
    if tariff.strip.transport and (away or any(may_be_chrome(a.part_set) for a in taken)):
        cost = tariff.strip.transport
        span = firm(cost) if away else LineCost(0, 0, cost)
        lines.append(line("transport", *words.TRANSPORT, span, tariff.currency))
    if tariff.strip.old_coating_check and any(CheckKind.LEAD in one.checks for one in taken):
        lines.append(
            line(
                "old_coating",
                *words.OLD_COATING,
                firm(tariff.strip.old_coating_check),
                tariff.currency,
            )
        )
    if declared.fetched and taken and tariff.sells_fetching:
        lines.append(line("fetching", *words.FETCHING, firm(tariff.fetching), tariff.currency))
    return lines
