"""Sums, days and counts as they are told in one place after the other: they must be the same."""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from xml.etree.ElementTree import Element

from babel.dates import format_date

from portal.render.days import DAY
from tests.customers.watch import must
from tests.page import Page, words

SUM = re.compile(
    r"([-−]?)\s?(?:(?:£|GBP|€)\s?(\d[\d.,\u00a0\u202f]*)|(\d[\d.,\u00a0\u202f]*)\s?(?:£|GBP|€))"
)
ROUNDING = 50  # the demo's shop rounds a total to half pounds


def minor(figure: str) -> int:
    """Return a sum as written in pence: 1,234.50 and 1.234,50 and 568 alike."""
    figure = figure.strip("., \u00a0\u202f")
    major, sign, rest = re.fullmatch(r"(.*?)(?:([.,])(\d\d))?", figure).groups()  # type: ignore[union-attr]
    whole = int(re.sub(r"\D", "", major) or 0)
    return whole * 100 + (int(rest) if sign else 0)


def sums(text: str) -> list[int]:
    """Return every sum of money in a text, in its order."""
    return [minor(one[2] or one[3]) * (-1 if one[1] else 1) for one in SUM.finditer(text)]


def moments(elements: Iterable[Element]) -> list[str]:
    """Return the days of every `<time>` in these elements."""
    return [(time.get("datetime") or "")[:10] for one in elements for time in one.iter("time")]


class Told:
    """What a customer was told of a thing, by place; a place that says otherwise makes him fall.

    A sum may stand alone or with its upper limit behind it: the first is what is expected, and a
    second one must be the limit wherever it stands.
    """

    def __init__(self) -> None:
        self.first: dict[str, tuple[str, object]] = {}

    def tell(self, thing: str, value: object, where: str) -> None:
        """Note what a place tells; the first place is what the others are held against."""
        before = self.first.setdefault(thing, (where, value))
        must(
            before[1] == value,
            f"{thing}: {_shown(before[1])} at {before[0]}, {_shown(value)} at {where}",
        )

    def again(self, *things: str) -> None:
        """Forget what was told: it has changed with the customer's yes."""
        for thing in things:
            self.first.pop(thing, None)

    def of(self, thing: str) -> object:
        return self.first[thing][1]

    def price(self, told: list[int], where: str) -> None:
        """Note the price of a place: what is expected, and the limit where it is told."""
        must(told, f"{where} tells no price")
        self.tell("price", told[0], where)
        if len(told) > 1 and told[1] != told[0]:
            self.tell("limit of the price", told[1], where)

    def promise(self, days: list[str], where: str, *, settled: bool = False) -> None:
        """Note the promised day of a place, and the last one where it still depends on something.

        Once that is `settled`, the day may be any between the two.
        """
        must(days, f"{where} tells no day")
        known = self.first.get("promised day"), self.first.get("last day")
        if settled and known[0] and known[1]:
            within = str(known[0][1]) <= days[0] <= str(known[1][1])
            must(within, f"{where}: {days[0]}, promised was {known[0][1]} to {known[1][1]}")
            self.again("promised day", "last day")
        self.tell("promised day", days[0], where)
        if max(days) != days[0]:
            self.tell("last day", max(days), where)


def days_in(text: str, language: str, around: date) -> list[str]:
    """Return the days that a text names in its language, in their order, from a week before."""
    tidy = re.sub(r"\s+", " ", text)
    found = [(at, day) for day, name in _names(language, around) if (at := tidy.find(name)) >= 0]
    return [day for _at, day in sorted(found)]


@lru_cache(maxsize=64)
def _names(language: str, around: date) -> list[tuple[str, str]]:
    days = [around + timedelta(days=n) for n in range(-7, 150)]
    return [(f"{d}", f"{format_date(d, DAY[language], locale=language)}") for d in days]


def _shown(value: object) -> str:
    return f"{value / 100:.2f}" if isinstance(value, int) and value > 999 else str(value)


def bar(page: Page) -> tuple[list[int], list[str]]:
    """Return the sums and days of the bar at the foot; both empty while nothing is told yet."""
    found = page.all(class_="bar-now")
    return [one for e in found for one in sums(words(e))], moments(found)


def beside(page: Page, title: str) -> Element | None:
    """Return the `<dd>` of a `<dt>` that begins with `title`."""
    for pair in page.all("div"):
        names = [c for c in pair if c.tag == "dt"]
        if names and words(names[0]).startswith(title):
            return next((c for c in pair if c.tag == "dd"), None)
    return None


def total_row(page: Page) -> list[int]:
    """Return the sums of the row of a price's total."""
    rows = [r for r in page.all("tr") if "total" in (r.get("class") or "").split()]
    return sums(words(rows[0])) if rows else []


def adds_up(page: Page, where: str) -> None:
    """The lines of a price add up to its total, and those of a set to its subtotal."""
    for table in page.all("table"):
        total = [sums(words(row))[0] for row in _rows(table, "total") if sums(words(row))]
        if not total:
            continue
        added = 0
        for body in table.iter("tbody"):
            lines = sum(_sum_of(row, where) for row in body.iter("tr") if _is_line(row))
            for row in _rows(body, "price-sub"):
                must(lines == _sum_of(row, where), f"{where}: a subtotal is not its lines' sum")
            added += lines
        must(
            abs(added - total[0]) <= ROUNDING,
            f"{where}: the lines add up to {_shown(added)}, the total is {_shown(total[0])}",
        )


def _rows(inside: Element, name: str) -> list[Element]:
    return [r for r in inside.iter("tr") if name in (r.get("class") or "").split()]


def _is_line(row: Element) -> bool:
    return not {"price-sub", "price-set"} & set((row.get("class") or "").split())


def _sum_of(row: Element, where: str) -> int:
    found = [one for cell in row.iter("td") for one in sums(words(cell))]
    must(len(found) == 1, f"{where}: the line “{words(row)[:60]}” tells {len(found)} sums")
    return found[0]


def counted(heads: Iterable[str]) -> int:
    """Return how many parts a list of sets names: `4 × Wheels`, `2 × 19 × 8½ front`."""
    found = [re.match(r"\D*?(\d+)\s?×", one) for one in heads]
    return sum(int(one[1]) for one in found if one)
