"""Browsers that show messages about a job: switched on and off behind its link, and sent to."""

from hashlib import sha256

import sqlalchemy as sa
from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.notices.outbox import Claimed
from portal.notices.push_addresses import is_push_address
from portal.notices.push_keys import are_keys_of_a_browser, new_private_key, public_key_of
from portal.notices.push_messages import PushSender, Subscription, SubscriptionGone
from portal.notices.transport import Unsent
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import lock_job
from portal.orders.kernel.unit import UnitOfWork, read_only, transactional
from portal.shop.states import Channel, LetterState
from portal.store.jobs import Job
from portal.store.letters import Letter
from portal.store.push import PushKey, PushSubscription

ONLY = 1
MOST_BROWSERS = 5  # of one job; the oldest makes room
NO_PUSH = Message("This browser can't show our messages.")


@transactional
def push_key(unit: UnitOfWork, session: Session) -> str:
    """Return the private key of all machines over this database, made the first time."""
    row = session.get(PushKey, ONLY)
    if row is None:
        row = PushKey(id=ONLY, private_key=new_private_key(unit.random_bytes))
        session.add(row)
        session.flush()
    return row.private_key


def public_push_key(unit: UnitOfWork) -> str:
    """Return the public key that browsers subscribe with."""
    with unit.read() as session:
        row = session.get(PushKey, ONLY)
        known = row.private_key if row else ""
    return public_key_of(known or push_key(unit))


@read_only
def marks_of_browsers(unit: UnitOfWork, session: Session, token: str) -> tuple[str, ...]:
    """Return by what a browser knows that it shows messages about a job; raise Unknown."""
    job = behind(session, token, unit.now(), Job.id)
    return tuple(mark_of(one.endpoint) for one in _subscriptions(session, job.id))


@transactional
def switch_on(
    unit: UnitOfWork, session: Session, token: str, to: Subscription, *, local: bool = False
) -> None:
    """Let a browser show messages about a job; doing it again renews its keys.

    Raise Unknown, or Refused for what can't be a browser's.
    """
    sound = is_push_address(to.endpoint, local=local) and are_keys_of_a_browser(to.p256dh, to.auth)
    if not sound:
        raise Refused(NO_PUSH)
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    _forget(session, job.id, to.endpoint)
    others = _subscriptions(session, job.id)
    for row in others[: max(0, len(others) - MOST_BROWSERS + 1)]:
        session.delete(row)
    session.flush()
    session.add(
        PushSubscription(
            job_id=job.id,
            endpoint=to.endpoint,
            p256dh=to.p256dh,
            auth=to.auth,
            made_at=unit.now(),
        )
    )


@transactional
def switch_off(unit: UnitOfWork, session: Session, token: str, endpoint: str) -> None:
    """Let a browser show no more messages about a job; doing it twice is harmless."""
    job = behind(session, token, unit.now(), Job.id)
    _forget(session, job.id, endpoint)


def mark_of(endpoint: str) -> str:
    """Return what stands for a browser on a page, which must not hold its address."""
    return sha256(endpoint.encode()).hexdigest()[:16]


def shows_messages(session: Session, job_id: int) -> bool:
    """Return whether some browser shows messages about a job."""
    query = sa.select(PushSubscription.id).where(PushSubscription.job_id == job_id)
    return session.scalar(query.limit(1)) is not None


@read_only
def is_push_due(unit: UnitOfWork, session: Session) -> bool:
    """Return whether a message to browsers is to be sent now."""
    query = sa.select(Letter.id).where(
        Letter.state == LetterState.QUEUED,
        Letter.channel == Channel.PUSH,
        Letter.next_at <= unit.now(),
    )
    return session.scalar(query.limit(1)) is not None


def send_to_browsers(unit: UnitOfWork, sender: PushSender, claimed: Claimed) -> None:
    """Send one message to every browser of its job, and forget those that take none any more.

    Raise Unsent where one of them did not get it: all are tried again, and show it once.
    """
    with unit.read() as session:
        rows = [(one.id, _to(one)) for one in _subscriptions(session, claimed.job_id or 0)]
    failed: list[Unsent] = []
    taken = 0
    for row_id, to in rows:
        try:
            sender.send(to, claimed, int(unit.now().timestamp()))
            taken += 1
        except SubscriptionGone:
            _drop(unit, row_id)
        except Unsent as wrong:
            failed.append(wrong)
    # what one refuses for good is no reason to send it to the others again
    again = [one for one in failed if not one.forever]
    if again or (failed and not taken):
        raise (again or failed)[0]
    if not taken:
        raise Unsent(Message("The browser takes no messages any more."), forever=True)


@transactional
def _drop(_unit: UnitOfWork, session: Session, row_id: int) -> None:
    session.execute(sa.delete(PushSubscription).where(PushSubscription.id == row_id))


def _forget(session: Session, job_id: int, endpoint: str) -> None:
    session.execute(
        sa.delete(PushSubscription).where(
            PushSubscription.job_id == job_id, PushSubscription.endpoint == endpoint
        )
    )


def _subscriptions(session: Session, job_id: int) -> list[PushSubscription]:
    query = sa.select(PushSubscription).where(PushSubscription.job_id == job_id)
    return list(session.scalars(query.order_by(PushSubscription.id)))


def _to(row: PushSubscription) -> Subscription:
    return Subscription(row.endpoint, row.p256dh, row.auth)
