"""A whole shop: its name and address, prices, week, stations and country.

It is put together from documents (`shop`, `prices`, `week`, `stations`, `place`), which are
sections of one TOML file and, each with its own dates, rows of the database.
"""

import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any

from portal.craft.appraise import Practice
from portal.craft.fields import Fields, refuse
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Powder, Titled
from portal.shop.calendar.week_document import Week, read_week
from portal.shop.policies import Policy, read_policy
from portal.shop.powder_list import read_powders
from portal.shop.pricing.price_list import Tariff, read_tariff
from portal.shop.scheduling.stations import Stations, read_stations
from portal.shop.states import DocumentKind
from portal.shop.translations import TRANSLATIONS, Translations, read_translations

KINDS: tuple[str, ...] = (
    DocumentKind.SHOP,
    DocumentKind.PRICES,
    DocumentKind.WEEK,
    DocumentKind.STATIONS,
    DocumentKind.PLACE,
)
# the shop's own words in its letters; a shop without any has no such document
LETTERS = "letters"
LONGEST_WORDS = 600
# documents that a shop need not have
OPTIONAL = (LETTERS, TRANSLATIONS, *(one.value for one in Policy))


class InspectionRule(Titled):
    """How film readings are judged; the rules stand in craft.inspection."""

    QUALITY_LABEL = "quality_label", "Quality label: five values, their mean, none under 80 %"
    SPOT = "spot", "Spots: the mean of three readings each, within 80–120 % of the range"


@dataclass(frozen=True, slots=True)
class Shop:
    """One edition of this works. `promise_percent` is the share of promises that must hold."""

    name: str
    address: tuple[str, ...]
    phone: str
    email: str
    locale: str
    country: str
    zone: str
    currency: str
    promise_percent: int
    inspection_rule: InspectionRule
    handling_note: str
    week: Week
    stations: Stations
    tariff: Tariff
    practice: Practice
    letter_words: Mapping[str, str] = field(default_factory=dict)
    policies: Mapping[Policy, Mapping[str, str]] = field(default_factory=dict)
    translations: Translations = field(default_factory=dict)

    def __hash__(self) -> int:
        """Hash a little of it: editions are few, and equal ones are equal in all."""
        return hash((self.name, self.practice))

    @property
    def stock(self) -> Mapping[str, Powder]:
        """The powders that are offered, by code."""
        return self.practice.stock

    def day(self, moment: datetime) -> date:
        """Return the date of a moment where the shop is."""
        return self.week.local(moment).date()


def bodies(text: str) -> dict[str, dict[str, Any]]:
    """Return the documents of a shop file as plain JSON values, unchecked but for their names.

    Raises CraftError when the file isn't TOML or lacks a document.
    """
    try:
        whole = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        raise refuse(Message("We can't read this TOML file: {why}", why=str(wrong)), "") from None
    top = Fields(whole)
    found = {}
    for kind in KINDS:
        if not isinstance(top.raw(kind), Mapping):
            raise top.missing(kind)
        found[kind] = _plain(whole[kind])
    for kind in OPTIONAL:
        if isinstance(top.raw(kind), Mapping):
            found[kind] = _plain(whole[kind])
    top.close()
    return found


def _plain(value: Any) -> Any:
    """Return TOML values as JSON has them: days and times as texts."""
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, date | datetime | time) else value


def shop_of(
    documents: Mapping[str, Mapping[str, Any]],
    stock: Mapping[str, Powder],
    *,
    calendar_checked: bool = False,
) -> Shop:
    """Put the shop together; raise CraftError naming the key, such as `prices.tax.mode`.

    `calendar_checked` tells that the place of its week need not be looked up (`read_week`).
    """
    for kind in KINDS:
        if kind not in documents:
            raise refuse(Message("The document “{kind}” is missing.", kind=kind), kind)
    with _inside("prices"):
        tariff = read_tariff(documents["prices"])
    with _inside("week"):
        week = read_week(documents["week"], checked=calendar_checked)
    with _inside("stations"):
        stations = read_stations(documents["stations"])
    with _inside("place"):
        country, decision = _read_place(documents["place"])
    with _inside("shop"):
        top = Fields(documents["shop"])
        practice = _read_practice(top, stations, stock, country, decision)
        shop = Shop(
            name=_need_text(top, "name"),
            address=tuple(str(one)[:80] for one in top.entries("address", longest=6)),
            phone=_need_text(top, "phone"),
            email=_need_text(top, "email"),
            locale=top.text("locale", "en", longest=8),
            country=country,
            zone=week.zone,
            currency=tariff.currency,
            promise_percent=top.whole("promise_percent", 50, 99, 95) or 95,
            inspection_rule=top.word("inspection_rule", InspectionRule)
            or InspectionRule.QUALITY_LABEL,
            handling_note=top.text("handling_note", longest=300),
            week=week,
            stations=stations,
            tariff=tariff,
            practice=practice,
            letter_words=_read_letters(documents.get(LETTERS, {})),
            policies=_read_policies(documents),
            translations=_read_translations(documents),
        )
        top.close()
    return shop


def read_shop(text: str, powders_text: str, *, calendar_checked: bool = False) -> Shop:
    """Read a whole shop from its two files."""
    documents = bodies(text)
    with _inside("powders"):
        stock = read_powders(powders_text)
    return shop_of(documents, stock, calendar_checked=calendar_checked)


def _need_text(top: Fields, key: str) -> str:
    text = top.text(key).strip()
    if not text:
        raise top.missing(key)
    return text


def _read_place(body: Mapping[str, Any]) -> tuple[str, str]:
    top = Fields(body)
    country = top.text("country", longest=2)
    if len(country) != 2 or not country.isascii() or not country.isupper():
        raise refuse(Message("Enter a country's two letters, such as GB."), "country")
    decision = top.text("decision", longest=500).strip()
    top.close()
    return (country, decision)


def _read_letters(body: Mapping[str, Any]) -> dict[str, str]:
    top = Fields(body)
    with _inside(LETTERS):
        found = {str(key): top.text(str(key), longest=LONGEST_WORDS).strip() for key in body}
    return {key: words for key, words in found.items() if words}


def _read_policies(
    documents: Mapping[str, Mapping[str, Any]],
) -> dict[Policy, Mapping[str, str]]:
    found: dict[Policy, Mapping[str, str]] = {}
    for policy in Policy:
        with _inside(policy.value):
            found[policy] = read_policy(documents.get(policy.value, {}))
    return found


def _read_translations(documents: Mapping[str, Mapping[str, Any]]) -> Translations:
    with _inside(TRANSLATIONS):
        return read_translations(documents.get(TRANSLATIONS, {}))


def _read_practice(
    top: Fields,
    stations: Stations,
    stock: Mapping[str, Powder],
    country: str,
    decision: str,
) -> Practice:
    table = top.table("practice")
    if table is None:
        raise top.missing("practice")
    share = table.decimal("transfer", high=1)
    if not share:
        raise refuse(
            Message("Enter a share above 0: some of the powder stays on the part."),
            table.path("transfer"),
        )
    practice = Practice(
        stock=stock,
        transfer=float(share),
        heat_limit_min_at_200=table.need_number("heat_limit_min_at_200", 0, 10_000),
        oven_mm=stations.oven.size_mm,
        oven_kg=stations.oven.limit_kg,
        place=country,
        place_decision=decision,
    )
    table.close()
    return practice


@contextmanager
def _inside(kind: str) -> Iterator[None]:
    """Put the document's name before the key of whatever is refused inside."""
    try:
        yield
    except CraftError as wrong:
        key = f"{kind}.{wrong.key}" if wrong.key else kind
        raise CraftError(wrong.sentence, key=key) from None
