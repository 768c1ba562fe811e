"""The documents that the Books show as sheets: their titles and their shapes."""

from portal.craft.messages import Message
from portal.craft.schema import Label, TableKey
from portal.shop.calendar.week import Week
from portal.shop.invoicing.settings import Invoicing
from portal.shop.pricing.price_list import Tariff
from portal.shop.scheduling.station import stations_shape
from portal.shop.states import DocumentKind
from portal.shop.works import Works, WorksPlace


def sheet(kind: str) -> TableKey:
    """Return a document as one table of keys, with its title; raises ValueError for another."""
    match DocumentKind(kind):
        case DocumentKind.PRICES:
            return TableKey(kind, Tariff, (Label(Message("Prices")),))
        case DocumentKind.WEEK:
            return TableKey(kind, Week, (Label(Message("Opening hours")),))
        case DocumentKind.STATIONS:
            return TableKey(kind, stations_shape(), (Label(Message("Stations")),))
        case DocumentKind.PLACE:
            return TableKey(kind, WorksPlace, (Label(Message("Country and rules")),))
        case DocumentKind.SHOP:
            return TableKey(kind, Works, (Label(Message("Your works")),))
        case DocumentKind.INVOICING:
            return TableKey(kind, Invoicing, (Label(Message("What stands on invoices")),))
    msg = f"{kind} is no sheet"
    raise ValueError(msg)
