"""What a customer's link opens: the one place that says when a link is none, or is over."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Unknown
from portal.orders.kernel.ledger import OWED
from portal.shop.moves import JobState
from portal.store.jobs import ERASED
from portal.store.tables import Customer, Job

# what was taken home and is not paid; nobody is left to pay it once its customer is erased
_TAKEN_HOME = sa.and_(Job.state == JobState.HANDED_BACK, Customer.name != ERASED)
OWES = sa.case((_TAKEN_HOME, OWED.element), else_=0).label("owes_minor")
NO_LINK = Message(
    "We can't find a job for this link. Part of it may be missing, or it has "
    "expired. Call us if you need help."
)


def behind(session: Session, token: str, now: datetime, *columns: Any) -> Any:
    """Return a row with the columns (or the one entity) of the job behind a link.

    A link may be typed, in either case. Raises Unknown for one that is none, or is over.
    """
    query = sa.select(*columns, Job.link_until, OWES).join(Job.customer)
    row = session.execute(query.where(Job.token == token.upper())).first()
    if row is None:
        raise Unknown(NO_LINK)
    must_be_open(row.link_until, now, owes_minor=row.owes_minor)
    return row


def must_be_open(link_until: datetime | None, now: datetime, *, owes_minor: int = 0) -> None:
    """Raise Unknown where a link's time is over; one with money owed on it stays open."""
    if link_until is not None and link_until <= now and owes_minor <= 0:
        raise Unknown(NO_LINK)


def is_open_at(now: datetime) -> sa.ColumnElement[bool]:
    """Return the same rule as a condition on jobs."""
    return sa.or_(Job.link_until.is_(None), Job.link_until > now, OWES.element > 0)


def must_be_done(state: JobState, otherwise: Message) -> None:
    """Raise Unknown, saying when it comes, for a paper that tells of work not done yet."""
    if not state.is_done:
        raise Unknown(otherwise)
