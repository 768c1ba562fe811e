"""A whole shop: its name and address, prices, week, stations and country.

It is put together from documents (`shop`, `prices`, `week`, `stations`, `place`), which are
sections of one TOML file and, each with its own dates, rows of the database.
"""

import json
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from portal.craft.answers import RouteKind
from portal.craft.appraise import Practice
from portal.craft.messages import CraftError, Message
from portal.craft.parts import Powder
from portal.craft.reading import missing, read, unknown_key
from portal.craft.schema import Text, longest
from portal.shop.calendar.week import Week, read_week
from portal.shop.policies import Policy, read_policy
from portal.shop.powder_list import read_powders
from portal.shop.pricing.price_list import NO_WORK, Tariff, read_tariff
from portal.shop.scheduling.stations import Stations, read_stations
from portal.shop.states import DocumentKind
from portal.shop.translations import TRANSLATIONS, Translations, read_translations
from portal.shop.works import (
    ByKey,
    ChangeRules,
    DateRules,
    InspectionRule,
    KeepRules,
    WorkRules,
    Works,
    WorksPlace,
)

if TYPE_CHECKING:
    from portal.shop.invoicing.settings import Invoicing

Document = TypeVar("Document")
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
LetterWords: Any = Annotated[Mapping[str, Annotated[Text, longest(LONGEST_WORDS)]], ByKey]
# documents that a shop need not have
OPTIONAL = (LETTERS, TRANSLATIONS, DocumentKind.INVOICING.value, *(one.value for one in Policy))


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
    keeping: KeepRules
    changes: ChangeRules
    dates: DateRules
    week: Week
    stations: Stations
    tariff: Tariff
    practice: Practice
    rules: WorkRules
    letter_words: Mapping[str, str] = field(default_factory=dict)
    policies: Mapping[Policy, Mapping[str, str]] = field(default_factory=dict)
    translations: Translations = field(default_factory=dict)
    invoicing_entries: Mapping[str, Any] = field(default_factory=dict)

    def __hash__(self) -> int:
        """Hash a little of it: editions are few, and equal ones are equal in all."""
        return hash((self.name, self.practice))

    @property
    def invoicing(self) -> "Invoicing":
        """What stands on its invoices; read when it is first asked for, as few pages do."""
        # it brings checks of bank and tax numbers with it
        from portal.shop.invoicing.settings import read_invoicing  # noqa: PLC0415

        return read_invoicing(json.dumps(self.invoicing_entries, sort_keys=True))

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
        raise CraftError(Message("We can't read this TOML file: {why}", why=str(wrong))) from None
    for kind in KINDS:
        if not isinstance(whole.get(kind), Mapping):
            raise CraftError(missing(kind), key=kind)
    for key in whole:
        if key not in (*KINDS, *OPTIONAL):
            raise CraftError(unknown_key(key, (*KINDS, *OPTIONAL)), key=key)
    return {kind: _plain(body) for kind, body in whole.items()}


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

    `calendar_checked` tells that the place of its week need not be looked up (`read_week`), nor
    the numbers on its invoices.
    """
    for kind in KINDS:
        if kind not in documents:
            raise CraftError(Message("The document “{kind}” is missing.", kind=kind), key=kind)

    def of(kind: str, reader: Callable[[Mapping[str, Any]], Document]) -> Document:
        try:
            return reader(documents.get(kind, {}))
        except CraftError as wrong:
            key = f"{kind}.{wrong.key}" if wrong.key else kind
            raise CraftError(wrong.sentence, key=key) from None

    tariff = of("prices", read_tariff)
    week = of("week", partial(read_week, checked=calendar_checked))
    stations = of("stations", read_stations)
    place = of("place", partial(read, WorksPlace))
    works = of("shop", partial(read, Works))
    if not calendar_checked:
        of(DocumentKind.INVOICING, _check_invoicing)
    return Shop(
        name=works.name,
        address=works.address,
        phone=works.phone,
        email=works.email,
        locale=works.locale,
        country=place.country,
        zone=week.zone,
        currency=tariff.currency,
        promise_percent=works.promise_percent,
        inspection_rule=works.inspection_rule,
        handling_note=works.handling_note,
        keeping=works.keeping,
        changes=works.changes,
        dates=works.dates,
        week=week,
        stations=stations,
        tariff=tariff,
        practice=Practice(
            stock=stock,
            transfer=float(works.practice.transfer),
            heat_limit_min_at_200=works.practice.heat_limit_min_at_200,
            oven_mm=stations.oven.size_mm,
            oven_kg=stations.oven.limit_kg,
            place=place.country,
            place_decision=place.decision,
            abroad_decision=place.abroad,
            strips_lead=tariff.strip.routes[RouteKind.LICENSED] != NO_WORK,
        ),
        rules=works.practice,
        letter_words=of(LETTERS, partial(read, LetterWords)),
        policies={policy: of(policy.value, read_policy) for policy in Policy},
        translations=of(TRANSLATIONS, read_translations),
        invoicing_entries=documents.get(DocumentKind.INVOICING, {}),
    )


def _check_invoicing(body: Mapping[str, Any]) -> None:
    from portal.shop.invoicing.settings import Invoicing  # noqa: PLC0415  # as above

    read(Invoicing, body)


def read_shop(text: str, powders_text: str, *, calendar_checked: bool = False) -> Shop:
    """Read a whole shop from its two files."""
    documents = bodies(text)
    try:
        stock = read_powders(powders_text)
    except CraftError as wrong:
        raise CraftError(wrong.sentence, key=f"powders.{wrong.key}") from None
    return shop_of(documents, stock, calendar_checked=calendar_checked)
