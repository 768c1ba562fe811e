"""What customers change by their link before the parts are brought: another drop-off time, or none.

Until when, and what becomes of a deposit, is the shop's rule (`ChangeRules`), which its terms tell.
What was paid can't be given away by the link alone: calling off asks for the last digits of the
telephone then.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.counter import appointments
from portal.orders.counter.appointments import FreeAppointment
from portal.orders.counter.cancellation import end_job
from portal.orders.counter.link_digits import WRONG, are_right, digits_in
from portal.orders.kernel.errors import Refused
from portal.orders.kernel.idempotency import earlier_answer, idempotent
from portal.orders.kernel.job_links import behind
from portal.orders.kernel.job_lock import last_event, lock_job, refuse_if_overtaken
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork, transactional
from portal.shop.calendar.closures import is_shut_at
from portal.shop.ledger import Account
from portal.shop.money import Money
from portal.shop.moves import JobState
from portal.shop.shop import Shop
from portal.shop.verbs import EventVerb
from portal.store.tables import Job

CALL_OFF = "call_off"
WAITS = timedelta(hours=1)  # a job that was not brought has no end of its own
TOO_LATE = Message("It is too late to change this here. Call us, and we'll do it with you.")


@dataclass(frozen=True, slots=True)
class DropOffChange:
    """What a customer can still change: aware UTC, and what is paid and kept of it.

    `until` is None where it can't be changed any more. `free` are the times to which it can move.
    """

    last_event_id: int
    until: datetime | None
    free: tuple[FreeAppointment, ...]
    paid: Money
    kept: Money

    @property
    def given_back(self) -> Money:
        """What the customer gets back when the order is called off."""
        return self.paid - self.kept


def drop_off_change(unit: UnitOfWork, token: str) -> DropOffChange:
    """Return what can be changed behind a link; Refused where the parts are no longer expected."""
    with unit.read() as session:
        job: Job = behind(session, token, unit.now(), Job)[0]
        shop = unit.shop(session)
        until = change_until(shop, job, unit.now())
        account = account_of(session, job.id)
        code, last = job.code, last_event(session, job.id)
    appointment = appointments.appointment_view(unit, code)
    return DropOffChange(
        # what came between the two looks is no part of what the page shows
        last_event_id=min(last, appointment.last_event_id),
        until=until,
        free=appointment.free if until else (),
        paid=_paid(account),
        kept=_kept(shop, account),
    )


def change_until(shop: Shop, job: Any, now: datetime) -> datetime | None:
    """Return until when a job may be moved or called off by the link; None where it can't be.

    `job` is a row with state, `dropoff_at` and `dropoff_until`. Who did not come may still choose
    another time, for as long as the job waits; so may who would stand before a shut door.
    """
    if not job.state.is_expected:
        return None
    shut = is_shut_at(shop.week, shop.week.drop_off, job.dropoff_at)
    if shut or job.state is JobState.NOT_BROUGHT or now >= job.dropoff_until:
        return now + WAITS
    until = shop.changes.open_until(job.dropoff_at)
    return until if now < until else None


def move_by_link(
    unit: UnitOfWork,
    token: str,
    start: datetime,
    *,
    agreed: str,
    expected_event_id: int,
    once_token: str,
) -> datetime:
    """Move the drop-off to the window that begins at `start`; return that start.

    Raises what `appointments.move_appointment` raises, and Refused when it is too late.
    """
    with unit.read() as session:
        job: Job = behind(session, token, unit.now(), Job)[0]
        job_id = job.id
        open_ = change_until(unit.shop(session), job, unit.now()) is not None
        again = earlier_answer(session, once_token, appointments.VERB) is not None
    if not open_ and not again:
        raise Refused(TOO_LATE)
    return appointments.move_appointment(
        unit,
        job_id,
        start,
        agreed=agreed,
        expected_event_id=expected_event_id,
        once_token=once_token,
        who=None,
    )


def call_off_by_link(
    unit: UnitOfWork, token: str, *, digits: str, expected_event_id: int, once_token: str
) -> None:
    """Call the order off; pressing twice is once.

    Raises Refused (too late, or with key `digits`: wrong ones), RateLimited, Overtaken or Unknown.
    """
    # a wrong try must stay counted, so the refusal comes after the transaction
    if not _call_off(
        unit, token, digits, expected_event_id=expected_event_id, once_token=once_token
    ):
        raise Refused(WRONG, key="digits")


@transactional
def _call_off(
    unit: UnitOfWork,
    session: Session,
    token: str,
    digits: str,
    *,
    expected_event_id: int,
    once_token: str,
) -> bool:
    """Return whether the digits were right, where they are asked for, and the order is off."""
    found: Job = behind(session, token, unit.now(), Job)[0]
    job = lock_job(session, found.id)
    if earlier_answer(session, once_token, CALL_OFF) is not None:
        return True
    if _paid(account_of(session, job.id)).minor and not are_right(
        unit, session, job.token, job.customer.phone, digits_in(digits)
    ):
        return False
    _end(unit, session, job, expected_event_id=expected_event_id, once_token=once_token)
    return True


@idempotent(CALL_OFF)
def _end(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    *,
    expected_event_id: int,
    once_token: str,  # taken by the decorator
) -> None:
    refuse_if_overtaken(session, job.id, expected_event_id)
    shop = unit.shop(session)
    if change_until(shop, job, unit.now()) is None:
        raise Refused(TOO_LATE)
    kept = _kept(shop, account_of(session, job.id))
    end_job(unit, session, job, EventVerb.CALL_OFF, "", keep_minor=kept.minor, who=None)


def _paid(account: Account) -> Money:
    return max(account.balance.paid, Money(0, account.currency))


def _kept(shop: Shop, account: Account) -> Money:
    """Return what the shop keeps by its rule: a share of the deposit that was paid."""
    return min(shop.changes.kept_of(min(_paid(account), account.deposit)), account.total)
