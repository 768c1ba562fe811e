"""The audit: who did what in the office. Rows are only ever added."""

from datetime import datetime

from sqlalchemy.orm import Session

from portal.store.tables import Audit

LONGEST = 400


def record(session: Session, at: datetime, who: int | None, verb: str, what: str) -> None:
    """Write down what somebody did, in the transaction in which it is done."""
    session.add(Audit(at=at, person_id=who, verb=verb, what=what[:LONGEST]))
