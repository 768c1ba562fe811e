"""The trade customers whom a new order at the counter can name."""

from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.store.tables import Firm


@dataclass(frozen=True, slots=True)
class FirmChoice:
    """A firm that is not closed, and what an order of it begins with."""

    firm_id: int
    name: str
    email: str
    phone: str
    locale: str


@read_only
def firm_choices(_unit: UnitOfWork, session: Session) -> tuple[FirmChoice, ...]:
    """Return the firms that are not closed, by name."""
    columns = (Firm.id, Firm.name, Firm.email, Firm.phone, Firm.locale)
    query = sa.select(*columns).where(Firm.closed_at.is_(None)).order_by(sa.func.lower(Firm.name))
    return tuple(FirmChoice(*row) for row in session.execute(query))
