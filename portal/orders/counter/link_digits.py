"""What the link alone does not allow asks for the last digits of the telephone on the order.

Wrong ones are counted, so that a link that fell into other hands can neither spend money nor end
an order.
"""

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.access.rate_limit import count_a_try, forget
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.retention_times import LINK_TRIES_LIVE
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.store.jobs import Customer, Job
from portal.store.people import SignInTry

DIGITS = 4
TRIES = "link:"  # a counted try is kept under this and the link
# ten thousand numbers can be guessed; after this many wrong ones only the telephone helps
MOST_WRONG = 5
WRONG = Message(
    "These aren't the last four digits of the phone number on this order. Try again, or call us."
)
CALL = Message("Too many wrong tries. Call us, and we'll do it with you by phone.")


def digits_in(typed: str) -> str:
    """Return the four digits that somebody typed; Refused with key `digits` for anything else."""
    given = "".join(ch for ch in typed if ch.isascii() and ch.isdigit())
    if len(given) != DIGITS:
        raise Refused(Message("Enter the last four digits."), key="digits")
    return given


def prove(unit: UnitOfWork, token: str, typed: str) -> None:
    """Check the digits of the telephone for a link.

    Raises Refused with key `digits` (wrong, or too many wrong ones), RateLimited or Unknown.
    """
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _prove(unit, token, digits_in(typed)):
        raise Refused(WRONG, key="digits")


@transactional
def _prove(unit: UnitOfWork, session: Session, token: str, given: str) -> bool:
    job = behind(session, token, unit.now(), Job.token, Customer.phone)
    return are_right(unit, session, job.token, job.phone, given)


def are_right(unit: UnitOfWork, session: Session, token: str, phone: str, given: str) -> bool:
    """Return whether the digits are those of the telephone; each wrong try is counted.

    The caller must let a wrong try be committed. Refused after too many, RateLimited in between.
    """
    key = f"{TRIES}{token}"
    wrong = sa.select(sa.func.count()).where(
        SignInTry.key == key, SignInTry.at > unit.now() - LINK_TRIES_LIVE
    )
    if (session.scalar(wrong) or 0) >= MOST_WRONG:
        raise Refused(CALL, key="digits")
    count_a_try(session, (key,), unit.now())
    if phone[-DIGITS:] != given:
        return False
    forget(session, (key,))
    return True
