"""The customer's answer to a finding, given by the link and the last digits of the telephone."""

from typing import Any

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter.finding_answers import CustomerQuestion, asked, settle
from portal.orders.counter.link_digits import WRONG, are_right, digits_in
from portal.orders.kernel.errors import Already, Refused
from portal.orders.kernel.idempotency import idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.states import AnsweredHow
from portal.store.jobs import Customer
from portal.store.tables import Job


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
    given = digits_in(digits)
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
    job = behind(session, token, unit.now(), Job.id, Job.token, Customer.phone)
    if not are_right(unit, session, job.token, job.phone, given):
        return False
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
