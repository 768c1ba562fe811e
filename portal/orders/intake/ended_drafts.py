"""Deleted drafts: that there was one, and when it ended.

Only the SHA-256 of the link is stored: the link has 130 random bits, so nobody can guess it from
that. Nothing tells whose draft it was.
"""

import hashlib
from collections.abc import Iterable
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Ended, Unknown
from portal.orders.kernel.retention_times import ENDED_DRAFT_KNOWN
from portal.store.tables import Draft, EndedDraft

UNKNOWN = Message("We don't know this link. Start again.")


def remember(session: Session, drafts: Iterable[Draft]) -> None:
    """Record when these drafts ended; call it before they are deleted."""
    session.add_all(
        EndedDraft(
            token_hash=_hash(one.token), ended_at=one.expires_at, booked=one.job_id is not None
        )
        for one in drafts
    )


def forget(session: Session, at: datetime) -> None:
    """Delete old records."""
    session.execute(sa.delete(EndedDraft).where(EndedDraft.ended_at < at - ENDED_DRAFT_KNOWN))


def refuse(session: Session, token: str) -> Unknown | Ended:
    """Return the refusal for a link without a draft.

    It takes one statement for any link, so that the time tells nothing about it.
    """
    row = session.get(EndedDraft, _hash(token))
    return Unknown(UNKNOWN) if row is None else ended(row.ended_at, booked=row.booked)


def ended(at: datetime, *, booked: bool) -> Ended:
    """Return the refusal for a draft that has ended."""
    if booked:
        says = Message(
            "This order is booked. Use the link in your booking letter, or scan the QR code on "
            "your slip."
        )
    else:
        says = Message("We kept this order until {day}. We have now deleted it.", day=at)
    return Ended(says, at=at, booked=booked)


def _hash(token: str) -> str:
    return hashlib.sha256(token.upper().encode()).hexdigest()
