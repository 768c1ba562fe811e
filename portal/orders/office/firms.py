"""Trade customers as the office keeps them: added, changed, closed, and given their prices."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft import reading
from portal.craft.messages import Message
from portal.craft.parts import Bringing
from portal.orders.access.firm_links import drop_links
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Overtaken, Refused
from portal.orders.kernel.firms import firm_row
from portal.orders.kernel.posting import MOST_MINOR
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.invoicing.document import Party
from portal.shop.pricing.firm_prices import read_firm_prices
from portal.shop.verbs import AuditVerb
from portal.store.tables import Firm, FirmPrice

LONGEST_TERMS = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmData:
    """What the office enters of a firm. `phone` is E.164, `limit_minor` None where there is none.

    `bringing` and `fetched` are its standing way, which a new order of it begins with.
    """

    name: str
    party: Party
    terms_days: int
    code: str = ""
    contact: str = ""
    email: str = ""
    phone: str = ""
    locale: str = "en"
    bringing: Bringing | None = None
    fetched: bool = False
    limit_minor: int | None = None


@transactional
def add_firm(unit: UnitOfWork, session: Session, data: FirmData, *, who: int | None) -> int:
    """Add a trade customer and return its number; raise Refused with the field's name."""
    firm = Firm(created_at=unit.now(), version=1)
    _fill(firm, data)
    session.add(firm)
    session.flush()
    record(session, unit.now(), who, AuditVerb.ADD_FIRM, firm.name)
    return firm.id


@transactional
def change_firm(
    unit: UnitOfWork,
    session: Session,
    firm_id: int,
    data: FirmData,
    *,
    expected_version: int,
    who: int | None,
) -> None:
    """Change a trade customer; its links end where they went to another address.

    Raise Refused with the field's name, or Overtaken.
    """
    firm = firm_row(session, firm_id)
    if firm.version != expected_version:
        raise Overtaken(
            Message("Someone else has changed this firm. Check what stands here now, then save.")
        )
    before = firm.email
    _fill(firm, data)
    firm.version += 1
    if firm.email.casefold() != before.casefold():
        drop_links(session, firm_id)
    record(session, unit.now(), who, AuditVerb.CHANGE_FIRM, firm.name)


@transactional
def close_firm(
    unit: UnitOfWork, session: Session, firm_id: int, *, closed: bool, who: int | None
) -> None:
    """Close a firm, so that nothing new is ordered for it and its links end; or open it again."""
    firm = firm_row(session, firm_id)
    firm.closed_at = unit.now() if closed else None
    firm.version += 1
    drop_links(session, firm_id)
    verb = AuditVerb.CLOSE_FIRM if closed else AuditVerb.CHANGE_FIRM
    record(session, unit.now(), who, verb, firm.name)


@transactional
def put_firm_prices(
    unit: UnitOfWork,
    session: Session,
    firm_id: int,
    body: Mapping[str, Any],
    *,
    starts_on: date | None,
    who: int | None,
) -> None:
    """Give a firm prices from a day on, today without one; raise CraftError, or Refused.

    Prices of a day that has begun stay: jobs were booked with them.
    """
    firm, shop = firm_row(session, firm_id), unit.shop(session)
    today = shop.day(unit.now())
    day = starts_on or today
    if day < today:
        raise Refused(Message("This day is over. Choose today or a later one."), key="starts_on")
    read_firm_prices(body, shop.currency)
    session.execute(
        sa.delete(FirmPrice).where(
            FirmPrice.firm_id == firm_id, FirmPrice.starts_on == day, FirmPrice.starts_on > today
        )
    )
    session.add(
        FirmPrice(
            firm_id=firm_id,
            starts_on=day,
            body=dict(body),
            made_at=unit.now(),
            person_id=who,
        )
    )
    record(session, unit.now(), who, AuditVerb.PUT_FIRM_PRICES, f"{firm.name}, {day.isoformat()}")


def _fill(firm: Firm, data: FirmData) -> None:
    name = " ".join(data.name.split())[:120]
    if not name:
        raise Refused(Message("Enter the name of the firm."), key="name")
    if not 0 <= data.terms_days <= LONGEST_TERMS:
        sentence = Message("Enter a whole number from {low} to {high}.", low=0, high=LONGEST_TERMS)
        raise Refused(sentence, key="terms_days")
    if data.limit_minor is not None and not 0 <= data.limit_minor <= MOST_MINOR:
        raise Refused(Message("This amount can't be right. Check it."), key="limit")

    firm.name, firm.code = name, " ".join(data.code.split())[:20]
    firm.contact = " ".join(data.contact.split())[:120]
    firm.email, firm.phone = data.email.strip()[:254], data.phone[:24]
    firm.locale, firm.party = data.locale, reading.write(data.party)
    firm.bringing, firm.fetched = data.bringing, data.fetched
    firm.terms_days, firm.limit_minor = data.terms_days, data.limit_minor
