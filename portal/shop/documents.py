"""The documents that the Books show as sheets: their titles and their shapes."""

from portal.craft.messages import Message
from portal.craft.schema import Entry, Label
from portal.shop.calendar.week import Week
from portal.shop.pricing.price_list import Tariff
from portal.shop.scheduling.station import stations_shape
from portal.shop.states import DocumentKind
from portal.shop.works import Works, WorksPlace


def sheet(kind: str) -> Entry:
    """Return a document as one table of keys, with its title; raises ValueError for another."""
    match DocumentKind(kind):
        case DocumentKind.PRICES:
            return Entry(kind, Tariff, (Label(Message("Prices")),))
        case DocumentKind.WEEK:
            return Entry(kind, Week, (Label(Message("Opening hours")),))
        case DocumentKind.STATIONS:
            return Entry(kind, stations_shape(), (Label(Message("Stations")),))
        case DocumentKind.PLACE:
            return Entry(kind, WorksPlace, (Label(Message("Country and rules")),))
        case DocumentKind.SHOP:
            return Entry(kind, Works, (Label(Message("Your works")),))
    msg = f"{kind} is no sheet"
    raise ValueError(msg)
