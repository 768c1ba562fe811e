"""Arriving and Shelf: what comes today, and what waits to be picked up."""

from werkzeug.wrappers import Response

from portal.orders import looking_counter
from portal.shop.roles import Role
from portal.web.counter.desk import page, to
from portal.web.kit.desk import unit
from portal.web.kit.guards import staff


@staff(Role.FLOOR)
def front() -> Response:
    """Go to the first page of the counter."""
    return to("arriving")


@staff(Role.COUNTER)
def arriving() -> Response:
    """Show today's drop-offs."""
    return page("arriving", day=looking_counter.arriving(unit()))


@staff(Role.COUNTER)
def shelf() -> Response:
    """Show what is ready and not picked up."""
    return page("shelf", rows=looking_counter.shelf(unit()))
