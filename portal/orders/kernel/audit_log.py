"""The audit log of the office. Rows are only ever added."""

from datetime import datetime

from sqlalchemy.orm import Session

from portal.craft.messages import Message
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
