"""Customers who were here before, found by telephone or name, so that nobody tells it twice."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.job_search import folded, terms_of
from portal.orders.kernel.unit import UnitOfWork, read_only
from portal.shop.codes import shown
from portal.shop.states import TellBy
from portal.store.jobs import Customer, Job

MOST = 5
LOOKED_AT = 200
LEAST_DIGITS, LEAST_LETTERS = 5, 3


@dataclass(frozen=True, slots=True)
class KnownCustomer:
    """Somebody with an order of ours, and what their last one was."""

    id: int
    name: str
    phone: str
    email: str
    tell_by: TellBy
    locale: str
    vehicle: str
    code: str
    summary: Message
    booked_at: datetime

    @property
    def shown_code(self) -> str:
        """The code of the last order, in groups."""
        return shown(self.code)


@read_only
def known_customers(
    _unit: UnitOfWork, session: Session, *, name: str = "", phone: str = ""
) -> tuple[KnownCustomer, ...]:
    """Return who has such a telephone number, else such a name, the newest order first."""
    digits = terms_of(phone)
    if digits and len(digits[0]) >= LEAST_DIGITS and digits[0].isdecimal():
        found = [one for one in _rows(session, digits) if digits[0] in one.phone]
        if found:
            return _each_once(found)
    words = terms_of(name)
    if sum(map(len, words)) < LEAST_LETTERS:
        return ()
    rows = _rows(session, words)
    return _each_once([r for r in rows if all(word in folded(r.name) for word in words)])


@read_only
def known_customer(_unit: UnitOfWork, session: Session, customer_id: int) -> KnownCustomer | None:
    """Return one of them again; None where there is nobody any more."""
    row = session.execute(_QUERY.where(Customer.id == customer_id).limit(1)).first()
    return KnownCustomer(*row) if row is not None else None


_WHO: tuple[Any, ...] = (
    Customer.id,
    Customer.name,
    Customer.phone,
    Customer.email,
    Customer.tell_by,
    Customer.locale,
    Job.vehicle,
    Job.code,
    Job.summary,
    Job.booked_at,
)
_QUERY = sa.select(*_WHO).join(Job, Job.customer_id == Customer.id).order_by(Job.id.desc())


def _rows(session: Session, terms: tuple[str, ...]) -> list[KnownCustomer]:
    matches = [Job.search.contains(term, autoescape=True) for term in terms]
    rows = session.execute(_QUERY.where(*matches).limit(LOOKED_AT)).all()
    return [KnownCustomer(*row) for row in rows]


def _each_once(rows: list[KnownCustomer]) -> tuple[KnownCustomer, ...]:
    """Return each person once, with their newest order: each order has a row of its own."""
    found: dict[tuple[str, str, str], KnownCustomer] = {}
    for one in rows:
        found.setdefault((folded(one.name), one.phone, one.email), one)
    return tuple(found.values())[:MOST]
