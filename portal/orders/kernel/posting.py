"""Adds to a job's account. The caller must have locked the job.

An entry is never changed: what was wrong is put right by its counter-entry.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.craft.messages import Message
from portal.orders.kernel.errors import Already, Refused, Unknown
from portal.orders.kernel.job_lock import record_event
from portal.orders.kernel.ledger import account_of
from portal.orders.kernel.unit import UnitOfWork
from portal.shop.ledger import REDUCTIONS, REVERSIBLE, Entry, EntryKind
from portal.shop.money import Money
from portal.shop.states import PaymentMethod
from portal.shop.verbs import EventVerb
from portal.store.jobs import Job
from portal.store.ledger import LedgerEntry

LONGEST_REASON = 300
# a column of the database holds no more
MOST_MINOR = 2_000_000_000


@dataclass(frozen=True, slots=True)
class Cause:
    """When a sum came about, by whom, and for which finding."""

    at: datetime
    who: int | None
    finding_id: int | None = None


def post_price(session: Session, job: Job, cause: Cause) -> None:
    """Bring the account to the price of the order, `job.total_minor`.

    A discount can't be more than the price: what is above it is taken back.
    """
    account = account_of(session, job.id)
    kind = EntryKind.CHANGE if account.entries else EntryKind.PRICE
    _add(session, job, kind, job.total_minor - account.price.minor, cause)
    _trim_reductions(session, job, cause)


def post_end(
    unit: UnitOfWork, session: Session, job: Job, *, keep_minor: int = 0, who: int | None
) -> None:
    """Take back what was charged for an order that ended, but `keep_minor` for work that was done.

    What was paid above that is to be given back.
    """
    account = account_of(session, job.id)
    if not 0 <= keep_minor <= account.total.minor:
        raise Refused(Message("You can't charge more than the price."), key="keep")

    cause = Cause(unit.now(), who)
    for entry in account.open_reductions:
        _reverse(session, job, entry, cause)
    _add(session, job, EntryKind.END, keep_minor - account.price.minor, cause)


def post_payment(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    minor: int,
    how: PaymentMethod,
    *,
    who: int | None,
) -> int:
    """Record money that was taken; return the number of the entry. The job is locked."""
    if not 0 < minor <= MOST_MINOR:
        raise Refused(Message("Enter the amount paid."), key="amount")

    cause = Cause(unit.now(), who)
    entry_id = _add(session, job, EntryKind.PAYMENT, -minor, cause, how=how)
    _record(session, job, EventVerb.PAY, minor, cause, how=how, entry=entry_id)
    return entry_id


def post_refund(  # a refund has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    minor: int,
    how: PaymentMethod,
    reason: str,
    *,
    who: int | None,
) -> int:
    """Record money that was given back: no more than the account has to the customer's credit."""
    text = _reason(reason)
    account = account_of(session, job.id)
    credit, by_card = account.credit, account.received_by(PaymentMethod.CARD)
    if not 0 < minor <= credit.minor:
        raise Refused(
            Message("Enter a sum up to {credit}: that is what we owe the customer.", credit=credit),
            key="amount",
        )
    if how is PaymentMethod.CARD and minor > by_card.minor:
        raise Refused(
            Message(
                "By card you can give back at most what was paid by card: {sum}. Give the rest "
                "back another way.",
                sum=max(by_card, Money(0, job.currency)),
            ),
            key="amount",
        )

    cause = Cause(unit.now(), who)
    entry_id = _add(session, job, EntryKind.REFUND, minor, cause, how=how, reason=text)
    _record(session, job, EventVerb.REFUND, minor, cause, how=how, reason=text, entry=entry_id)
    return entry_id


def post_reduction(  # a discount has this many sides, all named
    unit: UnitOfWork,
    session: Session,
    job: Job,
    kind: EntryKind,
    minor: int,
    reason: str,
    *,
    who: int | None,
) -> int:
    """Take a sum off the price, as a discount or as goodwill, with the reason."""
    assert kind in REDUCTIONS
    text = _reason(reason)
    total = account_of(session, job.id).total
    if not 0 < minor <= total.minor:
        raise Refused(
            Message("Enter a sum up to {total}: the customer is charged no more.", total=total),
            key="amount",
        )

    cause = Cause(unit.now(), who)
    entry_id = _add(session, job, kind, -minor, cause, reason=text)
    _record(session, job, EventVerb(kind.value), minor, cause, reason=text, entry=entry_id)
    return entry_id


def post_reversal(
    unit: UnitOfWork,
    session: Session,
    job: Job,
    entry_id: int,
    reason: str,
    *,
    who: int | None,
) -> int:
    """Put an entry right by its counter-entry, with the reason; the job is locked.

    Raise Refused for what can't be reversed, Already for what was.
    """
    text = _reason(reason)
    account = account_of(session, job.id)
    entry = account.entry(entry_id)
    if entry is None:
        raise Unknown(Message("We can't find this entry."))
    if entry.kind not in REVERSIBLE or entry.reverses_id is not None:
        raise Refused(Message("This entry can't be reversed."))
    if entry.id in account.reversed_ids:
        raise Already(Message("This entry was already reversed."))

    cause = Cause(unit.now(), who)
    counter_id = _reverse(session, job, entry, cause, reason=text)
    data = {"kind": entry.kind.value, "reverses": entry.id, "entry": counter_id}
    minor = abs(entry.amount.minor)
    _record(session, job, EventVerb.REVERSE, minor, cause, how=entry.how, reason=text, **data)
    return counter_id


def _trim_reductions(session: Session, job: Job, cause: Cause) -> None:
    """Make reductions smaller, the last one first, until they are no more than the price."""
    account = account_of(session, job.id)
    above = -account.total.minor
    for entry in reversed(account.open_reductions):
        if above <= 0:
            return
        rest = max(0, -entry.amount.minor - above)
        above += entry.amount.minor
        _reverse(session, job, entry, cause)
        _add(session, job, entry.kind, -rest, cause, reason=entry.reason)


def _reverse(session: Session, job: Job, entry: Entry, cause: Cause, *, reason: str = "") -> int:
    return _add(
        session,
        job,
        entry.kind,
        -entry.amount.minor,
        cause,
        how=entry.how,
        reason=reason,
        reverses_id=entry.id,
    )


def _add(  # noqa: PLR0913  # an entry has this many sides, all named
    session: Session,
    job: Job,
    kind: EntryKind,
    minor: int,
    cause: Cause,
    *,
    how: PaymentMethod | None = None,
    reason: str = "",
    reverses_id: int | None = None,
) -> int:
    """Add an entry and return its number; a sum of 0 adds nothing and has the number 0."""
    if not minor:
        return 0
    row = LedgerEntry(
        job_id=job.id,
        kind=kind,
        amount_minor=minor,
        how=how,
        reason=reason,
        finding_id=cause.finding_id,
        reverses_id=reverses_id,
        at=cause.at,
        person_id=cause.who,
    )
    session.add(row)
    session.flush()
    return row.id


def _record(  # an event has this many sides, all named
    session: Session,
    job: Job,
    verb: EventVerb,
    minor: int,
    cause: Cause,
    *,
    how: PaymentMethod | None = None,
    reason: str = "",
    **data: Any,
) -> None:
    sum_ = Money(minor, job.currency)
    says = (
        Message("{sum}: {reason}", sum=sum_, reason=reason)
        if reason
        else Message("{sum}", sum=sum_)
    )
    way = {"how": str(how)} if how else {}
    record_event(
        session,
        job,
        verb,
        at=cause.at,
        who=cause.who,
        says=says,
        data={"minor": minor, **way, **data},
    )


def _reason(text: str) -> str:
    found = " ".join(text.split())[:LONGEST_REASON]
    if not found:
        raise Refused(Message("Enter the reason."), key="reason")
    return found
