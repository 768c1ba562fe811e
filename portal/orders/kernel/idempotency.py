"""A final button counts once: the same once-token gets the same answer again."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Refused
from portal.store.tables import IdempotencyKey

LONGEST = 40


def idempotent(
    session: Session, token: str, verb: str, at: datetime, work: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Do `work` unless `token` has already done it, and return its answer either way.

    Call it inside `UnitOfWork.write`: the key is written in the same transaction as the work, so
    that either both are there or neither.
    """
    if not 8 <= len(token) <= LONGEST:
        raise Refused(Message("This page did not load completely. Open it again."))
    known = session.get(IdempotencyKey, token)
    if known is not None:
        if known.verb != verb:
            raise Refused(Message("This page was already used for something else. Open it again."))
        return known.answer
    answer = work()
    session.add(IdempotencyKey(once=token, verb=verb, answer=answer, at=at))
    # a second press that ran at the same time meets the key here, and is run again by the unit
    session.flush()
    return answer
