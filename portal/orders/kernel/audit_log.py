"""The audit log of the office. Rows are only ever added."""

from datetime import datetime

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.verbs import AuditVerb
from portal.store.tables import Audit

LONGEST = 400


def record(
    session: Session, at: datetime, who: int | None, verb: AuditVerb, what: str | Message = ""
) -> None:
    """Record what somebody did, in the same transaction.

    `what` is a name, a code or a number; what has words of ours in it is a message.
    """
    beside = {"says": what} if isinstance(what, Message) else {"what": what[:LONGEST]}
    session.add(Audit(at=at, person_id=who, verb=verb, **beside))


@transactional
def record_refused(
    unit: UnitOfWork, session: Session, verb: AuditVerb, whom: str | Message
) -> None:
    """Record a sign-in that was refused, in a transaction of its own: the refusal follows.

    `whom` it was for: a sign-in name that we have; whatever else was typed may be a password.
    """
    record(session, unit.now(), None, verb, whom)
