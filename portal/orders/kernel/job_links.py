"""What a customer's link opens: the one place that says when a link is none, or is over."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.shop.moves import JobState
from portal.store.tables import Job

NO_LINK = Message(
    "We can't find a job for this link. Part of it may be missing, or it has "
    "expired. Call us if you need help."
)


def behind(session: Session, token: str, now: datetime, *columns: Any) -> Any:
    """Return a row with the columns (or the one entity) of the job behind a link.

    A link may be typed, in either case. Raises Unknown for one that is none, or is over.
    """
    query = sa.select(*columns, Job.link_until).join(Job.customer)
    row = session.execute(query.where(Job.token == token.upper())).first()
    if row is None:
        raise Unknown(NO_LINK)
    must_be_open(row.link_until, now)
    return row


def must_be_open(link_until: datetime | None, now: datetime) -> None:
    """Raise Unknown where a link's time is over; a link without an end is open."""
    if link_until is not None and link_until <= now:
        raise Unknown(NO_LINK)


def must_be_done(state: JobState, otherwise: Message) -> None:
    """Raise Unknown, saying when it comes, for a paper that tells of work not done yet."""
    if not state.is_done:
        raise Unknown(otherwise)
