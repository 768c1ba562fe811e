"""The audit log of the office. Rows are only ever added."""

from datetime import datetime, timedelta

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.verbs import AuditVerb
from portal.store.tables import Audit

LONGEST = 400
# the same refusal is recorded once in so long, or a person could fill the log
ONCE_IN = timedelta(minutes=10)


def record(
    session: Session, at: datetime, who: int | None, verb: AuditVerb, what: str | Message = ""
) -> None:
    """Record what somebody did, in the same transaction.

    `what` is a name, a code or a number; what has words of ours in it is a message.
    """
    values = {"says": what} if isinstance(what, Message) else {"what": what[:LONGEST]}
    session.add(Audit(at=at, person_id=who, verb=verb, **values))


@transactional
def record_refused(
    unit: UnitOfWork, session: Session, verb: AuditVerb, whom: str | Message
) -> None:
    """Record a sign-in that was refused, in a transaction of its own: the refusal follows.

    `whom` it was for: a sign-in name that we have; whatever else was typed may be a password.
    """
    record(session, unit.now(), None, verb, whom)


@transactional
def record_not_allowed(unit: UnitOfWork, session: Session, who: int, page: str) -> None:
    """Record that somebody asked for a page that their role doesn't open; `page` is its route."""
    known = sa.select(Audit.id).where(
        Audit.at > unit.now() - ONCE_IN,
        Audit.person_id == who,
        Audit.verb == AuditVerb.NOT_ALLOWED,
        Audit.what == page[:LONGEST],
    )
    if session.scalar(known.limit(1)) is None:
        record(session, unit.now(), who, AuditVerb.NOT_ALLOWED, page)
