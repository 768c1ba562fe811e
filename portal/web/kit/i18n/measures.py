"""The units of a page: metric, or inches and degrees Fahrenheit where the customer chose them.

Everything is metric inside and at the counter. The customer's pages and papers
alone follow the choice.
"""

from flask import g, has_request_context, request

from portal.craft.quantities import UnitSystem
from portal.web.kit import request_context

COOKIE = "units"
CUSTOMERS = frozenset({"intake", "status", "slip"})
SYSTEMS = {one.value: one for one in UnitSystem}


def chosen_units() -> UnitSystem | None:
    """Return what was chosen in this browser, None where nobody chose."""
    return SYSTEMS.get(request.cookies.get(request_context.cookie_name(COOKIE), ""))


def chosen() -> UnitSystem:
    """Return the customer's choice of units: here, else when booking, else the shop's country's."""
    own: UnitSystem | None = chosen_units() or g.get("units")
    shop = request_context.shop_or_none()
    return own or UnitSystem.usual_in(shop.country if shop else "")


def follow(units: UnitSystem | None) -> None:
    """Take the units in which a job was booked, for the rest of a request about it."""
    g.units = units
    g.pop("reader", None)


def for_customers() -> bool:
    """Whether the page that is being made is one of the customer's."""
    return request.blueprint in CUSTOMERS


def of_page() -> UnitSystem:
    """Return the units of the page that is being made."""
    return chosen() if for_customers() else UnitSystem.METRIC


def in_inches() -> bool:
    """Whether the page that is being made shows inches."""
    return has_request_context() and of_page() is UnitSystem.INCH
