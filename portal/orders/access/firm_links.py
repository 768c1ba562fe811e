"""Links that open a firm's page, and the browsers in which it is open.

A link comes by letter, opens the page once, and ends after a week. The browser keeps a random key
and the database only its SHA-256, of links as of sessions.
"""

from dataclasses import dataclass
from datetime import timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.firm_letters import FirmLinkLetter
from portal.notices.outbox import queue
from portal.notices.sender import sender_of
from portal.orders.access.rate_limit import count_a_try
from portal.orders.access.staff_sessions import key_hash, new_key
from portal.orders.kernel.audit_log import record
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.firms import firm_row
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.codes import new_token
from portal.shop.verbs import AuditVerb
from portal.store.tables import Firm, FirmLink, FirmSession

LINK_OPENS_FOR = timedelta(days=7)
SESSION_LIVES = timedelta(days=90)
IDLE = timedelta(days=30)
TOUCH_EVERY = timedelta(hours=1)
ENDED = Message("This link was used already or has ended. Ask for a new one.")
NO_ADDRESS = Message("Enter the firm's e-mail address first.")
CLOSED = Message("This firm is closed.")


@dataclass(frozen=True, slots=True)
class SignedInFirm:
    """The firm whose page is open in this browser."""

    firm_id: int
    name: str
    locale: str


@transactional
def send_link(unit: UnitOfWork, session: Session, firm_id: int, *, who: int | None) -> None:
    """Write to a firm with a link that opens its page; raise Refused without an address."""
    firm = firm_row(session, firm_id)
    if firm.closed_at is not None:
        raise Refused(CLOSED)
    if not firm.email:
        raise Refused(NO_ADDRESS, key="email")
    _send(unit, session, firm)
    record(session, unit.now(), who, AuditVerb.SEND_FIRM_LINK, firm.name)


@transactional
def ask_for_link(unit: UnitOfWork, session: Session, email: str, address: str) -> None:
    """Send a link to each firm with this e-mail address; the answer never says if there is one.

    `address` is whence it was asked. Raise `RateLimited` for too many.
    """
    typed = email.strip().casefold()
    count_a_try(session, [f"firm:{typed[:100]}", f"address:{address}"], unit.now())
    query = sa.select(Firm).where(sa.func.lower(Firm.email) == typed, Firm.closed_at.is_(None))
    for firm in session.scalars(query.order_by(Firm.id)) if typed else ():
        _send(unit, session, firm)


@transactional
def open_link(unit: UnitOfWork, session: Session, token: str) -> str:
    """Use a link, and return the key of a browser in which the firm's page is open.

    Raise Refused where the link was used already or has ended.
    """
    now = unit.now()
    used = session.execute(
        sa.update(FirmLink)
        .where(
            FirmLink.key_hash == key_hash(token.strip().upper()),
            FirmLink.used_at.is_(None),
            FirmLink.expires_at > now,
        )
        .values(used_at=now)
        .returning(FirmLink.firm_id)
    ).scalar()
    if used is None or firm_row(session, used).closed_at is not None:
        raise Refused(ENDED)
    key = new_key(unit)
    session.add(
        FirmSession(
            key_hash=key_hash(key),
            firm_id=used,
            created_at=now,
            seen_at=now,
            expires_at=now + SESSION_LIVES,
        )
    )
    session.flush()
    return key


def current_firm(unit: UnitOfWork, key: str) -> SignedInFirm | None:
    """Return the firm whose page `key` opens, or None; update when it was last seen."""
    if not key:
        return None
    at = unit.now()
    with unit.read() as session:
        query = (
            sa.select(FirmSession.seen_at, Firm.id, Firm.name, Firm.locale)
            .join(Firm, Firm.id == FirmSession.firm_id)
            .where(
                FirmSession.key_hash == key_hash(key),
                FirmSession.expires_at > at,
                FirmSession.seen_at > at - IDLE,
                Firm.closed_at.is_(None),
            )
        )
        found = session.execute(query).first()
    if found is None:
        return None
    if at - found.seen_at >= TOUCH_EVERY:
        _touch(unit, key)
    return SignedInFirm(found.id, found.name, found.locale)


@transactional
def end_firm_session(_unit: UnitOfWork, session: Session, key: str) -> None:
    """Close a firm's page in one browser."""
    session.execute(sa.delete(FirmSession).where(FirmSession.key_hash == key_hash(key)))


@transactional
def end_links(unit: UnitOfWork, session: Session, firm_id: int, *, who: int | None) -> None:
    """End every link of a firm, and close its page in every browser."""
    firm = firm_row(session, firm_id)
    drop_links(session, firm_id)
    record(session, unit.now(), who, AuditVerb.END_FIRM_LINKS, firm.name)


def drop_links(session: Session, firm_id: int) -> None:
    """End a firm's links and open pages, inside another use case's transaction."""
    for table in (FirmLink, FirmSession):
        session.execute(sa.delete(table).where(table.firm_id == firm_id))


def firm_link(base_url: str, token: str) -> str:
    """Return the address that stands in the letter."""
    return f"{base_url.rstrip('/')}/firm/{token}"


@transactional
def _touch(unit: UnitOfWork, session: Session, key: str) -> None:
    session.execute(
        sa.update(FirmSession)
        .where(FirmSession.key_hash == key_hash(key))
        .values(seen_at=unit.now())
    )


def _send(unit: UnitOfWork, session: Session, firm: Firm) -> None:
    now, token = unit.now(), new_token(unit.random_bytes)
    row = FirmLink(
        firm_id=firm.id,
        key_hash=key_hash(token),
        email=firm.email,
        created_at=now,
        expires_at=now + LINK_OPENS_FOR,
    )
    session.add(row)
    session.flush()
    letter = FirmLinkLetter(
        sender=sender_of(unit.shop(session), firm.locale),
        locale=firm.locale,
        link=firm_link(unit.base_url, token),
        name=firm.contact or firm.name,
        until=row.expires_at,
    )
    queue(
        session,
        letter,
        job_id=None,
        cause=f"firm:{firm.id}:{row.id}",
        to=firm.email,
        at=now,
        random_bytes=unit.random_bytes,
    )
