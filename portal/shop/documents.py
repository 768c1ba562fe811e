"""The documents that the office sees as sheets: their titles and their shapes."""

from collections.abc import Mapping
from typing import Any

from portal.craft.messages import Message
from portal.craft.schema import Label, TableKey
from portal.shop.calendar.week import Week
from portal.shop.invoicing.settings import Invoicing
from portal.shop.pricing.firm_prices import FirmPrices
from portal.shop.pricing.price_list import Tariff
from portal.shop.scheduling.station import stations_shape
from portal.shop.states import DocumentKind
from portal.shop.works import Works, WorksPlace

FIRM_PRICES = "firm_prices"
SHEETS: Mapping[str, tuple[Any, Message]] = {
    DocumentKind.PRICES: (Tariff, Message("Prices")),
    DocumentKind.WEEK: (Week, Message("Opening hours")),
    DocumentKind.PLACE: (WorksPlace, Message("Country and rules")),
    DocumentKind.SHOP: (Works, Message("Your works")),
    DocumentKind.INVOICING: (Invoicing, Message("What stands on invoices")),
    FIRM_PRICES: (FirmPrices, Message("Prices of a firm")),
}


def sheet(kind: str) -> TableKey:
    """Return a document as one table of keys, with its title; raises ValueError for another.

    The prices of a firm are none of the shop's documents, but filled in alike.
    """
    if kind == DocumentKind.STATIONS:
        return TableKey(kind, stations_shape(), (Label(Message("Stations")),))
    if kind not in SHEETS:
        msg = f"{kind} is no sheet"
        raise ValueError(msg)
    shape, title = SHEETS[kind]
    return TableKey(kind, shape, (Label(title),))
