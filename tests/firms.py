"""A trade customer for tests: an invented garage, with the prices that a test wants."""

from collections.abc import Mapping
from typing import Any

from portal.craft.parts import Bringing
from portal.orders.kernel.unit import UnitOfWork
from portal.orders.office import firms
from portal.shop.invoicing.document import Party
from tests.databases import scene

ADDRESS = Party(name="Halden Garage Ltd", street="1 Mill Road", city="Fennholt", country="GB")


def data(**over: Any) -> firms.FirmData:
    """What the office enters of the garage."""
    told: dict[str, Any] = {
        "name": "Halden Garage",
        "party": ADDRESS,
        "terms_days": 30,
        "contact": "Alex Sample",
        "email": "garage@example.com",
        "phone": "+447700900321",
        "bringing": Bringing.COMPLETE,
    }
    return firms.FirmData(**{**told, **over})


@scene
def a_firm(
    unit: UnitOfWork,
    *,
    name: str = "Halden Garage",
    email: str = "garage@example.com",
    limit_minor: int | None = None,
    prices: Mapping[str, Any] | None = None,
) -> int:
    """Add a garage, with these prices from today on; return its number."""
    told = data(name=name, email=email, limit_minor=limit_minor)
    firm_id = firms.add_firm(unit, told, who=None)
    if prices is not None:
        firms.put_firm_prices(unit, firm_id, prices, starts_on=None, who=None)
    return firm_id
