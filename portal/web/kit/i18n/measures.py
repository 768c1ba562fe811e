"""The units of a page: metric, or inches and degrees Fahrenheit where the customer chose them.

Everything is metric inside and at the counter. The customer's pages and papers
alone follow the choice.
"""

from flask import has_request_context, request

from portal.craft.quantities import UnitSystem

COOKIE = "units"
CUSTOMERS = frozenset({"intake", "status", "slip"})
SYSTEMS = {one.value: one for one in UnitSystem}


def chosen() -> UnitSystem:
    """Return the customer's choice of units."""
    return SYSTEMS.get(request.cookies.get(COOKIE, ""), UnitSystem.METRIC)


def for_customers() -> bool:
    """Whether the page that is being made is one of the customer's."""
    return request.blueprint in CUSTOMERS


def of_page() -> UnitSystem:
    """Return the units of the page that is being made."""
    return chosen() if for_customers() else UnitSystem.METRIC


def in_inches() -> bool:
    """Whether the page that is being made shows inches."""
    return has_request_context() and of_page() is UnitSystem.INCH
