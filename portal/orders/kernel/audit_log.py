"""The audit log of the office. Rows are only ever added."""

from datetime import datetime

from sqlalchemy.orm import Session

from portal.shop.verbs import AuditVerb
from portal.store.tables import Audit

LONGEST = 400


def record(session: Session, at: datetime, who: int | None, verb: AuditVerb, what: str) -> None:
    """Record what somebody did, in the same transaction."""
    session.add(Audit(at=at, person_id=who, verb=verb, what=what[:LONGEST]))
