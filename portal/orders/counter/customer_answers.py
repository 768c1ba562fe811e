"""The customer's answer to a finding, given by the link.

The link alone changes nothing: the last four digits of the telephone are asked as well, and
wrong ones are counted, so that a link that fell into other hands can't spend money.
"""

from datetime import timedelta
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.counter.finding_answers import CustomerQuestion, asked, settle
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.states import AnsweredHow
from portal.store.jobs import Customer
from portal.store.tables import Job, SignInTry

DIGITS = 4
# ten thousand numbers can be guessed; after this many wrong ones only the telephone helps
MOST_WRONG = 12
COUNTED_FOR = timedelta(days=30)
WRONG = Message(
    "These aren't the last four digits of the phone number on this order. Try again, or call us."
)
CALL = Message("Too many wrong tries. Call us, and we'll take your answer by phone.")


def answer_by_link(
    unit: UnitOfWork,
    token: str,
    read: CustomerQuestion,
    *,
    accepted: bool,
    digits: str,
    once_token: str,
) -> None:
    """Accept or decline everything that was found; pressing twice is one answer.

    Raises Refused with key `digits` (wrong digits), RateLimited (several wrong in a row), Already
    (it has been answered, here or at the counter), Overtaken (the question is another one by now)
    or Unknown.
    """
    given = "".join(ch for ch in digits if ch.isascii() and ch.isdigit())
    if len(given) != DIGITS:
        raise Refused(Message("Enter the last four digits."), key="digits")
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _answer(unit, token, read, given, accepted=accepted, once_token=once_token):
        raise Refused(WRONG, key="digits")


@transactional
def _answer(
    unit: UnitOfWork,
    session: Session,
    token: str,
    read: CustomerQuestion,
    given: str,
    *,
    accepted: bool,
    once_token: str,
) -> bool:
    """Return whether the digits were right, and the answer is noted."""
    job = _job(unit, session, token)
    keys = (f"link:{job.token}",)
    if _wrong_so_far(unit, session, keys[0]) >= MOST_WRONG:
        raise Refused(CALL, key="digits")
    count_a_try(session, keys, unit.now())
    if job.phone[-DIGITS:] != given:
        return False
    forget(session, keys)
    noted = _note(unit, session, job.id, read, accepted=accepted, once_token=once_token)
    if noted != {"findings": list(read.findings), "accepted": accepted}:
        raise Already(Message("You have already sent this page. This is how it looks now."))
    return True


@idempotent("answer")
def _note(
    unit: UnitOfWork,
    session: Session,
    job_id: int,
    read: CustomerQuestion,
    *,
    accepted: bool,
    once_token: str,  # taken by the decorator
) -> dict[str, Any]:
    job = lock_job(session, job_id)
    found = asked(session, job, read)
    settle(unit, session, job, found, accepted=accepted, how=AnsweredHow.LINK, who=None)
    return {"findings": list(read.findings), "accepted": accepted}


def _job(unit: UnitOfWork, session: Session, token: str) -> Any:
    return behind(session, token, unit.now(), Job.id, Job.token, Customer.phone)


def _wrong_so_far(unit: UnitOfWork, session: Session, key: str) -> int:
    query = sa.select(sa.func.count()).where(
        SignInTry.key == key, SignInTry.at > unit.now() - COUNTED_FOR
    )
    return session.scalar(query) or 0
